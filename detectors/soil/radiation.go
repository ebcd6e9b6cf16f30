package soil

import "math"

// solarConstant is FAO-56's Gsc in MJ per m2 and minute.
const solarConstant = 0.0820

// millimetresPerMJ is the depth of water in mm that 1 MJ per m2 evaporates
// (FAO-56 eq. 20: the inverse of a latent heat of 2.45 MJ/kg).
const millimetresPerMJ = 0.408

// ExtraterrestrialRadiation is the radiation above the atmosphere over one day
// in MJ/m2, FAO-56 eq. 21, at a latitude in degrees (south negative) and a day
// of the year from 1.
func ExtraterrestrialRadiation(latitudeDeg float64, dayOfYear int) float64 {
	phi := latitudeDeg * math.Pi / 180
	angle := 2 * math.Pi / 365 * float64(dayOfYear)
	distance := 1 + 0.033*math.Cos(angle)
	delta := declination(dayOfYear)
	sunset := sunsetAngle(phi, delta)
	return 24 * 60 / math.Pi * solarConstant * distance *
		(sunset*math.Sin(phi)*math.Sin(delta) + math.Cos(phi)*math.Cos(delta)*math.Sin(sunset))
}

// DaylightHours is the possible hours of sun, FAO-56 eq. 34: 0 in the polar
// night and 24 in the polar day.
func DaylightHours(latitudeDeg float64, dayOfYear int) float64 {
	return 24 / math.Pi * sunsetAngle(latitudeDeg*math.Pi/180, declination(dayOfYear))
}

// ClearSkyRadiation is Rso in MJ/m2 per day, FAO-56 eq. 37: (0.75 + 2e-5 z) Ra.
func ClearSkyRadiation(extraterrestrial, elevationM float64) float64 {
	return (0.75 + 2e-5*elevationM) * extraterrestrial
}

// SolarFromSunshine is Rs in MJ/m2 per day from measured and possible hours of
// sun, FAO-56 eq. 35 with its default coefficients: (0.25 + 0.50 n/N) Ra.
func SolarFromSunshine(extraterrestrial, sunHours, daylightHours float64) float64 {
	return (0.25 + 0.50*sunHours/daylightHours) * extraterrestrial
}

// SolarFromTemperature is Rs in MJ/m2 per day from the day's temperature range
// in degC, FAO-56 eq. 50 with 0.16, its coefficient away from the coast.
func SolarFromTemperature(extraterrestrial, tMaxC, tMinC float64) float64 {
	return 0.16 * math.Sqrt(max(0, tMaxC-tMinC)) * extraterrestrial
}

// netShortwave is FAO-56 eq. 38 for the reference grass, albedo 0.23.
func netShortwave(solar float64) float64 { return 0.77 * solar }

// netLongwave is FAO-56 eq. 39 in MJ/m2 per day, outgoing.
func netLongwave(tMaxC, tMinC, vapourKPa, solar, clearSky float64) float64 {
	const stefanBoltzmann = 4.903e-9 // MJ per K4, m2 and day
	clear := 1.0                     // a sky without sun has no ratio to measure cloud by
	if clearSky > 0 {
		clear = min(1, solar/clearSky)
	}
	fourth := (math.Pow(tMaxC+273.16, 4) + math.Pow(tMinC+273.16, 4)) / 2
	return stefanBoltzmann * fourth * (0.34 - 0.14*math.Sqrt(vapourKPa)) * (1.35*clear - 0.35)
}

func declination(dayOfYear int) float64 {
	return 0.409 * math.Sin(2*math.Pi/365*float64(dayOfYear)-1.39)
}

func sunsetAngle(phi, delta float64) float64 {
	return math.Acos(clamp(-math.Tan(phi)*math.Tan(delta), -1, 1))
}
