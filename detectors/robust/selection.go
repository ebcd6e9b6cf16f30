package robust

import (
	"math"
	"math/bits"
	"slices"
)

// Consistency makes a median absolute deviation estimate the standard deviation
// of a normal distribution: 1 over the normal quantile of 0.75.
const Consistency = 1.482602218505602

// Median is the middle value, or the mean of the two middle ones. x stays as it
// is; scratch needs len(x). NaN for no values.
func Median(x, scratch []float64) float64 {
	s := scratch[:len(x)]
	copy(s, x)
	return medianInPlace(s)
}

// MAD is the median and the raw median absolute deviation from it,
// median(|x - median(x)|); times Consistency it is a standard deviation. x stays
// as it is; scratch needs len(x). NaN for no values.
func MAD(x, scratch []float64) (median, mad float64) {
	median = Median(x, scratch)
	s := scratch[:len(x)]
	for i, v := range x {
		s[i] = math.Abs(v - median)
	}
	return median, medianInPlace(s)
}

// Quantile is the q-quantile for q in [0, 1], linear between order statistics
// at h = (n-1) q (type 7 of Hyndman & Fan 1996). x stays as it is; scratch needs
// len(x). NaN for no values.
func Quantile(x, scratch []float64, q float64) float64 {
	n := len(x)
	if n == 0 {
		return math.NaN()
	}
	s := scratch[:n]
	copy(s, x)
	h := min(max(q, 0), 1) * float64(n-1)
	k := min(int(h), n-1)
	low := nth(s, k)
	if part := h - float64(k); part > 0 {
		return low + float64(part*(slices.Min(s[k+1:])-low))
	}
	return low
}

// medianInPlace reorders s.
func medianInPlace(s []float64) float64 {
	n := len(s)
	if n == 0 {
		return math.NaN()
	}
	upper := nth(s, n/2)
	if n%2 == 1 {
		return upper
	}
	return (slices.Max(s[:n/2]) + upper) / 2
}

// nth reorders s so that s[k] is what sorting would put there, nothing larger
// before it and nothing smaller after, and returns it: quickselect on the median
// of three, falling back to sorting after too many poor splits, so that no input
// makes it quadratic.
func nth(s []float64, k int) float64 {
	lo, hi := 0, len(s)-1
	for patience := 2 * bits.Len(uint(len(s))); hi-lo > 12; patience-- {
		if patience == 0 {
			slices.Sort(s[lo : hi+1])
			return s[k]
		}
		a, b, c := s[lo], s[lo+(hi-lo)/2], s[hi]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := lo, hi
		for i <= j {
			for s[i] < pivot {
				i++
			}
			for s[j] > pivot {
				j--
			}
			if i <= j {
				s[i], s[j] = s[j], s[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return s[k]
		}
	}
	for i := lo + 1; i <= hi; i++ {
		v := s[i]
		j := i - 1
		for j >= lo && s[j] > v {
			s[j+1] = s[j]
			j--
		}
		s[j+1] = v
	}
	return s[k]
}
