package robust

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Comparison is the outcome of a rank test: its statistic, that statistic as a
// standard normal deviate (tie-corrected, without continuity correction), and
// the chances of it under no difference. The chances are Exact for small
// samples, else from Z.
type Comparison struct {
	Statistic float64
	Z         float64
	Less      float64 // P[statistic as small or smaller]
	Greater   float64 // P[statistic as large or larger]
	TwoSided  float64
	Exact     bool
}

// exactRanks is the most values whose rank distribution is counted in full; the
// counts stay whole numbers in a float64.
const exactRanks = 40

// RankSum is the test of Wilcoxon and of Mann & Whitney that x and y come from
// the same distribution. The statistic is U of x: the pairs in which x is the
// larger, ties half. Up to 40 values the distribution is exact, given the ties.
// Both samples need a value; else the zero Comparison with chances of 1.
func RankSum(x, y []float64) Comparison {
	n, m := len(x), len(y)
	if n == 0 || m == 0 {
		return Comparison{Less: 1, Greater: 1, TwoSided: 1}
	}
	both := append(append(make([]float64, 0, n+m), x...), y...)
	doubled, ties := doubledRanks(both)
	var sum int
	for _, r := range doubled[:n] {
		sum += r
	}
	least := n * (n + 1) / 2
	u := float64(sum)/2 - float64(least)
	total := float64(n + m)
	variance := float64(n) * float64(m) / 12 * (total + 1 - ties/(total*max(total-1, 1)))
	c := normalComparison(u, float64(n)*float64(m)/2, variance)
	if n+m > exactRanks {
		return c
	}
	// ways[k][s]: choices of k of the values whose doubled ranks sum to s.
	var all int
	for _, r := range doubled {
		all += r
	}
	ways := make([][]float64, n+1)
	for k := range ways {
		ways[k] = make([]float64, all+1)
	}
	ways[0][0] = 1
	for _, r := range doubled {
		for k := n; k > 0; k-- {
			for s := all; s >= r; s-- {
				ways[k][s] += ways[k-1][s-r]
			}
		}
	}
	c.count(ways[n], sum)
	return c
}

// SignedRank is Wilcoxon's test that differences lie symmetrically around zero.
// The statistic is V, the sum of the ranks of the positive ones; zeros are left
// out. Up to 40 differences the distribution is exact, given the ties. Without a
// difference that is not zero, the zero Comparison with chances of 1.
func SignedRank(differences []float64) Comparison {
	var sizes []float64
	var positive []bool
	for _, d := range differences {
		if d != 0 {
			sizes = append(sizes, math.Abs(d))
			positive = append(positive, d > 0)
		}
	}
	n := len(sizes)
	if n == 0 {
		return Comparison{Less: 1, Greater: 1, TwoSided: 1}
	}
	doubled, ties := doubledRanks(sizes)
	var sum int
	for i, r := range doubled {
		if positive[i] {
			sum += r
		}
	}
	f := float64(n)
	c := normalComparison(float64(sum)/2, f*(f+1)/4, f*(f+1)*(2*f+1)/24-ties/48)
	if n > exactRanks {
		return c
	}
	all := n * (n + 1)
	ways := make([]float64, all+1)
	ways[0] = 1
	for _, r := range doubled {
		for s := all; s >= r; s-- {
			ways[s] += ways[s-r]
		}
	}
	c.count(ways, sum)
	return c
}

// doubledRanks is twice the rank of each value, equal values sharing the mean of
// theirs (doubled, so that it is whole), and the sum of t^3 - t over the groups
// of t equal values.
func doubledRanks(x []float64) (doubled []int, ties float64) {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		switch {
		case x[a] < x[b]:
			return -1
		case x[a] > x[b]:
			return 1
		}
		return a - b
	})
	doubled = make([]int, len(x))
	for from := 0; from < len(order); {
		to := from + 1
		for to < len(order) && x[order[to]] == x[order[from]] {
			to++
		}
		for _, i := range order[from:to] {
			doubled[i] = from + 1 + to
		}
		t := float64(to - from)
		ties += t*t*t - t
		from = to
	}
	return doubled, ties
}

func normalComparison(statistic, mean, variance float64) Comparison {
	if variance <= 0 {
		return Comparison{Statistic: statistic, Less: 1, Greater: 1, TwoSided: 1}
	}
	z := (statistic - mean) / math.Sqrt(variance)
	less := distuv.UnitNormal.CDF(z)
	greater := distuv.UnitNormal.CDF(-z)
	return Comparison{Statistic: statistic, Z: z, Less: less, Greater: greater, TwoSided: min(1, 2*min(less, greater))}
}

// count replaces the chances by exact ones: ways[s] of the equally likely
// outcomes have the doubled statistic s (up to a constant), and at was seen.
func (c *Comparison) count(ways []float64, at int) {
	var below, above, total float64
	for s, w := range ways {
		total += w
		if s <= at {
			below += w
		}
		if s >= at {
			above += w
		}
	}
	c.Less, c.Greater, c.Exact = below/total, above/total, true
	c.TwoSided = min(1, 2*min(c.Less, c.Greater))
}
