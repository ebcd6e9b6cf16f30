package duplicateseries

import (
	"math"

	"probeward/detectors/detect"
)

// roundedCopies lists the pairs of which one is the other at a coarser resolution: the
// least and the greatest value of a day stay the least and the greatest when a series
// is rounded, so both of each day must be those of the other, rounded.
func roundedCopies(p *detect.GroupPass) []match {
	members := p.Members()
	var out []match
	for i := range members {
		for j := i + 1; j < len(members); j++ {
			a, b := &members[i], &members[j]
			if a.Probe.Quantity != b.Probe.Quantity {
				continue
			}
			fine, coarse := a, b
			if a.Quantum > b.Quantum {
				fine, coarse = b, a
			}
			// Were the steps the same, a copy would be equal.
			if coarse.Quantum <= 0 || coarse.Quantum < 1.5*fine.Quantum {
				continue
			}
			// To the nearest, down, or up.
			for _, mode := range []float64{0, 0.5, -0.5} {
				if m, ok := rounds(p, fine.Daily, coarse.Daily, coarse.Quantum, mode*coarse.Quantum); ok {
					m.pair = pair{i, j}
					out = append(out, m)
					break
				}
			}
		}
	}
	return out
}

// rounds compares the days that both have in full. shift is how far the values lie
// above the copy's on average, by the way of rounding.
func rounds(p *detect.GroupPass, fine, coarse []detect.DayLevel, step, shift float64) (match, bool) {
	const early = 8 // days after which a pair that agrees no better than chance is let go
	m := match{how: rounded, step: step}
	values := map[float64]bool{}
	days, equal, trials, agreed := 0, 0, 0, 0
	var last detect.DayLevel
	for i, j := 0, 0; i < len(fine) && j < len(coarse); {
		switch {
		case fine[i].Start < coarse[j].Start:
			i++
			continue
		case fine[i].Start > coarse[j].Start:
			j++
			continue
		}
		x, y := fine[i], coarse[j]
		i, j = i+1, j+1
		if x.Values != y.Values || x.Readings != x.Values || y.Readings != y.Values || x.Changes < 1 {
			continue
		}
		low, high := fits(x.Min, y.Min, step, shift), fits(x.Max, y.Max, step, shift)
		days++
		if low && high {
			equal++
			if equal == 1 {
				m.first = x.Start
			}
			m.last = x.Start
		}
		if days == early && equal < early/2 {
			return m, false
		}
		for _, end := range [2]struct {
			is, was float64
			fits    bool
		}{{y.Min, last.Min, low}, {y.Max, last.Max, high}} {
			if last.Values == 0 || end.is == end.was {
				continue
			}
			trials++
			if end.fits {
				agreed++
				values[end.is] = true
			}
		}
		last = y
	}
	share := p.Param("equal_share")
	m.days, m.changes, m.distinct = equal, agreed, len(values)
	least := p.Param("rounded_changes")
	if agreed == trials && equal == days && days >= early {
		least /= 2 // a twin within a step misses now and then
	}
	return m, float64(agreed) >= least && len(values) >= int(p.Param("distinct")) &&
		float64(agreed) >= share*float64(trials) && float64(equal) >= share*float64(days)
}

// fits says whether y is x, rounded to a step.
func fits(x, y, step, shift float64) bool {
	return math.Abs(x-y-shift) <= 0.5*step*(1+1e-6)
}
