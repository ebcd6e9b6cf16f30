package robust

import (
	"math"
	"slices"
)

// theilSenExact is the most points whose slopes are all taken: 44,850 of them.
const theilSenExact = 300

// TheilSen is the line through points (t, y) by Theil (1950) and Sen (1968,
// Journal of the American Statistical Association 63:1379-1389): the median of
// the slopes between all pairs of different t, and the intercept
// median(y - slope t) (the other convention in print, median(y) -
// slope median(t), differs).
//
// Above 300 points the series is first thinned to 300: neighbours are gathered
// in bins of nearly equal count, and a bin stands for the median of its t and
// the median of its y. A straight line passes through that unchanged, an outlier
// does not leave its bin; t must ascend for it. The intercept is over all points
// either way. Both NaN with fewer than two different t.
func TheilSen(t, y []float64) (slope, intercept float64) {
	return TheilSenScratch(t, y, nil)
}

// TheilSenScratch is TheilSen with the slopes kept in scratch, which is replaced
// by a larger one if its capacity is below TheilSenSize(len(t)).
func TheilSenScratch(t, y, scratch []float64) (slope, intercept float64) {
	n := len(t)
	y = y[:n]
	if size := TheilSenSize(n); cap(scratch) < size {
		scratch = make([]float64, size)
	}
	tt, yy, slopes := t, y, scratch[:0]
	if n > theilSenExact {
		tt, yy = scratch[:theilSenExact:theilSenExact], scratch[theilSenExact:2*theilSenExact:2*theilSenExact]
		slopes = scratch[2*theilSenExact : 2*theilSenExact]
		work := scratch[2*theilSenExact : cap(scratch)]
		for b := range theilSenExact {
			from, to := b*n/theilSenExact, (b+1)*n/theilSenExact
			tt[b] = Median(t[from:to], work)
			yy[b] = Median(y[from:to], work)
		}
	}
	slopes = pairSlopes(slopes, tt, yy)
	if len(slopes) == 0 {
		return math.NaN(), math.NaN()
	}
	slope = medianInPlace(slopes)
	rest := scratch[:n]
	for i := range rest {
		rest[i] = y[i] - float64(slope*t[i])
	}
	return slope, medianInPlace(rest)
}

// TheilSenSize is the scratch that n points need.
func TheilSenSize(n int) int {
	if n <= theilSenExact {
		return max(n, n*(n-1)/2)
	}
	return max(n, 2*theilSenExact+theilSenExact*(theilSenExact-1)/2)
}

// TheilSenInterval is the distribution-free interval of the slope at no less
// than the asked confidence (0.95 for 95 %), from the exact null distribution of
// Kendall's S: the two slopes that lie as many ranks in from either end as that
// distribution allows. achieved is the confidence that the discrete ranks
// really give. For data without ties in t or y. ok is false where even the
// outermost slopes fall short, or with fewer than two points. It takes all
// pairs: meant for up to a few hundred points.
func TheilSenInterval(t, y []float64, confidence float64) (lo, hi, achieved float64, ok bool) {
	n := len(t)
	slopes := pairSlopes(make([]float64, 0, n*(n-1)/2), t, y[:n])
	pairs := len(slopes)
	if pairs == 0 || pairs != n*(n-1)/2 {
		return 0, 0, 0, false
	}
	slices.Sort(slopes)
	tail := kendallTails(n)
	// A slope below the one of ascending rank k+1 leaves at most k pairs that
	// fall, which by chance happens with tail[k].
	in := -1
	for k := 0; 2*k < pairs && 1-2*tail[k] >= confidence; k++ {
		in = k
	}
	if in < 0 {
		return 0, 0, 0, false
	}
	return slopes[in], slopes[pairs-1-in], 1 - 2*tail[in], true
}

// kendallTails is P(D <= k) for the number D of discordant pairs among n points
// in random order, k from 0: the distribution of the inversions of a
// permutation, built a point at a time.
func kendallTails(n int) []float64 {
	chance := make([]float64, 1, n*(n-1)/2+1)
	next := make([]float64, 0, cap(chance))
	chance[0] = 1
	for m := 2; m <= n; m++ {
		// The m-th point adds 0 to m-1 inversions, each as likely.
		next = next[:len(chance)+m-1]
		var sum float64
		for i := range next {
			if i < len(chance) {
				sum += chance[i]
			}
			if i >= m {
				sum -= chance[i-m]
			}
			next[i] = sum / float64(m)
		}
		chance, next = next, chance
	}
	for k := 1; k < len(chance); k++ {
		chance[k] += chance[k-1]
	}
	return chance
}

// pairSlopes appends the slope of each pair with different t.
func pairSlopes(dst, t, y []float64) []float64 {
	for i := range t {
		ti, yi := t[i], y[i]
		for j := i + 1; j < len(t); j++ {
			if run := t[j] - ti; run != 0 {
				dst = append(dst, (y[j]-yi)/run)
			}
		}
	}
	return dst
}
