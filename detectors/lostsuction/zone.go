package lostsuction

import (
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// zone is one look at a zone.
type zone struct {
	p       *detect.GroupPass
	members []member
}

// member is a moisture probe of the zone, by its days with enough readings.
type member struct {
	*detect.Summary
	days []detect.DayLevel
	w    []float64 // wetness of each day's median
}

// leastReadings is how many readings make a day's median: a few of a power supply
// that works by night only are enough, one or two may be half of an excursion.
const leastReadings = 4

func newZone(p *detect.GroupPass) *zone {
	z := &zone{p: p}
	all := p.Members()
	for i := range all {
		s := &all[i]
		if !s.Probe.TellsWater() {
			continue
		}
		m := member{Summary: s}
		for _, d := range s.Daily {
			if d.Readings >= leastReadings || d.Readings > 0 && s.Cadence > detect.Day/leastReadings {
				m.days = append(m.days, d)
				m.w = append(m.w, s.Probe.Quantity.Wetness(d.Median))
			}
		}
		z.members = append(z.members, m)
	}
	return z
}

// fall is a tensiometer's way from a working level to near zero, where it stayed.
type fall struct {
	high, low int     // places in days: the last at a working level, the first near zero
	before    float64 // kPa, the median of the days before
	limit     float64 // kPa, what near zero is after such a level
	now       float64 // kPa, the median of the days since
	size      float64 // in wetness, from the working level to now
}

// falls lists the falls after which a tensiometer stood near zero up to its last day.
func (z *zone) falls(m *member) (all []fall) {
	p := z.p
	span := int64(p.Param("fall_days") * float64(detect.Day))
	n := len(m.days)
	for low := 1; low+int(p.Param("stay_days")) <= n; low++ {
		driest := 0.0
		for i := low - 1; i >= 0 && m.days[low].Start-m.days[i].Start <= span; i-- {
			driest = max(driest, m.days[i].Median)
		}
		// The last day at that level ends the working time.
		high := low - 1
		for high >= 0 && m.days[high].Median < working*driest {
			high--
		}
		if high < 0 || driest == 0 {
			continue
		}
		f := fall{high: high, low: low, before: min(driest, m.level(max(0, high-4), high+1))}
		f.limit = max(p.Param("near_zero"), p.Param("left_share")*f.before)
		if f.before < p.Param("from_kpa") || m.days[low].Median > f.limit || m.days[low-1].Median <= f.limit {
			continue
		}
		if slices.ContainsFunc(m.days[low:], func(d detect.DayLevel) bool { return d.Median > f.limit }) {
			continue
		}
		f.now = m.level(low, n)
		q := m.Probe.Quantity
		f.size = q.Wetness(f.now) - q.Wetness(f.before)
		all = append(all, f)
	}
	return all
}

// working is the share of the driest day's tension down to which a day still counts
// as before the fall: water and heat take a fifth from one day to the next, and a day in
// the middle of which it fell may show half.
const working = 0.5

// level is the median of the daily medians [from, to), in the standard unit.
func (m *member) level(from, to int) float64 {
	var x []float64
	for _, d := range m.days[from:to] {
		x = append(x, d.Median)
	}
	return robust.Median(x, make([]float64, len(x)))
}

// gauge is how far apart, in kPa, two levels near zero are told apart (common
// practice, no source).
const gauge = 0.5

// alwaysWet says that a tensiometer never read more than near zero.
func (z *zone) alwaysWet(m *member) bool {
	return !slices.ContainsFunc(m.days, func(d detect.DayLevel) bool { return d.Median > z.p.Param("near_zero") })
}

// largestFall is the most that m wetted within so many days, up to its day at place
// to; and over how many days that was looked for.
func (m *member) largestFall(to int, within int64) (size float64, days int) {
	for j := 1; j <= to; j++ {
		for i := j - 1; i >= 0 && m.days[j].Start-m.days[i].Start <= within; i-- {
			size = max(size, m.w[j]-m.w[i])
		}
	}
	return size, to + 1
}

// wetted is how much a neighbour wetted between two instants, from its driest day
// to a later one.
func (m *member) wetted(from, to int64) (rise float64, ok bool) {
	low := math.Inf(1)
	for i, d := range m.days {
		if d.Start < from || d.Start > to {
			continue
		}
		if !math.IsInf(low, 1) {
			ok = true
			rise = max(rise, m.w[i]-low)
		}
		low = min(low, m.w[i])
	}
	return rise, ok
}
