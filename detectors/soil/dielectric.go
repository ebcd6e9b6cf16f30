package soil

import "math"

const (
	// airPermittivity and waterPermittivity bound what a dielectric probe can
	// stand in: nothing is below air, and cold water is near 88.
	airPermittivity   = 1.0
	waterPermittivity = 88.0
)

// Topp turns relative permittivity into volumetric water content in m3/m3 by
// eq. 7 of Topp, Davis & Annan (1980, Water Resources Research 16(3):574-582):
//
//	theta = -5.3e-2 + 2.92e-2 K - 5.5e-4 K^2 + 4.3e-6 K^3
//
// For mineral soil up to about 0.55. It increases for every K, gives -0.024 in
// air (a probe out of the ground) and above 0.9 in standing water.
func Topp(permittivity float64) float64 {
	k := permittivity
	return -5.3e-2 + float64(k*(2.92e-2+float64(k*(-5.5e-4+float64(4.3e-6*k)))))
}

// ToppPermittivity is the inverse of Topp, found by bisection: water content in
// m3/m3 to relative permittivity. The paper's eq. 6 is a separate fit and not
// this inverse; it misses by up to 0.03 m3/m3. ok is false for a water content
// outside what air (K = 1) and water (K = 88) give, and for a non-finite one.
func ToppPermittivity(theta float64) (permittivity float64, ok bool) {
	lo, hi := airPermittivity, waterPermittivity
	if !(theta >= Topp(lo) && theta <= Topp(hi)) {
		return 0, false
	}
	for {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			// Of the two neighbours the one whose water content is nearer.
			if theta-Topp(lo) <= Topp(hi)-theta {
				return lo, true
			}
			return hi, true
		}
		if Topp(mid) <= theta {
			lo = mid
		} else {
			hi = mid
		}
	}
}

// Ledieu turns relative permittivity (not negative) into water content in
// m3/m3 by Ledieu et al. (1986, Journal of Hydrology 88:319-328):
// theta = 0.1138 sqrt(K) - 0.1758.
func Ledieu(permittivity float64) float64 {
	return float64(0.1138*math.Sqrt(permittivity)) - 0.1758
}

// LinearisedRoot turns relative permittivity (not negative) into water content
// in m3/m3 by the square-root form of Topp & Reynolds (1998):
// theta = 0.115 sqrt(K) - 0.176. It is often quoted as Ledieu's; the two are
// 1.6 % apart at K = 20.
func LinearisedRoot(permittivity float64) float64 {
	return float64(0.115*math.Sqrt(permittivity)) - 0.176
}
