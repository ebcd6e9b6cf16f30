package robust

import "gonum.org/v1/gonum/stat/distuv"

// LjungBox is the portmanteau test that n values carry no autocorrelation, from
// their autocorrelations r at lags 1, 2, ...:
//
//	Q = n (n+2) sum r_k^2 / (n-k)
//
// and p = P[chi2 > Q] with as many degrees of freedom as lags (less fitted, the
// parameters of a model whose residuals these are). 0 and 1 where there is no
// degree of freedom or a lag reaches n.
func LjungBox(r []float64, n, fitted int) (q, p float64) {
	freedom := len(r) - fitted
	if freedom <= 0 || len(r) >= n {
		return 0, 1
	}
	for i, v := range r {
		q += float64(v*v) / float64(n-i-1)
	}
	q *= float64(n) * float64(n+2)
	return q, distuv.ChiSquared{K: float64(freedom)}.Survival(q)
}
