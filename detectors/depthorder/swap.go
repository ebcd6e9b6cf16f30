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
	near := int64(l.p.Param("swap_hours") * float64(detect.Hour))
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

// weigh weighs the daily swings of two probes: above 0 the upper one swings more, as
// it should, in logarithms; false where neither has any.
func weigh(u, d *member) (float64, bool) {
	a, b := u.swing(), d.swing()
	if a <= 0 && b <= 0 {
		return 0, false
	}
	const none = 1e-4 // of wetness: what a swing that no day shows clearly may be
	return math.Log((a + none) / (b + none)), true
}

// swing is the mean amplitude of the daily swing in wetness; days without a clear one
// count as none.
func (m *member) swing() float64 {
	sum := 0.0
	for _, s := range m.Swings[detect.SoilMoisture] {
		sum += float64(s.Size)
	}
	return sum / math.Max(1, float64(len(m.days)))
}

// beat is the time of day at which a probe's daily swing is highest.
type beat struct {
	days  int
	hour  float64
	unity float64 // length of the mean of unit vectors: 1 where all days agree
}

func (m *member) beat() beat {
	var c, s float64
	swings := m.Swings[detect.SoilMoisture]
	for _, x := range swings {
		sin, cos := math.Sincos(float64(x.Hour) * math.Pi / 12)
		c, s = c+cos, s+sin
	}
	b := beat{days: len(swings), hour: math.Atan2(s, c) * 12 / math.Pi}
	b.unity = math.Hypot(c, s) / math.Max(1, float64(b.days))
	return b
}

// clear says whether the days agree on the hour better than chance: by Rayleigh's test
// n R^2 passes 5 in one of 150 series without any.
func (b beat) clear() bool { return b.days >= 10 && float64(b.days)*b.unity*b.unity >= 5 }

// phase weighs when two probes swing: heat and uptake reach the deeper one later.
// Above 0 the upper one is earlier, as it should be; below 0 it is later, or swings on
// few days where the other one does on most; 0 where nothing tells. byHour says that both
// have a clear hour.
func (l *look) phase(u, d *member) (sign int, byHour bool) {
	a, b := u.beat(), d.beat()
	lag := math.Remainder(a.hour-b.hour, 24)
	switch least := l.p.Param("phase_hours"); {
	case a.clear() && b.clear() && lag >= least:
		return -1, true
	case a.clear() && b.clear() && lag <= -least/2:
		return 1, true
	case 2*b.days > len(d.days) && float64(b.days) >= l.p.Param("phase_days")*float64(a.days):
		return -1, false
	}
	return 0, false
}
