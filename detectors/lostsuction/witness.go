package lostsuction

import (
	"math"

	"probeward/detectors/detect"
)

// word is what the neighbours say of a fall.
type word struct {
	asked int
	water bool    // they say that water came
	most  float64 // the most that one at its depth wetted, as a share of the fall
	apart float64 // how much one at its depth has become drier beside it, in natural logarithms
	twin  string  // which
}

// ask asks the neighbours that water must have passed on its way to m, or that sit
// as deep, and that have answered water before.
func (z *zone) ask(m *member, f fall, fell detect.Span) word {
	var w word
	for i := range z.members {
		o := &z.members[i]
		if o.Probe.Index == m.Probe.Index || len(o.Wettings) == 0 || z.deeper(o, m) {
			continue
		}
		rise, ok := o.wetted(fell.Start-detect.Day, fell.End-1)
		if !ok {
			continue
		}
		w.asked++
		share := rise / f.size
		if o.Probe.Quantity == detect.WaterContent {
			share = z.p.Param("shared") * rise / z.p.Param("shared_water_content")
		}
		beside := !z.deeper(m, o)
		if beside {
			w.most = max(w.most, share)
		}
		if share > z.p.Param("shared") && (beside || z.new(o, rise, fell)) && !z.drained(m, o, f, fell) {
			w.water = true
		}
		if d := z.apart(o, m, f); beside && d > w.apart {
			w.apart, w.twin = d, o.Probe.Name
		}
	}
	return w
}

// drained says whether the water that a neighbour met has left it again, while m stood
// near zero for longer than soil takes to drain: then it does not stand in that water.
func (z *zone) drained(m, o *member, f fall, fell detect.Span) bool {
	last := m.days[len(m.days)-1].Start
	if float64(last-m.days[f.low].Start) < z.p.Param("sink_days")*float64(detect.Day) {
		return false
	}
	before, wettest, now := math.Inf(1), math.Inf(-1), math.Inf(-1)
	stay := int64(z.p.Param("stay_days") * float64(detect.Day))
	for i, d := range o.days {
		switch {
		case d.Start >= fell.Start-detect.Day && d.Start < fell.End:
			before, wettest = min(before, o.w[i]), max(wettest, o.w[i])
		case d.Start > last-stay:
			now = max(now, o.w[i])
		}
	}
	return !math.IsInf(now, -1) && now < (before+wettest)/2
}

// new says whether a neighbour wetted much more than ever before: what is usual to
// it has passed by m until now, and explains nothing new.
func (z *zone) new(o *member, rise float64, fell detect.Span) bool {
	to := 0
	for to < len(o.days) && o.days[to].Start < fell.Start-detect.Day {
		to++
	}
	largest, days := o.largestFall(to-1, fell.Length())
	return days < int(z.p.Param("history_days")) || rise > z.p.Param("novelty")*largest
}

// deeper says whether o sits deeper than m by more than counts.
func (z *zone) deeper(o, m *member) bool {
	return o.Probe.DepthCM.OK && m.Probe.DepthCM.OK && o.Probe.DepthCM.V > m.Probe.DepthCM.V+z.p.Param("deeper_cm")
}

// apart is by how much a neighbour is drier beside m than before the fall, in
// natural logarithms; 0 where the two cannot be compared.
func (z *zone) apart(o, m *member, f fall) float64 {
	if o.Probe.Quantity != detect.Tension {
		return 0
	}
	const week, few = 7, 2
	before, since, n, k := 0.0, 0.0, 0, 0
	j := 0
	for i, d := range m.days {
		for j < len(o.days) && o.days[j].Start < d.Start {
			j++
		}
		if j == len(o.days) {
			break
		}
		if o.days[j].Start > d.Start {
			continue
		}
		ratio := math.Log(max(1, o.days[j].Median)) - math.Log(max(1, d.Median))
		switch {
		case i <= f.high && i > f.high-week:
			before, n = before+ratio, n+1
		case i >= f.low:
			since, k = since+ratio, k+1
		}
	}
	if n < few || k < few {
		return 0
	}
	return since/float64(k) - before/float64(n)
}
