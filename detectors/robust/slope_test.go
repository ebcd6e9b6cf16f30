package robust

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

// Sen (1968, Journal of the American Statistical Association 63:1379-1389), the
// paper's example [from memory].
var (
	senT = []float64{1, 2, 3, 4, 10, 12, 18}
	senY = []float64{9, 15, 19, 20, 45, 55, 78}
)

func TestTheilSen(t *testing.T) {
	// TS1: median of the 21 slopes. TS3 [checked]: the intercept by
	// median(y - 4t) is 6, by medians apart 4.
	slope, intercept := TheilSen(senT, senY)
	near(t, "TS1 slope", slope, 4, 1e-12)
	near(t, "TS3 intercept", intercept, 6, 1e-12)

	// TS2 [derived]: one gross error moves it to 4.1818, least squares to 35.665.
	wild := append([]float64(nil), senY...)
	wild[6] = 780
	slope, _ = TheilSen(senT, wild)
	near(t, "TS2 slope", slope, 4.1818, 5e-5)
	_, least := stat.LinearRegression(senT, wild, nil, false)
	near(t, "TS2 least squares", least, 35.665, 5e-4)

	if s, i := TheilSen([]float64{2, 2}, []float64{1, 5}); !math.IsNaN(s) || !math.IsNaN(i) {
		t.Errorf("line through one abscissa = %g, %g, want NaN", s, i)
	}
}

func TestTheilSenInterval(t *testing.T) {
	// TS1: the 5th and 17th slopes are the exact 93.1 % interval,
	// P(S >= 13) = 174/5040.
	lo, hi, achieved, ok := TheilSenInterval(senT, senY, 0.93)
	if !ok {
		t.Fatal("no interval")
	}
	near(t, "TS1 low", lo, 3.75, 1e-12)
	near(t, "TS1 high", hi, 4.1818, 5e-5)
	near(t, "TS1 confidence", achieved, 1-2*174.0/5040, 1e-12)
	if _, _, _, ok := TheilSenInterval([]float64{1, 2, 3}, []float64{1, 2, 4}, 0.95); ok {
		t.Error("three points cannot give 95 %")
	}
	near(t, "kendallTails of 300", kendallTails(300)[300*299/2], 1, 1e-9)
}

func TestTheilSenFindsALine(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(2, 900).Draw(rt, "n")
		b, a := rapid.Float64Range(-5, 5).Draw(rt, "b"), rapid.Float64Range(-50, 50).Draw(rt, "a")
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i) + 0.25*float64(i%3)
			y[i] = a + b*x[i]
		}
		// A tenth of the points far off, in bursts of three.
		for i := 5; i+3 < n; i += 30 {
			y[i], y[i+1], y[i+2] = y[i]+1e4, y[i+1]-2e4, y[i+2]+3e4
		}
		slope, intercept := TheilSen(x, y)
		if math.Abs(slope-b) > 1e-9 || math.Abs(intercept-a) > 1e-6 {
			rt.Fatalf("n %d: slope %g, intercept %g, want %g, %g", n, slope, intercept, b, a)
		}
	})
}

func TestTheilSenThinningKeepsThePrecision(t *testing.T) {
	// 3,000 noisy points (sd 1, slope 0.001): the error of least squares is
	// sqrt(12) / 3000^1.5 = 2.1e-5; thinning by medians may lose a part of it,
	// not an order.
	var worst float64
	for seed := range uint64(8) {
		y := noise(3000, seed+10)
		x := make([]float64, len(y))
		for i := range x {
			x[i] = float64(i)
			y[i] += 0.001 * x[i]
		}
		slope, _ := TheilSen(x, y)
		worst = max(worst, math.Abs(slope-0.001))
	}
	if worst > 4*2.1e-5 {
		t.Errorf("worst slope error %g", worst)
	}
}

func TestTheilSenDoesNotAllocate(t *testing.T) {
	y := noise(700, 3)
	x := make([]float64, len(y))
	for i := range x {
		x[i] = float64(i)
	}
	scratch := make([]float64, TheilSenSize(len(x)))
	if a := testing.AllocsPerRun(3, func() { TheilSenScratch(x, y, scratch) }); a != 0 {
		t.Errorf("TheilSenScratch allocates %g times", a)
	}
}
