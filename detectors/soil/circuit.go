package soil

import "math"

const (
	// copperResistivity is that of annealed copper at 20 degC, ohm mm2 per
	// metre: 1/58 by definition of 100 % of the international annealed copper
	// standard.
	copperResistivity = 1.0 / 58
	// copperPerKelvin is its temperature coefficient at 20 degC.
	copperPerKelvin = 0.00393
)

// CopperOhmsPerKm is the resistance of one solid copper conductor of an
// American wire gauge, in ohms per kilometre at a conductor temperature in
// degC. The gauge's diameter is 0.127 mm times 92^((36-n)/39), so tables made
// from diameters rounded to 0.1 mil differ by up to 0.4 %. Gauges 000 and
// larger are negative numbers (00 is -1).
func CopperOhmsPerKm(awg int, tempC float64) float64 {
	diameterMM := 0.127 * math.Pow(92, float64(36-awg)/39)
	areaMM2 := math.Pi / 4 * diameterMM * diameterMM
	return 1000 * copperResistivity / areaMM2 * (1 + float64(copperPerKelvin*(tempC-20)))
}

// LoopOhms is what a healthy two-conductor cable of this length in metres adds
// in series to the sensor at its end: out and back.
func LoopOhms(metres float64, awg int, tempC float64) float64 {
	return 2 * metres / 1000 * CopperOhmsPerKm(awg, tempC)
}

// Parallel is the resistance that the logger sees when a leak bridges the
// sensor's lead (a wet splice, damaged insulation): r leak / (r + leak), both
// in ohms and not negative. No leak is +Inf. The reading never passes the leak
// itself, so a leak shows as a low, flat ceiling in dry weather and is nearly
// invisible in wet soil. Series resistance (a corroded splice) is plain
// addition, and shows as a raised floor after every irrigation.
func Parallel(r, leak float64) float64 {
	switch {
	case math.IsInf(leak, 1):
		return r
	case math.IsInf(r, 1):
		return leak
	case r == 0 || leak == 0:
		return 0
	}
	return r * leak / (r + leak)
}
