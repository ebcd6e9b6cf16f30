package robust

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// numAcc is a NIST StRD NumAcc series: the middle once, then low and high in turn
// 500 times.
func numAcc(middle, low, high float64) []float64 {
	x := []float64{middle}
	for range 500 {
		x = append(x, low, high)
	}
	return x
}

func TestNISTUnivariate(t *testing.T) {
	// NIST Statistical Reference Datasets, univariate, certified values
	// [checked]. Taking squares of sums gives a variance of 0.0115 for NumAcc3
	// and -2.0 for NumAcc4 in place of 0.01.
	for _, c := range []struct {
		name            string
		x               []float64
		mean, sd, r1    float64
		tolMean, tolDev float64
	}{
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, -0.5, 0, 0},
		{"NumAcc2", numAcc(1.2, 1.1, 1.3), 1.2, 0.1, -0.999, 1e-15, 1e-15},
		{"NumAcc3", numAcc(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, -0.999, 2e-10, 1e-8},
		{"NumAcc4", numAcc(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, -0.999, 2e-9, 1e-8},
	} {
		mean, sd := MeanSD(c.x)
		near(t, c.name+" mean", mean, c.mean, c.tolMean)
		near(t, c.name+" sd", sd, c.sd, c.tolDev)
		near(t, c.name+" lag one", LagOne(c.x), c.r1, 1e-8)
	}
	// The exact two-pass results [derived]: what double precision makes of the
	// data, whose decimals it cannot hold.
	_, sd := MeanSD(numAcc(1000000.2, 1000000.1, 1000000.3))
	near(t, "NumAcc3 two-pass sd", sd, 0.100000000034925, 1e-14)
	_, sd = MeanSD(numAcc(10000000.2, 10000000.1, 10000000.3))
	near(t, "NumAcc4 two-pass sd", sd, 0.100000000558794, 1e-14)
}

func TestMomentsOfLittle(t *testing.T) {
	if mean, sd := MeanSD(nil); !math.IsNaN(mean) || !math.IsNaN(sd) {
		t.Errorf("of nothing: %g, %g", mean, sd)
	}
	if mean, sd := MeanSD([]float64{3}); mean != 3 || !math.IsNaN(sd) {
		t.Errorf("of one: %g, %g", mean, sd)
	}
	if r := LagOne([]float64{4, 4, 4}); !math.IsNaN(r) {
		t.Errorf("lag one of constants = %g, want NaN", r)
	}
	if r := Autocorrelation([]float64{1, 2}, 2); !math.IsNaN(r) {
		t.Errorf("autocorrelation beyond the series = %g, want NaN", r)
	}
}

func TestConstantsHaveNoSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e9, 1e9).Draw(t, "v")
		x := make([]float64, rapid.IntRange(2, 50).Draw(t, "n"))
		for i := range x {
			x[i] = v
		}
		if mean, sd := MeanSD(x); mean != v || sd != 0 {
			t.Fatalf("mean %g, sd %g of constant %g", mean, sd, v)
		}
	})
}

func TestAutocorrelationIsBounded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := series(2, 60).Draw(t, "x")
		r := Autocorrelation(x, rapid.IntRange(0, len(x)-1).Draw(t, "lag"))
		if !math.IsNaN(r) && math.Abs(r) > 1+1e-9 {
			t.Fatalf("autocorrelation %g", r)
		}
	})
}
