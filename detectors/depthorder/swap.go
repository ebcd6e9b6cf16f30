package depthorder

import (
	"math"

	"probeward/detectors/detect"
)

// swap is a moment at which two probes took each other's readings.
type swap struct {
	time int64
	gap  float64 // between the two, in wetness
}

// swapped looks for the moment from which on each of two probes goes on where the other
// one was: both jump at once, in opposite directions and as far. One of them then dries
// as fast as the other one wets, and no soil does that.
func (l *look) swapped(u, d *member) (best swap, ok bool) {
	near := l.p.ParamHours("swap_hours")
	for _, a := range u.Waterings.Jumps {
		for _, b := range d.Waterings.Jumps {
			if a.Size*b.Size >= 0 || b.Time-a.Time > near || a.Time-b.Time > near {
				continue
			}
			gap := min(math.Abs(a.Size), math.Abs(b.Size))
			if math.Abs(a.Size+b.Size) > l.p.Param("swap_left")*max(math.Abs(a.Size), math.Abs(b.Size)) || gap <= best.gap {
				continue
			}
			if l.crossed(u, d, min(a.Time, b.Time), max(a.Time, b.Time)) {
				best, ok = swap{time: min(a.Time, b.Time), gap: gap}, true
			}
		}
	}
	return best, ok
}

// crossed says whether the day after each of two probes is nearer to where the other
// one was on the day before than to where it was itself.
func (l *look) crossed(u, d *member, from, to int64) bool {
	q := u.Probe.Quantity
	u0, ok1 := dayBefore(u.days, from)
	d0, ok2 := dayBefore(d.days, from)
	u1, ok3 := dayAfter(u.days, to)
	d1, ok4 := dayAfter(d.days, to)
	if !ok1 || !ok2 || !ok3 || !ok4 {
		return false
	}
	apart := func(a, b float64) float64 { return math.Abs(q.Wetness(a) - q.Wetness(b)) }
	return apart(u1, d0)+apart(d1, u0) < 0.5*(apart(u1, u0)+apart(d1, d0))
}

// dayBefore is the median of the last full day before an instant, dayAfter of the
// first one after it; false where it is more than three days away.
func dayBefore(days []detect.DayLevel, t int64) (float64, bool) {
	for i := len(days) - 1; i >= 0; i-- {
		if days[i].Start+detect.Day <= t {
			return days[i].Median, t-days[i].Start <= 4*detect.Day
		}
	}
	return 0, false
}

func dayAfter(days []detect.DayLevel, t int64) (float64, bool) {
	for _, d := range days {
		if d.Start >= t {
			return d.Median, d.Start-t <= 3*detect.Day
		}
	}
	return 0, false
}
