package robust

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestSlidingEqualsAFreshWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := series(1, 120).Draw(t, "x")
		half := rapid.IntRange(-1, 70).Draw(t, "half")
		n := len(x)
		dst, median, mad, scratch := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		RollingMedian(dst, x, half)
		RollingMAD(median, mad, x, half)
		for i := range x {
			fresh := x[max(0, i-max(half, 0)):min(n, i+max(half, 0)+1)]
			m, d := MAD(fresh, scratch)
			if dst[i] != m || median[i] != m || mad[i] != d {
				t.Fatalf("at %d: rolling %g, %g, %g, fresh %g, %g", i, dst[i], median[i], mad[i], m, d)
			}
		}
	})
}

func TestRollingWindowLargerThanTheStack(t *testing.T) {
	x := noise(1500, 4)
	dst := RollingMedian(make([]float64, len(x)), x, 200)
	for _, i := range []int{0, 199, 200, 201, 700, 1298, 1299, 1300, 1499} {
		if want := sortedMedian(x[max(0, i-200):min(len(x), i+201)]); dst[i] != want {
			t.Errorf("at %d: %g, want %g", i, dst[i], want)
		}
	}
}

func TestHampel(t *testing.T) {
	// H1 [derived]: only index 4; its median 22 and scale 1.4826.
	x := []float64{20, 21, 20, 22, 95, 21, 23, 22, 24}
	if got := Hampel(x, 3, 3, 0, nil); !slices.Equal(got, []int{4}) {
		t.Errorf("H1 flags %v, want [4]", got)
	}
	median, mad := make([]float64, len(x)), make([]float64, len(x))
	RollingMAD(median, mad, x, 3)
	near(t, "H1 median", median[4], 22, 0)
	near(t, "H1 scale", Consistency*mad[4], 1.4826, 3e-6)

	// H2 [derived]: without a floor a whole-number series flags a flicker of one
	// count; with a floor of one count it does not.
	x = []float64{20, 20, 20, 20, 21, 20, 20, 20}
	if got := Hampel(x, 3, 3, 0, nil); !slices.Equal(got, []int{4}) {
		t.Errorf("H2 without floor flags %v, want [4]", got)
	}
	if got := Hampel(x, 3, 3, 1, nil); len(got) != 0 {
		t.Errorf("H2 with floor flags %v, want none", got)
	}
}

func TestHampelEqualsItsDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := series(1, 60).Draw(t, "x")
		half := rapid.IntRange(0, 10).Draw(t, "half")
		k, floor := rapid.Float64Range(0, 5).Draw(t, "t"), rapid.Float64Range(0, 3).Draw(t, "floor")
		var want []int
		scratch := make([]float64, len(x))
		for i, v := range x {
			m, d := MAD(x[max(0, i-half):min(len(x), i+half+1)], scratch)
			if far := max(v-m, m-v); far > k*floor && far > k*Consistency*d {
				want = append(want, i)
			}
		}
		if got := Hampel(x, half, k, floor, nil); !slices.Equal(got, want) {
			t.Fatalf("flags %v, want %v", got, want)
		}
	})
}

func TestRollingDoesNotAllocate(t *testing.T) {
	x := noise(1000, 2)
	dst, index := make([]float64, len(x)), make([]int, 0, len(x))
	if a := testing.AllocsPerRun(10, func() { RollingMedian(dst, x, 72) }); a != 0 {
		t.Errorf("RollingMedian allocates %g times", a)
	}
	if a := testing.AllocsPerRun(10, func() { Hampel(x, 6, 3, 0, index[:0]) }); a != 0 {
		t.Errorf("Hampel allocates %g times", a)
	}
}

func BenchmarkRollingMedian(b *testing.B) {
	x := noise(5000, 1)
	dst := make([]float64, len(x))
	for _, half := range []int{6, 72} {
		b.Run(fmt.Sprint(2*half+1), func(b *testing.B) {
			for b.Loop() {
				RollingMedian(dst, x, half)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/reading")
		})
	}
}
