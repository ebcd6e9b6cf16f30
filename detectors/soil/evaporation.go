package soil

import "math"

// Weather is one day (or the mean day of a month) for the reference
// evapotranspiration of FAO-56 (Allen, Pereira, Raes & Smith 1998, Irrigation
// and Drainage Paper 56).
type Weather struct {
	LatitudeDeg  float64 // south negative
	ElevationM   float64
	DayOfYear    int     // from 1; for a month its middle day
	TMaxC, TMinC float64 // air
	VapourKPa    float64 // actual; from humidity by ActualVapour
	WindMS       float64 // at 2 m; from another height by WindAt2m
	SolarMJ      float64 // Rs, MJ/m2 per day; from sunshine by SolarFromSunshine
	SoilHeatMJ   float64 // G, MJ/m2 per day; 0 for a day, MonthlySoilHeat for a month
}

// NetRadiation is Rn in MJ/m2 per day, FAO-56 eq. 40.
func (w Weather) NetRadiation() float64 {
	clearSky := ClearSkyRadiation(ExtraterrestrialRadiation(w.LatitudeDeg, w.DayOfYear), w.ElevationM)
	return netShortwave(w.SolarMJ) - netLongwave(w.TMaxC, w.TMinC, w.VapourKPa, w.SolarMJ, clearSky)
}

// ReferenceEvapotranspiration is the demand of a well-watered grass in mm/day
// by Penman-Monteith, FAO-56 eq. 6:
//
//	[0.408 D (Rn - G) + g 900/(T + 273) u2 (es - ea)] / [D + g (1 + 0.34 u2)]
func ReferenceEvapotranspiration(w Weather) float64 {
	mean := (w.TMaxC + w.TMinC) / 2
	gamma := PsychrometricConstant(AtmosphericPressure(w.ElevationM))
	delta := vapourSlope(mean)
	deficit := MeanSaturationVapour(w.TMaxC, w.TMinC) - w.VapourKPa
	return (millimetresPerMJ*delta*(w.NetRadiation()-w.SoilHeatMJ) + gamma*900/(mean+273)*w.WindMS*deficit) /
		(delta + gamma*(1+0.34*w.WindMS))
}

// Hargreaves is the reference evapotranspiration in mm/day from temperature
// alone, FAO-56 eq. 52: 0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) Ra, Ra in mm.
func Hargreaves(latitudeDeg float64, dayOfYear int, tMaxC, tMinC float64) float64 {
	ra := millimetresPerMJ * ExtraterrestrialRadiation(latitudeDeg, dayOfYear)
	return 0.0023 * ((tMaxC+tMinC)/2 + 17.8) * math.Sqrt(max(0, tMaxC-tMinC)) * ra
}

// SaturationVapour is the saturation vapour pressure in kPa at an air
// temperature in degC, FAO-56 eq. 11.
func SaturationVapour(tempC float64) float64 {
	return 0.6108 * math.Exp(17.27*tempC/(tempC+237.3))
}

// MeanSaturationVapour is es of a day in kPa, FAO-56 eq. 12: the mean of the
// pressures at the two temperatures, not the pressure at their mean.
func MeanSaturationVapour(tMaxC, tMinC float64) float64 {
	return (SaturationVapour(tMaxC) + SaturationVapour(tMinC)) / 2
}

// ActualVapour is ea of a day in kPa from its greatest and least relative
// humidity in percent, FAO-56 eq. 17.
func ActualVapour(tMaxC, tMinC, rhMax, rhMin float64) float64 {
	return (SaturationVapour(tMinC)*rhMax + SaturationVapour(tMaxC)*rhMin) / 200
}

// AtmosphericPressure is in kPa at an elevation in metres, FAO-56 eq. 7.
func AtmosphericPressure(elevationM float64) float64 {
	return 101.3 * math.Pow((293-0.0065*elevationM)/293, 5.26)
}

// PsychrometricConstant is in kPa per degC at a pressure in kPa, FAO-56 eq. 8.
func PsychrometricConstant(pressureKPa float64) float64 { return 0.665e-3 * pressureKPa }

// WindAt2m brings a wind speed measured at a height in metres down to 2 m,
// FAO-56 eq. 47.
func WindAt2m(speed, heightM float64) float64 {
	return speed * 4.87 / math.Log(67.8*heightM-5.42)
}

// MonthlySoilHeat is G in MJ/m2 per day from the mean temperatures of a month
// and the one before it, FAO-56 eq. 44.
func MonthlySoilHeat(meanC, previousMeanC float64) float64 { return 0.14 * (meanC - previousMeanC) }

// vapourSlope is the slope of the saturation curve in kPa per degC, eq. 13.
func vapourSlope(tempC float64) float64 {
	return 4098 * SaturationVapour(tempC) / ((tempC + 237.3) * (tempC + 237.3))
}
