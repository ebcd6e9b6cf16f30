package outofrange

import (
	"math"

	"probeward/detectors/soil"
)

// grain is the sand and clay of a texture class, as fractions, that stands for it
// in the table of Saxton & Rawls (2006): their rows at 2.5 % organic matter.
var grain = map[string][2]float64{
	"sand": {0.88, 0.05}, "loamy sand": {0.80, 0.05}, "sandy loam": {0.65, 0.10},
	"loam": {0.40, 0.20}, "silt loam": {0.20, 0.15}, "silt": {0.10, 0.05},
	"sandy clay loam": {0.60, 0.25}, "clay loam": {0.30, 0.35}, "silty clay loam": {0.10, 0.35},
	"silty clay": {0.10, 0.45}, "sandy clay": {0.50, 0.40}, "clay": {0.25, 0.50},
}

// possible is the range of water content of a texture, m3/m3: from the residual of
// the van Genuchten table to the larger of its saturation and the porosity of the
// regression, which differ by up to 0.16 in fine soil.
func possible(texture string) (low, high float64, ok bool) {
	t, ok := soil.TextureNamed(texture)
	if !ok {
		return 0, 0, false
	}
	high = t.ThetaS
	if g, ok := grain[t.Name]; ok {
		if h, ok := soil.SaxtonRawls(g[0], g[1], 2.5); ok {
			high = math.Max(high, h.Sat)
		}
	}
	return t.ThetaR, high, true
}
