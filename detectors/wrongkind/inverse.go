package wrongkind

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
)

// How an answer is looked at.
const (
	inverseBin   = 3 * detect.Hour  // readings are averaged over so long
	inverseWait  = 36 * detect.Hour // a front needs up to a day and a half
	inverseMerge = 6 * detect.Hour
)

// turned counts how a series in ohms or kPa answers water.
type turned struct {
	seen, wrong, right int
	first              int64   // start of the first water that was answered the wrong way
	size               float64 // of the largest wrong answer, in the standard unit
}

// inverse says whether the readings go the wrong way at water at once, and slowly back
// until the next. Tension and resistance fall where water comes; water content, and the
// volts of a probe of it, rise.
func (l *look) inverse() (detect.Finding, bool) {
	p := l.p
	if !p.Has(detect.NeedIrrigation) {
		return detect.Finding{}, false
	}
	// Cheap before dear: what can be percents or volts of water content spreads little.
	l.measure(l.from)
	if p.Quantity() != detect.WaterContent && l.high > p.Param("inverse_spread")*l.low {
		return detect.Finding{}, false
	}
	c := l.turns()
	if c.wrong < int(p.Param("inverse_answers")) || float64(c.wrong) < p.Param("inverse_share")*float64(c.seen) || c.right > c.wrong/8 {
		return detect.Finding{}, false
	}
	if l.skew() > -p.Param("inverse_skew") {
		return detect.Finding{}, false
	}
	l.measure(0)
	f := l.finding(0, "", 1)
	f.Confidence = 0.85
	f.Measured, f.Threshold, f.Unit = float64(c.wrong), p.Param("inverse_answers"), "waterings"
	like, way, back := "a probe of water content does", "rose", "down"
	if p.Quantity() == detect.WaterContent {
		like, way, back = "tension and resistance do", "fell", "up"
	} else if p.Quantity() == detect.Tension && l.low >= 100*p.Param("least_fraction") && l.high <= 100*p.Param("most_fraction") {
		like = "percents of water do"
		f.Amends = []detect.Amend{{Probe: p.Place(), Column: "kind", Value: string(detect.Dielectric)}, {Probe: p.Place(), Column: "unit", Value: "%"}}
	}
	f.Evidence = fmt.Sprintf("registered as %s in %s, and it answers water the wrong way: at %d of %d waterings since %s the readings %s at once, by up to %.3g %s, and went %s again until the next, as %s",
		p.Kind(), p.Unit(), c.wrong, c.seen, detect.Stamp(c.first), way, c.size, p.Quantity().Unit(), back, like)
	return f, true
}

// turns looks at every watering of the zone that no rain blurs.
func (l *look) turns() (c turned) {
	p := l.p
	q := p.Quantity()
	waters := detect.Spells(p.Irrigation(), inverseMerge)
	for k, w := range waters {
		until := p.Period().Window.End
		if k+1 < len(waters) {
			until = waters[k+1].Start
		}
		if k > 0 && w.Start-waters[k-1].End < inverseWait || until-w.End < inverseWait || l.rained(w.Start-inverseWait, w.End+inverseWait) {
			continue
		}
		before, okBefore := l.mean(w.Start-inverseBin, w.Start)
		day, okDay := l.mean(w.Start-detect.Day-inverseBin, w.Start-detect.Day)
		later, okLater := l.mean(until-inverseBin, until)
		if !okBefore || !okDay || !okLater {
			continue
		}
		low, high := before, before
		for t := w.Start; t < w.End+inverseWait; t += inverseBin {
			m, ok := l.mean(t, t+inverseBin)
			if !ok {
				continue
			}
			low, high = min(low, m), max(high, m)
		}
		// What a day without water does: its drying, its swing, its noise.
		usual := max(day-before, l.swing(w.Start)-math.Abs(before-day), p.Scale(q.Dryness(before)))
		fell, rose := before-low, high-before
		switch {
		case rose > 2*usual && rose > fell:
			c.right++
			c.seen++
		case fell > 2*usual:
			c.seen++
			if back := later - low; rose < 0.5*fell && back > p.Param("inverse_return")*fell {
				c.wrong++
				if c.first == 0 {
					c.first = w.Start
				}
				c.size = max(c.size, math.Abs(q.Dryness(low)-q.Dryness(before)))
			}
		}
	}
	return c
}

// skew says which way the series goes fast, from -1 to 1: soil wets fast and dries
// slowly, whoever's water it answers, and its skew is positive.
func (l *look) skew() float64 {
	var sum, all, last float64
	for t, has := l.t[0], false; t <= l.t[len(l.t)-1]; t += inverseBin {
		m, ok := l.mean(t, t+inverseBin)
		if ok && has {
			d := m - last
			sum += d * d * d
			all += math.Abs(d * d * d)
		}
		last, has = m, ok
	}
	if all == 0 {
		return 0
	}
	return sum / all
}

// swing is the range of the means over the day before an instant.
func (l *look) swing(t int64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for from := t - detect.Day; from < t; from += inverseBin {
		if m, ok := l.mean(from, from+inverseBin); ok {
			low, high = min(low, m), max(high, m)
		}
	}
	return max(0, high-low)
}

func (l *look) rained(from, to int64) bool {
	if !l.p.Has(detect.NeedRain) {
		return false
	}
	for _, r := range l.p.Rain() {
		if r.Start < to && r.End > from && (!r.MM.OK || r.MM.V >= 2) {
			return true
		}
	}
	return false
}

// mean wetness of the readings in a span; false where there is none.
func (l *look) mean(from, to int64) (float64, bool) {
	i, j := l.p.From(from), l.p.From(to)
	if i == j {
		return 0, false
	}
	q, sum := l.p.Quantity(), 0.0
	for _, v := range l.v[i:j] {
		sum += q.Wetness(v)
	}
	return sum / float64(j-i), true
}
