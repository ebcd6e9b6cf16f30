package shortcircuit

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
)

// following finds stretches whose every reading is what no resistance converts to
// at the temperature beside it. Only a fine resolution and a temperature that moves
// tell that from a wet soil.
func (s *scan) following() []spell {
	if !s.p.Has(detect.NeedTemperature) || s.p.Kind() != detect.GranularMatrix {
		return nil
	}
	const moves = 4 // steps of the tolerance that the formula must move through
	tolerance := math.Max(0.011, s.p.Quantum())
	temp := s.p.Temperature()
	var out []spell
	for i := 0; i < len(s.v); {
		j, low, high := i, math.Inf(1), math.Inf(-1)
		for ; j < len(s.v); j++ {
			zero := shockZero(float64(temp[j]))
			if !(distance(s.v[j], zero) <= tolerance) || j > i && !s.joined(j) {
				break
			}
			low, high = math.Min(low, zero), math.Max(high, zero)
		}
		if j-i >= 4*s.least && high-low >= moves*tolerance {
			one := s.spell(i, j, follows, confidenceFollows, s.p.Param("dead_zone"))
			one.why = fmt.Sprintf("what no resistance at all converts to by the form of 1998, through %.2f kPa of the temperature's own swing", high-low)
			out = append(out, one)
		}
		i = max(j, i+1)
	}
	return out
}
