package soil

import (
	"math"
	"strings"
)

// CmPerKPa is the height of water in cm that weighs 1 kPa. The retention
// table's alpha is in 1/cm; kPa fed to it unconverted makes loam at 33 kPa hold
// twice the water it does.
const CmPerKPa = 10.19716

// Texture is a soil texture class with the van Genuchten (1980, Soil Science
// Society of America Journal 44:892-898) parameters of its mean soil: residual
// and saturated water content in m3/m3, alpha in 1/cm, n without unit, and
// saturated conductivity in cm/d.
type Texture struct {
	Name           string
	ThetaR, ThetaS float64
	Alpha, N, Ks   float64
}

// textures is the table of Carsel & Parrish (1988, Water Resources Research
// 24(5):755-769), from coarse to fine.
var textures = [...]Texture{
	{"sand", 0.045, 0.43, 0.145, 2.68, 712.8},
	{"loamy sand", 0.057, 0.41, 0.124, 2.28, 350.2},
	{"sandy loam", 0.065, 0.41, 0.075, 1.89, 106.1},
	{"loam", 0.078, 0.43, 0.036, 1.56, 24.96},
	{"silt", 0.034, 0.46, 0.016, 1.37, 6.00},
	{"silt loam", 0.067, 0.45, 0.020, 1.41, 10.80},
	{"sandy clay loam", 0.100, 0.39, 0.059, 1.48, 31.44},
	{"clay loam", 0.095, 0.41, 0.019, 1.31, 6.24},
	{"silty clay loam", 0.089, 0.43, 0.010, 1.23, 1.68},
	{"sandy clay", 0.100, 0.38, 0.027, 1.23, 2.88},
	{"silty clay", 0.070, 0.36, 0.005, 1.09, 0.48},
	{"clay", 0.068, 0.38, 0.008, 1.09, 4.80},
}

// Textures returns the twelve classes, coarse to fine. The slice is the
// caller's own.
func Textures() []Texture { return append([]Texture(nil), textures[:]...) }

// TextureNamed finds one of the twelve classes by name. Case, spaces, hyphens
// and underscores do not matter: "Sandy_Loam" is "sandy loam".
func TextureNamed(name string) (Texture, bool) {
	want := squeeze(name)
	for _, t := range textures {
		if squeeze(t.Name) == want {
			return t, true
		}
	}
	return Texture{}, false
}

func squeeze(name string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '\t', '_', '-':
			return -1
		}
		return r
	}, strings.ToLower(name))
}

// WaterContent is the water content in m3/m3 that the texture holds at a
// tension in kPa: theta = ThetaR + (ThetaS - ThetaR) [1 + (alpha h)^n]^-m, with
// m = 1 - 1/n and h in cm. At and below zero tension it is saturated.
func (t Texture) WaterContent(tensionKPa float64) float64 {
	if tensionKPa <= 0 {
		return t.ThetaS
	}
	return t.ThetaR + float64((t.ThetaS-t.ThetaR)*t.saturation(tensionKPa*CmPerKPa))
}

// Tension is the inverse of WaterContent: water content in m3/m3 to tension in
// kPa. ok is false at or below the residual content, where no tension is dry
// enough, above saturation, and for NaN.
func (t Texture) Tension(theta float64) (kPa float64, ok bool) {
	if !(theta > t.ThetaR && theta <= t.ThetaS) {
		return 0, false
	}
	m := 1 - 1/t.N
	// expm1 keeps the digits near saturation, where Se^(-1/m) is just above 1.
	logSe := math.Log((theta - t.ThetaR) / (t.ThetaS - t.ThetaR))
	return math.Pow(math.Expm1(-logSe/m), 1/t.N) / t.Alpha / CmPerKPa, true
}

// Conductivity is the unsaturated hydraulic conductivity in cm/d at a suction
// head in cm (positive), by Mualem (1976): Ks sqrt(Se) [1 - (1 - Se^(1/m))^m]^2.
func (t Texture) Conductivity(headCm float64) float64 {
	if headCm <= 0 {
		return t.Ks
	}
	m := 1 - 1/t.N
	se := t.saturation(headCm)
	f := 1 - math.Pow(1-math.Pow(se, 1/m), m)
	return t.Ks * math.Sqrt(se) * f * f
}

// saturation is the effective saturation Se at a suction head in cm, not negative.
func (t Texture) saturation(headCm float64) float64 {
	return math.Pow(1+math.Pow(t.Alpha*headCm, t.N), -(1 - 1/t.N))
}
