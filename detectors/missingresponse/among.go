package missingresponse

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// attested says whether the siblings tell of enough of a probe's waterings that a few
// answers show what it could do.
func (z *zone) attested(me *probe) bool {
	n := 0
	for _, e := range me.counted {
		if e.came >= z.p.Param("came_share") {
			n++
		}
	}
	return me.answers >= int(z.p.Param("sibling_answers")) && n >= int(z.p.Param("min_answers"))
}

// among holds the waterings since a supposed loss against those before, and both
// against what the siblings did with the same water: a probe is expected to answer by
// its own size times their share.
func (z *zone) among(i int, before, since []event) (detect.Finding, bool) {
	p, me := z.p, &z.probes[i]
	unit, came := me.Waterings.Unit, p.Param("came_share")
	var rises, sizes, shares []float64
	for _, e := range before {
		if e.came >= came {
			shares = append(shares, e.came)
			if e.strong {
				rises, sizes = append(rises, e.Rise), append(sizes, e.Rise/e.came)
			}
		}
	}
	n, last := len(rises), before[len(before)-1]
	if n < int(p.Param("sibling_answers")) || !last.strong {
		return detect.Finding{}, false
	}
	own := robust.Median(sizes, make([]float64, n))
	full := robust.Median(shares, make([]float64, len(shares)))
	weak := func(e *event) float64 { return max(unit, p.Param("weak_share")*own*e.came) }
	given := 0
	for k := range before {
		if e := &before[k]; e.came >= came && e.Rise > weak(e) {
			given++
		}
	}
	least, _ := robust.Wilson(given, len(shares), p.Param("wilson_z"))
	missed, worst := z.missedAmong(me, before, since, own, full)
	missed = large(missed, p.Param("vouched_share")*secondSmallest(before, unit))
	chance := robust.BinomialTail(len(missed), len(missed), 1-least)
	if float64(given) >= p.Param("reliable_share")*float64(len(shares)) {
		chance = min(chance, z.apart(sizes, own, missed, unit))
	}
	if len(missed) < int(p.Param("min_misses")) || chance > p.Param("max_chance") {
		return detect.Finding{}, false
	}
	fade := (sizes[n-1] + sizes[n-2]) / (2 * own)
	if fade < p.Param("steady_share") || worst > p.Param("break_share")*fade || silence(before, unit) >= int(p.Param("min_misses")) {
		return detect.Finding{}, false
	}
	usual := robust.Median(rises, make([]float64, n))
	most := 0.0
	for k := range missed {
		most = max(most, own*min(missed[k].came, p.Param("more_share")*full))
	}
	if missed[0].Later > max(p.Param("break_share")*max(most, usual), unit) {
		return detect.Finding{}, false // it wetted since: late, or by a storm
	}
	if z.together(i, last.Start, missed) || z.dries(me, missed[0].Start, usual) || !z.notDrier(me, before, missed, usual) {
		return detect.Finding{}, false
	}
	f := z.finding(me, before, missed, usual, max(unit, p.Param("weak_share")*usual), largestOf(since))
	now := make([]float64, len(missed))
	for k, e := range missed {
		now[k] = e.came
	}
	doubt := 0.2 * math.Pow(0.6, float64(len(missed)-2))
	f.Confidence = min(0.97, (1-chance)*(1-doubt))
	f.Evidence += fmt.Sprintf("; its siblings at other posts answered these by %.2f of their usual size, those before by %.2f",
		robust.Median(now, make([]float64, len(now))), full)
	return f, true
}

// missedAmong lists the waterings since that the siblings answered as those before
// and the probe did not, and the largest share of what was expected that came since.
// An answer in full leaves none.
func (z *zone) missedAmong(me *probe, before, since []event, own, full float64) (missed []event, worst float64) {
	p, unit := z.p, me.Waterings.Unit
	plateau := secondPeak(before)
	for _, e := range since {
		if !(e.came >= p.Param("came_share")*max(1, full)) {
			if e.Rise > max(unit, p.Param("weak_share")*own*full) {
				return nil, 1 // it answered what hardly any other did
			}
			continue
		}
		expected := own * min(e.came, p.Param("more_share")*full)
		if e.Level > me.Waterings.Dead {
			expected = min(expected, plateau-e.Level)
		}
		if expected < p.Param("clear_units")*unit {
			if e.Rise > max(unit, p.Param("weak_share")*own*full) {
				return nil, 1
			}
			continue // no room to answer
		}
		worst = max(worst, (e.Rise-unit)/expected)
		switch share := e.Rise / expected; {
		case e.Rise <= unit || share <= p.Param("weak_share"):
			missed = append(missed, e)
		case share > p.Param("steady_share"):
			return nil, 1
		}
	}
	return missed, worst
}

// apart bounds the chance of the misses by how steadily the probe's answers went with
// those of its siblings before: by Cantelli's inequality, which holds for any
// distribution, with all misses taken for one, since what keeps a healthy probe from
// one answer keeps it from the next.
func (z *zone) apart(sizes []float64, own float64, missed []event, unit float64) float64 {
	if len(sizes) < int(z.p.Param("min_answers")) || len(missed) == 0 {
		return 1
	}
	scratch := make([]float64, max(len(sizes), len(missed)))
	logs, drops := make([]float64, len(sizes)), make([]float64, len(missed))
	for i, x := range sizes {
		logs[i] = math.Log(x / own)
	}
	middle, mad := robust.MAD(logs, scratch)
	for i, e := range missed {
		drops[i] = middle - math.Log(max(e.Rise, unit)/(own*e.came))
	}
	n := float64(len(sizes))
	spread := max(z.p.Param("least_spread"), robust.Consistency*mad*math.Sqrt(1+1/n))
	far := robust.Median(drops, scratch) / spread
	if far <= 0 {
		return 1
	}
	return 1 / (1 + far*far)
}

// dries says whether the probe, since its first miss, dried by a whole answer and as
// fast as between the waterings that it answered: then it follows a soil that gets no
// water any more. A block that lost its contact stands, or dries slowly.
func (z *zone) dries(me *probe, lost int64, usual float64) bool {
	var rates []float64
	level, start, fell, days := math.NaN(), int64(0), 0.0, 0.0
	for k := range me.all {
		e := &me.all[k]
		if e.Blind {
			continue
		}
		if k+1 < len(me.all) && e.strong && e.Start < lost && !me.all[k+1].Blind && me.all[k+1].Start > e.Peak {
			next := &me.all[k+1]
			rates = append(rates, (e.Level+e.Rise-next.Level)/(detect.Hours(next.Start-e.Peak)/24))
		}
		if e.Start >= lost {
			if level != level {
				level, start = e.Level, e.Start
			}
			if fell = level - e.Level; e.AtEnd {
				days = detect.Hours(e.Start-start) / 24
				break // it cannot fall any further
			}
			days = detect.Hours(e.Start-start) / 24
		}
	}
	if len(rates) == 0 || days == 0 || fell < usual {
		return false
	}
	return fell/days >= z.p.Param("drying_share")*robust.Median(rates, make([]float64, len(rates)))
}

// together says whether another probe of the same post lost its answers at the same
// watering: then the water no longer comes to the post, and both tell the truth.
func (z *zone) together(i int, lastAnswered int64, missed []event) bool {
	me := &z.probes[i]
	for j := range z.probes {
		one := &z.probes[j]
		if j == i || !samePost(me.Summary, one.Summary) || one.answers < int(z.p.Param("sibling_answers")) {
			continue
		}
		before, answered, silent, heard := 0, 0, 0, 0
		for _, e := range one.counted {
			small := e.Rise <= max(one.Waterings.Unit, z.p.Param("weak_share")*one.usual)
			switch {
			case e.Start <= lastAnswered && e.Start >= lastAnswered-21*detect.Day:
				before++
				if !small {
					answered++
				}
			case e.Start >= missed[0].Start:
				heard++
				if small {
					silent++
				}
			}
		}
		if answered >= 2 && 2*answered > before && heard > 0 && silent == heard {
			return true
		}
	}
	return false
}
