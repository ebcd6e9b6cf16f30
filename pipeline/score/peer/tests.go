package peer

import (
	"math"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Setting is what the tests need of a unit.
type Setting struct {
	SensorLow, SensorHigh     float64 // outside: fail
	OperatorLow, OperatorHigh float64 // outside: suspect
	SpikeLow, SpikeHigh       float64 // above: suspect, fail
	Deviations                float64 // of rate of change, in standard deviations
	Over                      int64   // before a reading, over which these are taken
	Epsilon                   float64 // flat line: differences below are none
	FlatSuspect, FlatFail     int     // readings
}

// ForUnit gives the setting for readings of a unit; ok is false for other units. The
// rate of change has the manual's example, 3 deviations over 25 h.
func ForUnit(unit string) (s Setting, ok bool) {
	switch unit {
	case "ohm":
		s = Setting{SensorLow: 100, SensorHigh: 35000, OperatorLow: 400, OperatorHigh: 28000, SpikeLow: 1000, SpikeHigh: 3000, Epsilon: 5}
	case "kPa":
		s = Setting{SensorLow: -1, SensorHigh: 239, OperatorLow: -0.5, OperatorHigh: 198.5, SpikeLow: 10, SpikeHigh: 20, Epsilon: 0.05}
	case "m3/m3":
		s = Setting{SensorLow: 0, SensorHigh: 0.6, OperatorLow: 0.02, OperatorHigh: 0.55, SpikeLow: 0.03, SpikeHigh: 0.06, Epsilon: 0.0005}
	case "%":
		s = Setting{SensorLow: 0, SensorHigh: 60, OperatorLow: 2, OperatorHigh: 55, SpikeLow: 3, SpikeHigh: 6, Epsilon: 0.05}
	default:
		return s, false
	}
	s.Deviations, s.Over, s.FlatSuspect, s.FlatFail = 3, 25*detect.Hour, 48, 96
	return s, true
}

// The tests write the flag of each reading into flags, which has a place for each,
// and leave a pass where they find nothing.

// grossRange: outside the sensor's span fails, outside the operator's is suspect.
func grossRange(s *Setting, values []float64, flags []schemas.Flag) {
	for i, v := range values {
		switch {
		case v < s.SensorLow || v > s.SensorHigh:
			flags[i] = schemas.FlagFail
		case v < s.OperatorLow || v > s.OperatorHigh:
			flags[i] = schemas.FlagSuspect
		default:
			flags[i] = schemas.FlagPass
		}
	}
}

// spike: a reading further from the mean of its two neighbours than a threshold.
func spike(s *Setting, values []float64, flags []schemas.Flag) {
	for i := range flags {
		flags[i] = schemas.FlagPass
		if i == 0 || i == len(values)-1 {
			continue
		}
		apart := math.Abs(values[i] - (values[i-1]+values[i+1])/2)
		switch {
		case apart > s.SpikeHigh:
			flags[i] = schemas.FlagFail
		case apart > s.SpikeLow:
			flags[i] = schemas.FlagSuspect
		}
	}
}

// rateOfChange: a step larger than some standard deviations of the time before it,
// the reading itself included. It has no fail.
func rateOfChange(s *Setting, times []int64, values []float64, flags []schemas.Flag) {
	from := 0
	for i, v := range values {
		flags[i] = schemas.FlagPass
		for times[i]-times[from] > s.Over {
			from++
		}
		n := float64(i - from + 1)
		if n < 3 {
			continue
		}
		mean, squares := 0.0, 0.0
		for _, x := range values[from : i+1] {
			mean += x
		}
		mean /= n
		for _, x := range values[from : i+1] {
			squares += (x - mean) * (x - mean)
		}
		if math.Abs(v-values[i-1]) > s.Deviations*math.Sqrt(squares/(n-1)) {
			flags[i] = schemas.FlagSuspect
		}
	}
}

// flatLine: a reading that differs from none of the count before it.
func flatLine(s *Setting, values []float64, flags []schemas.Flag) {
	run := 0 // readings before this one that it does not differ from
	low, high := math.Inf(1), math.Inf(-1)
	for i, v := range values {
		flags[i] = schemas.FlagPass
		if i > 0 && max(high, v)-min(low, v) < s.Epsilon {
			run++
			low, high = min(low, v), max(high, v)
		} else {
			run, low, high = 0, v, v
		}
		switch {
		case run >= s.FlatFail:
			flags[i] = schemas.FlagFail
		case run >= s.FlatSuspect:
			flags[i] = schemas.FlagSuspect
		}
	}
}
