package robust

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// near is an absolute comparison that NaN fails.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.17g, want %.17g within %g", what, got, want, tolerance)
	}
}

func series(min, max int) *rapid.Generator[[]float64] {
	return rapid.Custom(func(t *rapid.T) []float64 {
		// Few distinct values, so that ties are common.
		if rapid.Bool().Draw(t, "ties") {
			whole := rapid.SliceOfN(rapid.IntRange(-6, 6), min, max).Draw(t, "whole")
			x := make([]float64, len(whole))
			for i, v := range whole {
				x[i] = float64(v) / 2
			}
			return x
		}
		return rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), min, max).Draw(t, "x")
	})
}

func sortedMedian(x []float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	if n := len(s); n%2 == 0 {
		return (s[n/2-1] + s[n/2]) / 2
	}
	return s[len(s)/2]
}

func TestConsistency(t *testing.T) {
	// M1 [checked]: 1 over the normal quantile of 0.75, which is sqrt(2) erfinv(0.5).
	near(t, "Consistency", Consistency, 1/(math.Sqrt2*math.Erfinv(0.5)), 1e-15)
}

func TestMAD(t *testing.T) {
	scratch := make([]float64, 9)
	// M2 [checked].
	m, mad := MAD([]float64{1, 2, 3, 4, 5, 6, 7, 8, 9}, scratch)
	near(t, "median of 1..9", m, 5, 0)
	near(t, "1.4826 MAD of 1..9", 1.4826*mad, 2.9652, 1e-12)
	m, mad = MAD([]float64{1, 2, 3, 4, 5, 6, 7, 8, 100}, scratch)
	near(t, "median of 1..8, 100", m, 5, 0)
	near(t, "raw MAD of 1..8, 100", mad, 2, 0)
	if m, mad := MAD(nil, nil); !math.IsNaN(m) || !math.IsNaN(mad) {
		t.Errorf("MAD of no values = %g, %g, want NaN", m, mad)
	}
}

func TestMedianEqualsSorting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := series(1, 200).Draw(t, "x")
		before := slices.Clone(x)
		if got, want := Median(x, make([]float64, len(x))), sortedMedian(x); got != want {
			t.Fatalf("median %g, want %g", got, want)
		}
		if !slices.Equal(x, before) {
			t.Fatal("median changed its input")
		}
	})
}

func TestQuantile(t *testing.T) {
	x := []float64{40, 10, 30, 20}
	scratch := make([]float64, 4)
	// Type 7 of Hyndman & Fan (1996, American Statistician 50:361-365) [derived].
	for _, c := range []struct{ q, want float64 }{
		{0, 10}, {0.25, 17.5}, {0.5, 25}, {0.75, 32.5}, {1, 40}, {0.9, 37}, {-1, 10}, {2, 40},
	} {
		near(t, "quantile", Quantile(x, scratch, c.q), c.want, 1e-12)
	}
	rapid.Check(t, func(t *rapid.T) {
		x := series(1, 100).Draw(t, "x")
		scratch := make([]float64, len(x))
		a, b := rapid.Float64Range(0, 1).Draw(t, "a"), rapid.Float64Range(0, 1).Draw(t, "b")
		if a > b {
			a, b = b, a
		}
		if lo, hi := Quantile(x, scratch, a), Quantile(x, scratch, b); lo > hi {
			t.Fatalf("quantile %g is %g, above %g at %g", a, lo, hi, b)
		}
	})
}

func TestSelectionIsNeverQuadratic(t *testing.T) {
	// Inputs that are slow for some quickselects; the answer must still be right.
	n := 20001
	for name, at := range map[string]func(i int) float64{
		"equal":      func(int) float64 { return 7 },
		"ascending":  func(i int) float64 { return float64(i) },
		"descending": func(i int) float64 { return float64(-i) },
		"organ pipe": func(i int) float64 { return float64(min(i, n-i)) },
		"two values": func(i int) float64 { return float64(i % 2) },
	} {
		x := make([]float64, n)
		for i := range x {
			x[i] = at(i)
		}
		if got, want := Median(x, make([]float64, n)), sortedMedian(x); got != want {
			t.Errorf("%s: median %g, want %g", name, got, want)
		}
	}
}

func TestMedianDoesNotAllocate(t *testing.T) {
	x, scratch := noise(500, 1), make([]float64, 500)
	if a := testing.AllocsPerRun(20, func() { MAD(x, scratch) }); a != 0 {
		t.Errorf("MAD allocates %g times", a)
	}
}

func noise(n int, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

func BenchmarkMAD(b *testing.B) {
	x := noise(5000, 1)
	scratch := make([]float64, len(x))
	for b.Loop() {
		MAD(x, scratch)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/reading")
}
