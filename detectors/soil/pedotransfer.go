package soil

import "math"

// Hydraulics is what a regression on particle sizes says of a soil: water
// content in m3/m3 at the wilting point (1500 kPa), at field capacity (33 kPa)
// and at saturation, and saturated conductivity in mm/h.
type Hydraulics struct {
	WP, FC, Sat float64
	Ks          float64
}

// SaxtonRawls is the regression of Saxton & Rawls (2006, Soil Science Society
// of America Journal 70:1569-1578, eqs 1, 2, 3, 5, 15, 16, 18) for a soil of
// normal density without gravel or salt: sand and clay as fractions of the
// mineral soil, organic matter in percent. ok is false where the three cannot
// be a soil, outside the regression's data (clay above 0.60, organic matter
// above 8 %), and where it contradicts itself.
//
// At 33 kPa it holds about twice the water of Texture in coarse soil (sandy
// loam 0.18 against 0.085): a band of field capacity must not mix the two.
func SaxtonRawls(sand, clay, organicPercent float64) (h Hydraulics, ok bool) {
	s, c, om := sand, clay, organicPercent
	if !(s >= 0 && c >= 0 && s+c <= 1 && c <= 0.60 && om >= 0 && om <= 8) {
		return Hydraulics{}, false
	}
	t := -0.024*s + 0.487*c + 0.006*om + 0.005*s*om - 0.013*c*om + 0.068*s*c + 0.031
	h.WP = t + 0.14*t - 0.02
	t = -0.251*s + 0.195*c + 0.011*om + 0.006*s*om - 0.027*c*om + 0.452*s*c + 0.299
	h.FC = t + 1.283*t*t - 0.374*t - 0.015
	t = 0.278*s + 0.034*c + 0.022*om - 0.018*s*om - 0.027*c*om - 0.584*s*c + 0.078
	drained := t + 0.636*t - 0.107
	h.Sat = h.FC + drained - 0.097*s + 0.043
	if !(h.WP > 0 && h.FC > h.WP && h.Sat > h.FC) {
		return Hydraulics{}, false
	}
	slope := math.Log(h.FC/h.WP) / math.Log(1500.0/33)
	h.Ks = 1930 * math.Pow(h.Sat-h.FC, 3-slope)
	return h, true
}
