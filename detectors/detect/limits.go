package detect

import (
	"math"

	"probeward/detectors/soil"
)

// Limits are the standard values that the sensor or the soil cannot pass: a
// reading below Low or above High is an electrical state, not a soil's.
type Limits struct{ Low, High float64 }

// AirWaterContent is what a dielectric probe reads out of the ground: Topp's
// equation at a permittivity of one (Topp, Davis & Annan 1980; recomputed).
const AirWaterContent = -0.0243

// MaxWaterContent is the gross upper limit of water content in mineral soil,
// m3/m3 (Dorigo et al. 2013, flag C02; from memory).
const MaxWaterContent = 0.60

// Limits of the probe's readings in its standard unit.
//
// Ohms: the short and open guards of soil. Tension from a granular matrix sensor:
// a whole kPa below zero for rounding, up to what the published dry branch gives
// at the open guard in the warmest soil (45 degC). A tensiometer: below zero by
// the water that can stand above its cup, its depth and 30 cm of ponding (9.81 kPa
// a metre; two metres when the depth is not known), up to 100 kPa, where its water
// boils. Water content: below what air reads by more than a probe's usual offset
// of 0.03, up to 0.60.
func (p *Probe) Limits() Limits {
	switch p.Quantity {
	case Ohms:
		return Limits{soil.ShortOhms, soil.OpenOhms}
	case Tension:
		if p.Kind == Tensiometer {
			depth := 2.0
			if p.DepthCM.OK {
				depth = p.DepthCM.V / 100
			}
			return Limits{-9.81 * (depth + 0.3), 100}
		}
		return Limits{-1, granularCeiling}
	case WaterContent:
		return Limits{AirWaterContent - 0.03, MaxWaterContent}
	case Celsius:
		return Limits{-40, 80}
	default:
		return Limits{math.Inf(-1), math.Inf(1)}
	}
}

var granularCeiling = func() float64 {
	kPa, ok := soil.GranularTension(soil.OpenOhms-1, 45)
	if !ok {
		panic("detect: the granular ceiling lies outside the published form")
	}
	return kPa
}()

// Outside says whether a value is beyond the limits.
func (l Limits) Outside(v float64) bool { return v < l.Low || v > l.High }

// Leap is the difference in wetness that a sensor with a lag cannot cross between
// two readings: a factor of three in ohms or tension, 0.10 m3/m3, and never less
// than twelve noise scales there (common practice, no source; a granular matrix
// sensor needs an hour or more to follow a step).
func (s *Shared) Leap(v float64) float64 {
	least := math.Log(3)
	if s.probe.Quantity == WaterContent {
		least = 0.10
	}
	return math.Max(least, 12*s.Scale(v))
}
