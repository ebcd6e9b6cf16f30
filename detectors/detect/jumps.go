package detect

import "math"

// Jump is a step of the smoothed level from one reading to the next that stays.
type Jump struct {
	Time int64
	Size float64 // in wetness: below zero, it dried
}

// maxJumps is how many are kept of a series: with more the level is no soil's at all.
const maxJumps = 96

// A jump must stand clear of what noise leaves in a rolling median, and of what a soil
// does in one step of a logger. The fastest that a block dries while its hole drains
// is a twentieth an hour of its resistance or tension (trials on simulated
// vineyards), or 0.004 m3/m3: as much again is no drainage.
const (
	jumpScales    = 6.0
	jumpLeastLog  = 0.08 // and so much an hour where the logger steps by more
	jumpLeastVWC  = 0.008
	jumpStays     = 0.6 // share of it that is there some hours later
	jumpStaysSpan = 5 * Hour
)

// jumps are the steps of a series that last, with no hole and no impossible value
// around them. Without a smoothing that takes out spikes there are none to be told.
func (s *studied) jumps() []Jump {
	side := int(jumpStaysSpan / s.cadence)
	if side < 2 {
		return nil
	}
	least := jumpLeastLog
	if s.probe.Quantity == WaterContent {
		least = jumpLeastVWC
	}
	least *= max(1, Hours(s.cadence))
	limits := s.probe.Limits()
	var out []Jump
	for i := side; i+1+side < len(s.t) && len(out) < maxJumps; i++ {
		size := s.w[i+1] - s.w[i]
		if math.Abs(size) < least || math.Abs(size) < jumpScales*s.Scale(s.series.Value[i]) {
			continue
		}
		stays := (s.w[i+1+side] - s.w[i-side]) / size
		if stays < jumpStays || s.t[i+1+side]-s.t[i-side] > int64(2*side+3)*s.cadence ||
			limits.Outside(s.series.Value[i]) || limits.Outside(s.series.Value[i+1]) {
			continue
		}
		out = append(out, Jump{Time: s.t[i+1], Size: size})
		i += side
	}
	return out
}
