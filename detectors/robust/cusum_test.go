package robust

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestCUSUMDeterministic(t *testing.T) {
	// [derived]: z = 0 five times, then 1; k 0.5, h 4: the 14th sample is the
	// first with C > 4, at 4.5.
	z := make([]float64, 20)
	for i := 5; i < len(z); i++ {
		z[i] = 1
	}
	if i, c, ok := CUSUM(z, 0.5, 4); !ok || i != 13 || c != 4.5 {
		t.Errorf("signal at %d with %g (%t), want 13 with 4.5", i, c, ok)
	}
	if _, c, ok := CUSUM(z, 0.5, 10); ok || c != 7.5 {
		t.Errorf("no signal expected, C %g", c)
	}
}

func TestCUSUMRunLength(t *testing.T) {
	// Two-sided average run lengths by Markov chain (Brook & Evans), as printed
	// by Montgomery and in NIST e-handbook 6.3.2.3 [printed row from memory,
	// computed row derived]; one-sided in control is double, a frequent error.
	// Simulated here, within four standard errors (a run length in control is
	// nearly geometric, so its deviation is its mean).
	for _, c := range []struct {
		h, shift, want float64
		runs           int
	}{
		{4, 0, 167.6, 1500}, {4, 1, 8.384, 3000}, {4, 2, 3.343, 3000}, {5, 0, 464.9, 600}, {5, 1, 10.38, 3000},
	} {
		r := rand.New(rand.NewPCG(7, uint64(c.h*10+c.shift)))
		var sum, squares float64
		for range c.runs {
			// Both sides at once; samples are drawn in blocks until one signals.
			var up, down []float64
			var length int
			for length == 0 {
				for range 64 {
					z := r.NormFloat64() + c.shift
					up, down = append(up, z), append(down, -z)
				}
				for _, side := range [][]float64{up, down} {
					if i, _, ok := CUSUM(side, 0.5, c.h); ok && (length == 0 || i+1 < length) {
						length = i + 1
					}
				}
			}
			sum += float64(length)
			squares += float64(length * length)
		}
		n := float64(c.runs)
		mean := sum / n
		se := math.Sqrt((squares/n - mean*mean) / n)
		near(t, "average run length", mean, c.want, 4*se)
	}
}
