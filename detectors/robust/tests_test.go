package robust

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

var bh1995 = []float64{.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1}

func rejected(p []float64, q float64) (n int) {
	for _, v := range BenjaminiHochberg(p) {
		if v <= q {
			n++
		}
	}
	return n
}

func TestBenjaminiHochberg(t *testing.T) {
	// B1 [checked]: Benjamini & Hochberg (1995, Journal of the Royal Statistical
	// Society B 57:289-300).
	want := []float64{.0015, .0030, .0095, .035625, .0603, .063857, .063857, .0645, .0765, .486, .581182, .714875, .753231, .813214, 1}
	for i, got := range BenjaminiHochberg(bh1995) {
		near(t, "adjusted", got, want[i], 6e-7)
	}
	for _, c := range []struct {
		name string
		p    []float64
		q    float64
		want int
	}{
		{"B1 at 0.05", bh1995, 0.05, 4},
		{"B2 at 0.10 [derived]", bh1995, 0.10, 9},
		{"B2 step-up rescue [checked]", []float64{.04, .049}, 0.05, 2},
		{"B3 m must be all tests [checked]", bh1995[:10], 0.05, 8},
		{"none", nil, 0.05, 0},
	} {
		if got := rejected(c.p, c.q); got != c.want {
			t.Errorf("%s: rejects %d, want %d", c.name, got, c.want)
		}
	}
}

func TestBenjaminiHochbergKeepsTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOf(rapid.Float64Range(0, 1)).Draw(t, "p")
		before := slices.Clone(p)
		adjusted := BenjaminiHochberg(p)
		if !slices.Equal(p, before) {
			t.Fatal("input changed")
		}
		for i := range p {
			if adjusted[i] < p[i] || adjusted[i] > 1 {
				t.Fatalf("p %g became %g", p[i], adjusted[i])
			}
			for j := range p {
				if p[i] < p[j] && adjusted[i] > adjusted[j] {
					t.Fatalf("order of %g and %g lost", p[i], p[j])
				}
			}
		}
	})
}

func TestRankSum(t *testing.T) {
	// W1 [checked]: NIST e-handbook 7.3.5. U 81 / 40, E(U) 60.5; without the tie
	// correction z is 1.346133, with it 1.348037, p 0.177646 by the normal form.
	a := []float64{.55, .67, .43, .51, .48, .60, .71, .53, .44, .65, .75}
	b := []float64{.49, .68, .59, .72, .67, .75, .65, .77, .62, .48, .59}
	c := RankSum(b, a)
	near(t, "W1 U of b", c.Statistic, 81, 0)
	near(t, "W1 U of a", RankSum(a, b).Statistic, 40, 0)
	near(t, "W1 tie-corrected z", c.Z, 1.348037, 6e-7)
	near(t, "W1 normal p", 2*distuv.UnitNormal.CDF(-c.Z), 0.177646, 6e-7)
	if !c.Exact {
		t.Error("W1 has 22 values and must be exact")
	}
	near(t, "W1 exact p is near the normal one", c.TwoSided, 0.177646, 0.01)

	// W2 [from memory], enumerated: Hollander & Wolfe, W = 35, p = 382/3003.
	x := []float64{.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46}
	y := []float64{1.15, .88, .90, .74, 1.21}
	c = RankSum(x, y)
	near(t, "W2 W", c.Statistic, 35, 0)
	near(t, "W2 exact p", c.Greater, 382.0/3003, 1e-15)
}

func TestRankSumOfManyIsNormal(t *testing.T) {
	x, y := noise(60, 1), noise(70, 2)
	for i := range x {
		x[i] += 2
	}
	c := RankSum(x, y)
	if c.Exact || c.Greater > 1e-6 || c.Less < 0.99 {
		t.Errorf("a shift of two deviations: %+v", c)
	}
	if c := RankSum(nil, y); c.TwoSided != 1 {
		t.Errorf("no sample: %+v", c)
	}
	if c := RankSum([]float64{1, 1}, []float64{1}); c.TwoSided != 1 {
		t.Errorf("all tied: %+v", c)
	}
}

func TestRankSumIsAntisymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := series(1, 12).Draw(t, "x"), series(1, 12).Draw(t, "y")
		a, b := RankSum(x, y), RankSum(y, x)
		if a.Statistic+b.Statistic != float64(len(x)*len(y)) || math.Abs(a.Less-b.Greater) > 1e-12 {
			t.Fatalf("%+v and %+v", a, b)
		}
	})
}

func TestSignedRank(t *testing.T) {
	// W3 [from memory], enumerated: Hollander & Wolfe, V = 40, p = 10/512.
	x := []float64{1.83, .50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30}
	y := []float64{.878, .647, .598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29}
	d := make([]float64, len(x))
	for i := range x {
		d[i] = x[i] - y[i]
	}
	c := SignedRank(d)
	near(t, "W3 V", c.Statistic, 40, 0)
	near(t, "W3 exact p", c.Greater, 10.0/512, 1e-15)
	if c := SignedRank([]float64{0, 0}); c.TwoSided != 1 || c.Exact {
		t.Errorf("no difference: %+v", c)
	}
}

func TestSignedRankEqualsEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := series(1, 9).Draw(t, "d")
		var sizes []float64
		for _, v := range d {
			if v != 0 {
				sizes = append(sizes, math.Abs(v))
			}
		}
		if len(sizes) == 0 {
			t.Skip("no difference")
		}
		c := SignedRank(d)
		ranks, _ := doubledRanks(sizes)
		var hits int
		for signs := range 1 << len(ranks) {
			var sum int
			for i, r := range ranks {
				if signs>>i&1 == 1 {
					sum += r
				}
			}
			if float64(sum)/2 >= c.Statistic {
				hits++
			}
		}
		if want := float64(hits) / float64(int(1)<<len(ranks)); math.Abs(c.Greater-want) > 1e-12 {
			t.Fatalf("P %g, enumerated %g", c.Greater, want)
		}
	})
}

func TestLjungBox(t *testing.T) {
	// NIST StRD certified lag-one correlations; Q(1) = n (n+2) r^2 / (n-1)
	// [checked], p of Lottery and Michelso [derived].
	for _, c := range []struct {
		name    string
		r       float64
		n       int
		q, p    float64
		tol, tp float64
	}{
		{"Lew", -0.307304800605679, 200, 19.171980, math.NaN(), 6e-7, 0},
		{"Lottery", -0.120948622967393, 218, 3.233116, 0.072163, 6e-7, 6e-7},
		{"Mavro", 0.937989183438248, 50, 46.684523, math.NaN(), 6e-7, 0},
		{"Michelso", 0.535199668621283, 100, 29.511865, 5.56e-8, 6e-7, 6e-11},
	} {
		q, p := LjungBox([]float64{c.r}, c.n, 0)
		near(t, c.name+" Q(1)", q, c.q, c.tol)
		if !math.IsNaN(c.p) {
			near(t, c.name+" p", p, c.p, c.tp)
		}
	}
	if q, p := LjungBox([]float64{0.5}, 30, 1); q != 0 || p != 1 {
		t.Errorf("no degree of freedom: %g, %g", q, p)
	}
}
