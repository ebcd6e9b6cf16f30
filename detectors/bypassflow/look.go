package bypassflow

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// probe is one member and what was seen of it.
type probe struct {
	*detect.Summary
	above []int         // places of the shallower probes of its post
	quick map[int64]hit // by the start of the watering: what came down the hole
	heard []detect.Watered
}

// hit is one watering that reached the probe by a shorter way than through the soil.
type hit struct {
	lag  int64
	left float64
	rise float64
}

// zone is one look at one zone.
type zone struct {
	p      *detect.GroupPass
	whole  detect.Span
	probes []probe
}

func newZone(p *detect.GroupPass) *zone {
	z := &zone{p: p, whole: p.Period().Whole()}
	members := p.Members()
	for i := range members {
		if m := &members[i]; m.Probe.TellsWater() {
			z.probes = append(z.probes, probe{Summary: m, quick: map[int64]hit{}})
		}
	}
	for i := range z.probes {
		me := &z.probes[i]
		for _, w := range me.Waterings.At {
			if !w.Blind && !z.flooded(&w) {
				me.heard = append(me.heard, w)
			}
		}
		for j := range z.probes {
			if one := &z.probes[j].Summary.Probe; one.Post != "" && one.Post == me.Probe.Post && one.DepthCM.OK && me.Probe.DepthCM.OK &&
				one.DepthCM.V <= me.Probe.DepthCM.V-p.Param("below_cm") {
				me.above = append(me.above, j)
			}
		}
	}
	for i := range z.probes {
		z.hits(&z.probes[i])
	}
	return z
}

// flooded says whether water came faster than soil takes it up: where it stands on the
// surface, cracks and worm holes fill as well as a hole that somebody dug.
func (z *zone) flooded(w *detect.Watered) bool {
	return w.MM.OK && w.Length() > 0 && w.MM.V/detect.Hours(w.Length()) > z.p.Param("flood_mm_h")
}

// hits collects the waterings that reached a probe at once, before any above it, and
// that were gone again within half a day.
func (z *zone) hits(me *probe) {
	for _, w := range me.heard {
		if !w.Begin.OK || len(me.above) == 0 {
			continue
		}
		lag := w.Begin.V - w.Start
		soon := w.First >= z.p.Param("soon_share")*w.Rise || w.Peak <= w.End+z.p.ParamHours("peak_hours")
		gone := w.Left.OK && w.Left.V <= z.p.Param("left_share")
		if lag > z.p.ParamHours("quick_hours") || !soon || !gone || w.Rise < z.p.Param("rise_units")*me.Waterings.Unit {
			continue
		}
		if first, heard := z.above(me, w.Start); heard && w.Begin.V < first {
			me.quick[w.Start] = hit{lag, w.Left.V, w.Rise}
		}
	}
}

// above is when the first of the probes above answered a watering, if any; and
// whether any of them was heard then.
func (z *zone) above(me *probe, start int64) (first int64, heard bool) {
	first = math.MaxInt64
	for _, j := range me.above {
		for _, w := range z.probes[j].heard {
			if w.Start == start {
				heard = true
				if w.Begin.OK {
					first = min(first, w.Begin.V)
				}
			}
		}
	}
	return first, heard
}

// look judges one probe. A reason says that it could not be judged.
func (z *zone) look(i int) (f detect.Finding, found bool, why detect.Why) {
	me, p := &z.probes[i], z.p
	least := int(p.Param("min_events"))
	switch {
	case !me.Probe.DepthCM.OK || me.Probe.Post == "":
		return f, false, detect.Why{Cause: detect.Absent, Text: "needs depth_cm and post in the register"}
	case len(me.above) == 0:
		return f, false, detect.Why{Cause: detect.Absent, Text: "needs a shallower probe at the post to have answered later"}
	case len(me.heard) < least:
		return f, false, detect.Why{Cause: detect.NoChance, Text: fmt.Sprintf("needs %d waterings without rain or flood, had %d", least, len(me.heard))}
	}
	if len(me.quick) < least {
		return f, false, why
	}
	first := 0
	for ; first < len(me.heard); first++ {
		if _, ok := me.quick[me.heard[first].Start]; ok {
			break
		}
	}
	since := me.heard[first:]
	share := float64(len(me.quick)) / float64(len(since))
	if share < p.Param("most_share") || z.common(i) {
		return f, false, why
	}
	return z.finding(me, since, share), true, why
}

// common says whether most of the deep probes at other posts do the same.
func (z *zone) common(i int) bool {
	same, all := 0, 0
	for j := range z.probes {
		one := &z.probes[j]
		if one.Probe.Post == z.probes[i].Probe.Post || len(one.above) == 0 || len(one.heard) == 0 {
			continue
		}
		all++
		if float64(len(one.quick)) >= z.p.Param("most_share")*float64(len(one.heard)) {
			same++
		}
	}
	return all > 0 && float64(same) > z.p.Param("others_share")*float64(all)
}

func (z *zone) finding(me *probe, since []detect.Watered, share float64) detect.Finding {
	f := detect.Finding{Start: since[0].Start, End: z.whole.End, Probes: []int{me.Probe.Index},
		Measured: share, Threshold: z.p.Param("most_share"), Unit: "share of the waterings since"}
	var lags, left, sizes []float64
	last := since[0].Start
	for _, w := range since {
		h, ok := me.quick[w.Start]
		if !ok {
			continue
		}
		last = w.Start
		lags, left, sizes = append(lags, float64(h.lag)), append(left, h.left), append(sizes, h.rise)
		part := detect.Part{Span: detect.Span{Start: w.Start, End: min(w.End+detect.Day, z.whole.End)}, Flag: 3}
		if n := len(f.Parts); n > 0 {
			part.Start = max(part.Start, f.Parts[n-1].End)
		}
		if part.End > part.Start {
			f.Parts = append(f.Parts, part)
			f.Readings += int((part.End - part.Start) / max(1, me.Cadence))
		}
	}
	// It stands as long as the last two heard did not both go through the soil.
	f.Open = len(since) < 2 || last >= since[len(since)-2].Start
	if !f.Open {
		f.End = f.Parts[len(f.Parts)-1].End
	}
	n := len(lags)
	scratch := make([]float64, n)
	f.Confidence = min(0.95, share*(1-0.2*math.Pow(0.5, float64(n-2))))
	f.Evidence = fmt.Sprintf("at %d of %d waterings since %s it wetted %.0f min after the valve opened (median), before the %d probes above it at the post, by %s; half a day after the water %.0f %% of that was left: water runs down the hole or the cable",
		n, len(since), detect.Stamp(f.Start), robust.Median(lags, scratch)/float64(detect.Minute), len(me.above), rise(me, robust.Median(sizes, scratch)), 100*max(0, robust.Median(left, scratch)))
	return f
}

// rise in wetness as people read it.
func rise(me *probe, w float64) string {
	if me.Probe.Quantity == detect.WaterContent {
		return fmt.Sprintf("%.3f m3/m3", w)
	}
	return fmt.Sprintf("%.0f %% of the %s", 100*(1-math.Exp(-w)), me.Probe.Quantity.Unit())
}
