package depthorder

import (
	"math"

	"probeward/detectors/detect"
)

// both is a day of two probes, by their medians in wetness.
type both struct {
	start int64
	u, d  float64
}

// days lists the days that two probes share.
func shared(u, d *member) (days []both) {
	q := u.Probe.Quantity
	for i, j := 0, 0; i < len(u.days) && j < len(d.days); {
		switch {
		case u.days[i].Start < d.days[j].Start:
			i++
		case u.days[i].Start > d.days[j].Start:
			j++
		default:
			days = append(days, both{u.days[i].Start, q.Wetness(u.days[i].Median), q.Wetness(d.days[j].Median)})
			i, j = i+1, j+1
		}
	}
	return days
}

// swappedByDays looks for the same in the days' medians, where the visit left a hole in
// the record: from the day before to the day after, one wets and the other dries, each to
// where the other was, and the one that dries does so faster than ever else.
func (l *look) swappedByDays(u, d *member) (best swap, ok bool) {
	days := shared(u, d)
	least := l.p.Param("swap_gap")
	if u.Probe.Quantity == detect.WaterContent {
		least = l.p.Param("swap_gap_water_content")
	}
	const stays = 3 // days on either side
	for i := stays; i+stays < len(days); i++ {
		a, b := days[i-1], days[i+1]
		gap := math.Abs(a.u - a.d)
		if b.start-a.start > 3*detect.Day || gap < least || gap <= best.gap {
			continue
		}
		stay := math.Abs(b.u-a.u) + math.Abs(b.d-a.d)
		cross := math.Abs(b.u-a.d) + math.Abs(b.d-a.u)
		opposite := (b.u-a.u)*(b.d-a.d) < 0 && min(math.Abs(b.u-a.u), math.Abs(b.d-a.d)) > gap/2
		if !opposite || cross > l.p.Param("swap_left")*stay {
			continue
		}
		dried := max(a.u-b.u, a.d-b.d)
		if c, e := days[i-stays], days[i+stays]; math.Abs(e.u-c.d)+math.Abs(e.d-c.u) > math.Abs(e.u-c.u)+math.Abs(e.d-c.d) {
			continue // it did not stay so
		}
		if dried > l.p.Param("swap_novelty")*fastest(days, i, b.u < a.u) {
			best, ok = swap{days[i].start, gap}, true
		}
	}
	return best, ok
}

// fastest is the most that one of them dried from one day to the next but one, away from
// the day at place i.
func fastest(days []both, i int, upper bool) (most float64) {
	const away = 3
	for k := 1; k+1 < len(days); k++ {
		if k > i-away && k < i+away {
			continue
		}
		a, b := days[k-1], days[k+1]
		if upper {
			most = max(most, a.u-b.u)
		} else {
			most = max(most, a.d-b.d)
		}
	}
	return most
}
