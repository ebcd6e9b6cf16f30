package soil

import "math"

const (
	// ShortOhms is the least resistance that a block can show. A saturated
	// healthy block stands near 550 ohms and an unconditioned new one at
	// 300-550; below it the lead is bridged. Common practice, no source.
	ShortOhms = 300.0
	// OpenOhms is the resistance from which the circuit counts as open. The
	// piecewise form would still turn it into 268 kPa at 24 degC. Common
	// practice, no source.
	OpenOhms = 35000.0
	// ReferenceTempC is the soil temperature that a reading without a
	// thermometer is converted at: the piecewise form's own default (Allen
	// 2000).
	ReferenceTempC = 24.0

	// MinTempC and MaxTempC bound the soil temperature that a conversion
	// accepts. The calibration behind the middle branch covers 15-25 degC
	// (Shock, Barnum & Seddigh 1998); the range here is what soil under a vine
	// can be, and a thermometer outside it is itself in doubt. Common practice,
	// no source.
	MinTempC = -10.0
	MaxTempC = 60.0

	// SaturatedOhms is where the piecewise form reaches zero tension; anything
	// between ShortOhms and it is read as saturated.
	SaturatedOhms = 550.0
	// WetSeamOhms and DrySeamOhms are where the piecewise form changes branch.
	// Its tension steps there, by an amount that depends on the temperature: at 8
	// kohm -1.155 kPa at 10 degC, +1.404 at 24 and -0.886 at 35, at 1 kohm at most
	// 0.61 between 10 and 35 degC. A test of steps in kPa must tolerate about 1.5
	// kPa at these two, or work in ohms.
	WetSeamOhms = 1000.0
	DrySeamOhms = 8000.0
)

const (
	saturatedKOhm = SaturatedOhms / 1000
	wetSeamKOhm   = WetSeamOhms / 1000
	drySeamKOhm   = DrySeamOhms / 1000
)

// Convertible reports whether a block can show this resistance at this soil
// temperature: not a short, not an open lead, both finite, and the temperature
// between MinTempC and MaxTempC. NaN fails every comparison, so it is refused.
func Convertible(ohms, tempC float64) bool {
	return ohms >= ShortOhms && ohms < OpenOhms && tempC >= MinTempC && tempC <= MaxTempC
}

// GranularTension turns a granular matrix sensor's resistance in ohms, at a
// soil temperature in degC, into tension in kPa by the piecewise form of Allen
// (2000, University of Idaho Kimberly R&E Center), with R in kohm and
// d = 1 + 0.018 (T - 24):
//
//	R <= 0.55   0
//	0.55 - 1    (23.156 R - 12.736) d
//	1 - 8       (4.093 + 3.213 R) / (1 - 0.009733 R - 0.01205 T)
//	> 8         2.246 + 5.239 R d + 0.06756 R^2 d^2
//
// Warmer soil at the same resistance is drier soil. The form is not
// continuous, and at 8 kohm monotonic between 14.1 and 32.9 degC only: outside
// of that the tension drops where the resistance rises past the seam. ok is
// false, and the tension 0, where Convertible is.
func GranularTension(ohms, tempC float64) (kPa float64, ok bool) {
	if !Convertible(ohms, tempC) {
		return 0, false
	}
	return piecewise(ohms/1000, tempC), true
}

// OlderGranularTension is GranularTension with the wet branch that some
// loggers still use, 20 (R d - 0.55) between 0.55 and 1 kohm: 9.0 kPa instead
// of 10.42 at 1 kohm and 24 degC, so its seam to the middle branch is 1.4 kPa.
func OlderGranularTension(ohms, tempC float64) (kPa float64, ok bool) {
	if !Convertible(ohms, tempC) {
		return 0, false
	}
	r := ohms / 1000
	if r > wetSeamKOhm {
		return piecewise(r, tempC), true
	}
	return max(0, 20*(float64(r*warming(tempC))-0.55)), true
}

// GranularOhms is the inverse of GranularTension: the resistance in ohms that
// shows this tension in kPa at this soil temperature.
//
// It is monotonic where the form is not. At both seams the wetter branch (the
// lower resistance) wins wherever two branches reach the same tension, and a
// tension inside a gap between two branches gives the seam itself. So the
// round trip from tension is exact outside the gaps, and the round trip from
// ohms is exact except just above a seam where the branches overlap. Zero
// gives SaturatedOhms.
//
// For a working space without seams use ShockOhms. ok is false for a negative
// or non-finite tension, a temperature out of range, and a tension that only an
// open lead would show.
func GranularOhms(kPa, tempC float64) (ohms float64, ok bool) {
	if !(kPa >= 0 && tempC >= MinTempC && tempC <= MaxTempC) {
		return 0, false
	}
	d := warming(tempC)
	// The branch's own zero is 0.550009 kohm; saturation is 0.55 by definition.
	if wet := (kPa/d + 12.736) / 23.156; wet <= wetSeamKOhm {
		if kPa == 0 {
			return SaturatedOhms, true
		}
		return 1000 * wet, true
	}
	if kPa <= shockKPa(wetSeamKOhm, tempC) {
		return WetSeamOhms, true
	}
	if kPa <= shockKPa(drySeamKOhm, tempC) {
		return 1000 * clamp(shockKOhm(kPa, tempC), wetSeamKOhm, drySeamKOhm), true
	}
	if kPa <= dryKPa(drySeamKOhm, d) {
		return DrySeamOhms, true
	}
	// The positive root of 0.06756 u^2 + 5.239 u + 2.246 - S = 0, u = R d, in
	// the form that does not cancel.
	c := 2.246 - kPa
	u := -2 * c / (5.239 + math.Sqrt(5.239*5.239-float64(4*0.06756*c)))
	ohms = max(1000*u/d, DrySeamOhms)
	if !(ohms < OpenOhms) {
		return 0, false
	}
	return ohms, true
}

// piecewise is the form itself, in kohm and without a guard.
func piecewise(r, tempC float64) float64 {
	switch {
	case r > drySeamKOhm:
		return dryKPa(r, warming(tempC))
	case r > wetSeamKOhm:
		return shockKPa(r, tempC)
	case r > saturatedKOhm:
		return max(0, (float64(23.156*r)-12.736)*warming(tempC))
	default:
		return 0
	}
}

func dryKPa(r, d float64) float64 {
	u := r * d
	return 2.246 + float64(u*(5.239+float64(0.06756*u)))
}

// warming is d of the piecewise form: 1.8 % for each degC away from 24.
func warming(tempC float64) float64 { return 1 + float64(0.018*(tempC-ReferenceTempC)) }

func clamp(x, lo, hi float64) float64 { return min(max(x, lo), hi) }
