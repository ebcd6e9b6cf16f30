package missingresponse

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// alone holds the waterings since a supposed loss against those before, by the probe's
// own word only.
func (z *zone) alone(i int, before, since []event) (detect.Finding, bool) {
	p, me := z.p, &z.probes[i]
	rises := strongRises(before)
	answers := len(rises)
	if answers < int(p.Param("min_answers")) || len(since) < int(p.Param("min_misses")) {
		return detect.Finding{}, false
	}
	last := before[len(before)-1]
	usual := robust.Median(rises, make([]float64, answers))
	limit := max(me.Waterings.Unit, p.Param("weak_share")*usual)
	largest := largestOf(since)
	missed, answered := z.weighed(me, before, since, limit, usual)
	if last.Rise <= limit || answered {
		return detect.Finding{}, false
	}
	least := p.Param("size_share") * secondSmallest(before, limit)
	missed = large(missed, least)
	asked := answers // a small watering without an answer proves nothing before, either
	for _, e := range large(before, least) {
		if !e.strong {
			asked++
		}
	}
	share, _ := robust.Wilson(answers, asked, p.Param("wilson_z"))
	chance := robust.BinomialTail(len(missed), len(missed), 1-share)
	// Under deficit answers shrink before they vanish, with no break between.
	two := rises[answers-2] + rises[answers-1]
	abrupt := two >= 2*p.Param("steady_share")*usual && largest <= p.Param("break_share")*two/2 &&
		steadyByDepth(before, p.Param("steady_share"))
	if silence(before, me.Waterings.Unit) >= int(p.Param("min_misses")) {
		return detect.Finding{}, false // it was silent before, and came back by itself
	}
	if len(missed) < int(p.Param("min_misses")) || chance > p.Param("max_chance") || !abrupt || !z.notDrier(me, before, missed, usual) {
		return detect.Finding{}, false
	}
	first := missed[0]
	if first.Later > max(p.Param("break_share")*usual, me.Waterings.Unit) {
		return detect.Finding{}, false // it wetted since: late, or by a storm
	}
	if z.told(since) || z.together(i, last.Start, missed) || z.dries(me, first.Start, usual) {
		return detect.Finding{}, false // others know better, or it follows a soil that gets no water
	}
	f := z.finding(me, before, missed, usual, limit, largest)
	f.Confidence = confidence(len(missed), chance)
	return f, true
}

// told says whether siblings speak of a watering since the loss, so that the probe
// alone does not decide.
func (z *zone) told(since []event) bool {
	n := 0
	for _, e := range since {
		if e.came == e.came {
			n++
		}
	}
	return 2*n >= len(since)
}

// finding of a probe that missed some waterings after others that it answered.
func (z *zone) finding(me *probe, before, missed []event, usual, limit, largest float64) detect.Finding {
	last, first := before[len(before)-1], missed[0]
	start := max(first.Start, me.First.V)
	return detect.Finding{
		Start: start, Open: true, ExcludeFrom: max(z.whole.Start, min(last.Peak, start)),
		Readings: first.Readings, Probes: []int{me.Probe.Index},
		Measured: largest, Threshold: limit, Unit: unitOf(me.Probe.Quantity),
		Evidence: fmt.Sprintf("answered %d of %d waterings up to %s, usually by %s, and none of the %d since (%s); the largest rise is %s, in quiet time %s",
			len(strongRises(before)), len(before), detect.Stamp(last.Start), size(me, usual), len(missed), millimetres(missed), size(me, largest), size(me, me.Waterings.Unit)),
	}
}

// confidence without siblings grows with the misses, up to 0.9: half an even bet at
// two, since deficit and a failed emitter look alike to one probe, and seven tenths
// of the rest of the doubt stay with each further miss.
func confidence(misses int, chance float64) float64 {
	doubt := 0.45 * math.Pow(0.7, float64(misses-2))
	return min(0.9, (1-chance)*(1-doubt))
}

func strongRises(events []event) []float64 {
	var rises []float64
	for _, e := range events {
		if e.strong {
			rises = append(rises, e.Rise)
		}
	}
	return rises
}

func largestOf(events []event) float64 {
	largest := 0.0
	for _, e := range events {
		largest = max(largest, e.Rise)
	}
	return largest
}

// weighed sorts the waterings since by what the probe could show: the missed ones, and
// whether any was answered. In the dead zone an answer can be no larger than the
// room that is left up to where answers used to take the probe; a watering with
// less room than an answer tells nothing.
func (z *zone) weighed(me *probe, before, since []event, limit, usual float64) (missed []event, answered bool) {
	plateau := secondPeak(before)
	unit := me.Waterings.Unit
	missed = make([]event, 0, len(since))
	for _, e := range since {
		if e.Level <= me.Waterings.Dead {
			answered = answered || e.Rise > limit
			missed = append(missed, e)
			continue
		}
		room := min(usual, plateau-e.Level)
		weak := z.p.Param("weak_share") * room
		switch {
		case room < z.p.Param("answer_units")*unit:
			answered = answered || e.Rise > limit
		case e.Rise <= weak:
			missed = append(missed, e)
		default:
			answered = answered || e.Rise > max(unit, weak)
		}
	}
	return missed, answered
}

// steadyByDepth says whether the last answer was as large as usual for the depth
// applied: answers that shrink while more is given fade, and have no break. Without
// depths that of each watering counts alike.
func steadyByDepth(before []event, share float64) bool {
	sizes := make([]float64, 0, len(before))
	for _, e := range before {
		if !e.strong {
			continue
		}
		if !e.MM.OK || !(e.MM.V > 0) {
			return true
		}
		sizes = append(sizes, e.Rise/e.MM.V)
	}
	n := len(sizes)
	return n == 0 || sizes[n-1] >= share*robust.Median(sizes, make([]float64, n))
}

// silence is the most waterings in a row at which the probe did no more than in quiet
// time.
func silence(before []event, unit float64) int {
	most, n := 0, 0
	for _, e := range before {
		if n++; e.Rise > unit {
			n = 0
		}
		most = max(most, n)
	}
	return most
}

// notDrier says whether the first miss came from a state of the soil from which
// the probe used to answer.
func (z *zone) notDrier(me *probe, before, missed []event, usual float64) bool {
	first, q := missed[0], me.Probe.Quantity
	if q != detect.WaterContent && first.Level >= q.Wetness(detect.TensionAs(q, z.p.Param("moist_kpa"))) {
		return true
	}
	as := 0
	for _, e := range before {
		if e.strong && e.Level <= first.Level+z.p.Param("dry_share")*usual {
			as++
		}
	}
	return as >= 2
}

func millimetres(missed []event) string {
	sum, known := 0.0, true
	for _, e := range missed {
		sum += e.MM.V
		known = known && e.MM.OK
	}
	if !known {
		return "of unknown depth"
	}
	return fmt.Sprintf("%.0f mm together", sum)
}

// size prints a rise in wetness as people read it.
func size(me *probe, rise float64) string {
	if me.Probe.Quantity == detect.WaterContent {
		return fmt.Sprintf("%.3f m3/m3", rise)
	}
	return fmt.Sprintf("%.0f %% of the %s", 100*(1-math.Exp(-rise)), me.Probe.Quantity.Unit())
}

// unitOf is the unit of differences in wetness.
func unitOf(q detect.Quantity) string {
	if q == detect.WaterContent {
		return "m3/m3"
	}
	return "ln(" + q.Unit() + ")"
}
