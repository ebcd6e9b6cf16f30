package robust

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const z95 = 1.959963984540054

func TestWilson(t *testing.T) {
	for _, c := range []struct {
		k, n   int
		lo, hi float64
	}{
		// I1: Newcombe (1998, Statistics in Medicine 17:857-872) prints .2553
		// .3662 / .0624 .1605 / 0 .1611 / .0061 .1718 [paper checked, printed
		// values from memory]; digits beyond [derived].
		{81, 263, .255289, .366210}, {15, 148, .062386, .160487}, {0, 20, 0, .161125}, {1, 29, .006113, .171755},
		// I2 [derived].
		{0, 1, 0, .793451}, {0, 10, 0, .277533}, {2, 10, .056682, .509838}, {5, 10, .236593, .763407}, {10, 10, .722467, 1},
	} {
		lo, hi := Wilson(c.k, c.n, z95)
		near(t, "Wilson low", lo, c.lo, 6e-7)
		near(t, "Wilson high", hi, c.hi, 6e-7)
	}
	if lo, hi := Wilson(0, 0, z95); lo != 0 || hi != 1 {
		t.Errorf("nothing seen: %g, %g", lo, hi)
	}
}

func TestJeffreys(t *testing.T) {
	// I3: method of Brown, Cai & DasGupta (2001, Statistical Science 16:101-133),
	// values [derived].
	for _, c := range []struct {
		k, n   int
		lo, hi float64
	}{
		{0, 10, 0, .217196}, {1, 10, .011012, .381315}, {2, 10, .044059, .502774}, {5, 10, .223529, .776471}, {0, 20, 0, .116639},
	} {
		lo, hi := Jeffreys(c.k, c.n, 0.95)
		near(t, "Jeffreys low", lo, c.lo, 6e-7)
		near(t, "Jeffreys high", hi, c.hi, 6e-7)
	}
}

func TestClopperPearson(t *testing.T) {
	// I4 [checked]: NIST e-handbook 7.2.4.2 prints .401029.
	lo, hi := ClopperPearson(4, 20, 0.90)
	near(t, "low 4/20", lo, .071354, 6e-7)
	near(t, "high 4/20", hi, .401028, 6e-7)
	lo, hi = ClopperPearson(7, 50, 0.95)
	near(t, "low 7/50", lo, .0581917003, 6e-11)
	near(t, "high 7/50", hi, .2673960025, 6e-11)
	if lo, hi := ClopperPearson(0, 5, 0.95); lo != 0 || hi >= 1 {
		t.Errorf("0/5: %g, %g", lo, hi)
	}
	if lo, hi := ClopperPearson(5, 5, 0.95); lo <= 0 || hi != 1 {
		t.Errorf("5/5: %g, %g", lo, hi)
	}
}

func TestIntervalsHoldTheProportion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		p := float64(k) / float64(n)
		for name, f := range map[string]func() (float64, float64){
			"Wilson":         func() (float64, float64) { return Wilson(k, n, z95) },
			"Jeffreys":       func() (float64, float64) { return Jeffreys(k, n, 0.95) },
			"ClopperPearson": func() (float64, float64) { return ClopperPearson(k, n, 0.95) },
		} {
			if lo, hi := f(); !(0 <= lo && lo <= p && p <= hi && hi <= 1) {
				t.Fatalf("%s of %d/%d: %g, %g", name, k, n, lo, hi)
			}
		}
	})
}

func TestBinomialTail(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 60).Draw(t, "n")
		k := rapid.IntRange(-2, n+2).Draw(t, "k")
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		var want float64
		for i := max(k, 0); i <= n; i++ {
			a, _ := math.Lgamma(float64(n + 1))
			b, _ := math.Lgamma(float64(i + 1))
			c, _ := math.Lgamma(float64(n - i + 1))
			want += math.Exp(a-b-c) * math.Pow(p, float64(i)) * math.Pow(1-p, float64(n-i))
		}
		if got := BinomialTail(k, n, p); math.Abs(got-want) > 1e-10 {
			t.Fatalf("P[X >= %d | %d, %g] = %g, want %g", k, n, p, got, want)
		}
	})
}
