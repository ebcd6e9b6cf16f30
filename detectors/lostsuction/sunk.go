package lostsuction

import (
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
)

// sunk is a tail of days in which a tensiometer was wetter all along than it had
// ever been in the weeks before: it leaks, and dries less at each turn, or its column
// broke and passes on a part of the tension.
type sunk struct {
	high, low int     // places in days: the last of the time before, the first of the tail
	driest    float64 // kPa, of the tail
	wettest   float64 // kPa, of the time before
}

// sinks finds the tail that reaches the newest day and lies furthest below the time
// before.
func (z *zone) sinks(m *member) (s sunk, ok bool) {
	p := z.p
	stay, history := int(p.Param("stay_days")), int(p.Param("history_days"))
	way, span := int64(p.Param("sink_days")*float64(detect.Day)), int64(p.Param("before_days")*float64(detect.Day))
	n := len(m.days)
	driest := 0.0
	for low := n - 1; low > history; low-- {
		driest = max(driest, m.days[low].Median)
		if n-low < stay {
			continue
		}
		// The fall itself lies between; the time before ends where it begins.
		for high := low - 1; high+1 >= history && m.days[low].Start-m.days[high].Start <= way; high-- {
			wettest, days := math.Inf(1), 0
			for i := high; i >= 0 && m.days[high].Start-m.days[i].Start < span; i-- {
				wettest = min(wettest, m.days[i].Median)
				days++
			}
			if days < history || wettest < p.Param("sink_ratio")*driest || wettest-driest < 2*gauge {
				continue
			}
			sudden := m.days[low].Start-m.days[high].Start <= int64(p.Param("sudden_days")*float64(detect.Day))+detect.Day
			if driest > p.Param("sink_kpa") && (wettest < p.Param("sink_far")*driest || !sudden && m.days[n-1].Median > p.Param("from_kpa")) {
				continue
			}
			if !ok || wettest*s.driest > s.wettest*driest {
				s, ok = sunk{high: high, low: low, driest: driest, wettest: wettest}, true
			}
			break
		}
	}
	return s, ok
}

// judgeSunk asks the neighbours whether they were wetter than ever, too.
func (z *zone) judgeSunk(m *member, s sunk) (detect.Finding, bool) {
	p := z.p
	tail := m.days[s.low:]
	length := tail[len(tail)-1].Start - tail[0].Start
	asked, wetter, beside, empty := 0, 0, 0, false
	explains := p.Param("sink_explains") * (math.Log(math.Max(s.wettest, 1)) - math.Log(math.Max(s.driest, 1)))
	var shifts []float64
	for i := range z.members {
		o := &z.members[i]
		if o.Probe.Index == m.Probe.Index || z.deeper(o, m) {
			continue
		}
		if z.mayBeEmpty(o) {
			empty = empty || o.Probe.Post == m.Probe.Post
			continue
		}
		now, before, ok := o.driestThrough(tail[0].Start, m.days[s.high].Start, length, int(p.Param("history_days")))
		if !ok {
			continue
		}
		asked++
		least := explains
		if o.Probe.Quantity == detect.WaterContent {
			least = p.Param("sink_explains") * p.Param("shared_water_content") / p.Param("shared")
		}
		if now-before > least {
			wetter++
			if o.Probe.Post == m.Probe.Post {
				return detect.Finding{}, false // what reached the post is water
			}
		}
		if o.Probe.Post == m.Probe.Post {
			beside++
		}
		shifts = append(shifts, now-before)
	}
	if empty && beside == 0 {
		return detect.Finding{}, false // nobody at the post tells two empty tubes from water
	}
	if asked < int(p.Param("sink_neighbours")) || float64(wetter) > p.Param("sink_share")*float64(asked) {
		return detect.Finding{}, false
	}
	slices.Sort(shifts)
	start := z.onset(m, fall{high: s.high, low: s.low})
	f := detect.Finding{
		Start: start, End: p.Period().Window.End, Open: true, Confidence: 0.85,
		Measured: s.driest, Threshold: s.wettest / p.Param("sink_ratio"), Unit: "kPa", Probes: []int{m.Probe.Index},
	}
	if beside > 0 && wetter == 0 {
		f.Confidence = 0.9
	}
	for _, d := range tail {
		f.Readings += d.Readings
	}
	f.Evidence = fmt.Sprintf("sank from %s on, and in %d days since it never dried beyond %.1f kPa, while it had never been wetter than %.1f kPa in the weeks before; of %d neighbours as deep or shallower %d were wetter than ever in that time",
		detect.Stamp(start), len(tail), s.driest, s.wettest, asked, wetter)
	return f, true
}

// mayBeEmpty says whether a neighbour is a tensiometer that stands near zero as well:
// it may have lost its own water, and is no witness.
func (z *zone) mayBeEmpty(o *member) bool {
	n, stay := len(o.days), int(z.p.Param("stay_days"))
	return o.Probe.Kind == detect.Tensiometer && n > stay &&
		!slices.ContainsFunc(o.days[n-stay:], func(d detect.DayLevel) bool { return d.Median > z.p.Param("near_zero") }) && !z.alwaysWet(o)
}

// driestThrough is the least wetness of a member's days from an instant on, and the
// greatest such value in earlier stretches as long, up to another instant. False
// where it was not heard for most of the days, or over fewer earlier stretches than a
// history has days.
func (m *member) driestThrough(from, before, length int64, history int) (now, most float64, ok bool) {
	now, most = math.Inf(1), math.Inf(-1)
	days := 0
	for i, d := range m.days {
		if d.Start >= from && d.Start <= from+length {
			now = min(now, m.w[i])
			days++
		}
	}
	need := int(length/detect.Day)/2 + 1
	if days < need {
		return 0, 0, false
	}
	days = 0
	for i := range m.days {
		if m.days[i].Start+length > before {
			break
		}
		least, k := math.Inf(1), 0
		for j := i; j < len(m.days) && m.days[j].Start <= m.days[i].Start+length; j++ {
			least = min(least, m.w[j])
			k++
		}
		if k >= need {
			most = max(most, least)
			days++
		}
	}
	return now, most, days >= history
}
