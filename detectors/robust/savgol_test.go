package robust

import "testing"

func TestSavitzkyGolay(t *testing.T) {
	// K3 [derived]; the common slip on the curvature is to lose the factor 2!.
	for _, c := range []struct {
		half, derivative int
		want             []float64
		over             float64
	}{
		{1, 0, []float64{0, 1, 0}, 1},
		{1, 1, []float64{-0.5, 0, 0.5}, 1},
		{1, 2, []float64{1, -2, 1}, 1},
		{2, 0, []float64{-3, 12, 17, 12, -3}, 35},
		{2, 1, []float64{-2, -1, 0, 1, 2}, 10},
		{2, 2, []float64{2, -1, -2, -1, 2}, 7},
		{3, 0, []float64{-2, 3, 6, 7, 6, 3, -2}, 21},
	} {
		got := SavitzkyGolay(c.half, c.derivative)
		if len(got) != len(c.want) {
			t.Fatalf("%d weights, want %d", len(got), len(c.want))
		}
		for i := range got {
			near(t, "weight", got[i], c.want[i]/c.over, 1e-12)
		}
	}
	if SavitzkyGolay(0, 0) != nil || SavitzkyGolay(2, 3) != nil {
		t.Error("impossible weights given")
	}
}
