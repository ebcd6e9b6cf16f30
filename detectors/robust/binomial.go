package robust

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Wilson is the score interval of a proportion, k of n seen, at z standard
// normal deviates (1.959964 for 95 %): Wilson (1927). (0, 1) for n = 0.
func Wilson(k, n int, z float64) (lo, hi float64) {
	if n <= 0 {
		return 0, 1
	}
	p, m := float64(k)/float64(n), float64(n)
	zz := z * z
	middle := p + zz/(2*m)
	half := z * math.Sqrt(p*(1-p)/m+zz/(4*m*m))
	lo, hi = max(0, (middle-half)/(1+zz/m)), min(1, (middle+half)/(1+zz/m))
	// The ends are exact; the arithmetic leaves 1e-17 there.
	if k <= 0 {
		lo = 0
	}
	if k >= n {
		hi = 1
	}
	return lo, hi
}

// Jeffreys is the equal-tailed interval of a proportion, k of n seen, under
// Jeffreys' prior, Beta(k+1/2, n-k+1/2), at a confidence such as 0.95, with the
// ends forced to 0 and 1 (Brown, Cai & DasGupta 2001). (0, 1) for n = 0.
func Jeffreys(k, n int, confidence float64) (lo, hi float64) {
	if n <= 0 {
		return 0, 1
	}
	tail := (1 - confidence) / 2
	b := distuv.Beta{Alpha: float64(k) + 0.5, Beta: float64(n-k) + 0.5}
	hi = 1
	if k > 0 {
		lo = b.Quantile(tail)
	}
	if k < n {
		hi = b.Quantile(1 - tail)
	}
	return lo, hi
}

// ClopperPearson is the exact interval of a proportion, k of n seen, at a
// confidence such as 0.95: never narrower than it claims. (0, 1) for n = 0.
func ClopperPearson(k, n int, confidence float64) (lo, hi float64) {
	if n <= 0 {
		return 0, 1
	}
	tail := (1 - confidence) / 2
	hi = 1
	if k > 0 {
		lo = distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.Quantile(tail)
	}
	if k < n {
		hi = distuv.Beta{Alpha: float64(k + 1), Beta: float64(n - k)}.Quantile(1 - tail)
	}
	return lo, hi
}

// BinomialTail is P[X >= k] for X binomial with n trials of chance p, which is
// kept within 0-1.
func BinomialTail(k, n int, p float64) float64 {
	p = min(max(p, 0), 1)
	switch {
	case k <= 0:
		return 1
	case k > n || p == 0:
		return 0
	case p == 1:
		return 1
	}
	return mathext.RegIncBeta(float64(k), float64(n-k+1), p)
}
