package wrongzone

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
)

// verdict is what was made of a stand.
type verdict struct {
	judged bool   // its onsets were held against a zone that can be told from its own
	other  string // the zone that it answers; empty: its own, as far as can be seen
	alike  []string
	margin float64
	onsets int // that speak
	hits, of,
	own, ofOwn int // at the waterings that only the other zone has, and only its own
}

// against is one probe's comparison of a zone with the registered one.
type against struct {
	logL       float64 // above that of the registered zone, the trials paid
	against    bool    // the registered zone fits clearly better
	onsets     int
	hits, of   int // at waterings of the zone that the registered one does not share
	own, ofOwn int // the other way round
	lag        int64
}

// judge compares every zone with the registered one over the probes of a stand, and
// keeps the one that all of them together fit best.
func (l *look) judge(s *stand) {
	v := &s.says
	margins := map[string]float64{}
	for _, zone := range l.names {
		if zone == s.zone {
			continue
		}
		// Probes of one post answer the same waterings: they are one witness, and the
		// best of them speaks, unless another speaks against it.
		c, probes, against := against{logL: math.Inf(-1)}, 0, false
		for i := range s.probes {
			one := l.compare(&s.probes[i], zone, s.zone)
			if one.of < int(l.p.Param("min_separating")) {
				continue
			}
			v.judged = true
			probes++
			against = against || one.against
			if one.logL > c.logL {
				c = one
			}
		}
		if probes == 0 {
			continue
		}
		c.logL -= math.Log(float64(probes))
		recall, kept := share(c.hits, c.of), share(c.own, c.ofOwn)
		if against || c.logL < l.p.Param("margin") || recall < l.p.Param("min_recall") || kept >= recall {
			continue
		}
		margins[zone] = c.logL
		if c.logL > v.margin {
			v.other, v.margin, v.onsets = zone, c.logL, c.onsets
			v.hits, v.of, v.own, v.ofOwn = c.hits, c.of, c.own, c.ofOwn
		}
	}
	for _, zone := range l.names {
		if m, ok := margins[zone]; ok && zone != v.other && m > v.margin-l.p.Param("tie") {
			v.alike = append(v.alike, zone)
		}
	}
}

func share(k, n int) float64 { return float64(k) / math.Max(1, float64(n)) }

// compare holds a probe's onsets against a zone and against its own, at the size of
// onset that tells the two apart most clearly, whichever it favours.
func (l *look) compare(one *probe, zone, own string) (c against) {
	lags := (l.p.Param("swing_hours")+l.p.Param("max_lag_hours"))/l.p.Param("lag_step_hours") + 1
	trials := math.Log(lags * float64((len(l.names)-1)*len(one.onsets)))
	clearest := -1.0
	for _, onsets := range one.onsets {
		mine := l.best(one, onsets, own, l.p.ParamHours("own_lag_hours"))
		theirs := l.best(one, onsets, zone, l.p.ParamHours("max_lag_hours"))
		apart := theirs.logL - mine.logL
		if math.Abs(apart) <= clearest {
			continue
		}
		clearest = math.Abs(apart)
		c = against{logL: apart - trials, against: apart < -l.p.Param("tie"), onsets: len(onsets), lag: theirs.lag}
		c.hits, c.of = l.recall(one, onsets, theirs.windows, mine.windows)
		c.own, c.ofOwn = l.recall(one, onsets, mine.windows, theirs.windows)
	}
	return c
}

// recall counts the windows that none of the others overlaps and that the probe was
// heard in, and those of them in which it had an onset.
func (l *look) recall(one *probe, onsets []int64, windows, others []detect.Span) (hits, of int) {
	apart := union(slices.Clone(others))
	for _, w := range windows {
		span := []detect.Span{w}
		if common(span, apart) > 0 || float64(common(span, one.heard)) < l.p.Param("covered_share")*float64(w.Length()) {
			continue
		}
		of++
		if slices.ContainsFunc(onsets, w.Holds) {
			hits++
		}
	}
	return hits, of
}

func (l *look) findings() []detect.Finding {
	judged, moved := map[string]int{}, map[string]int{}
	for i := range l.stands {
		s := &l.stands[i]
		if s.says.judged {
			judged[s.zone]++
		}
		if s.says.other != "" {
			moved[s.zone+"\x00"+s.says.other]++
		}
	}
	var out []detect.Finding
	for i := range l.stands {
		if s := &l.stands[i]; s.says.other != "" {
			out = append(out, l.finding(s, judged[s.zone], moved[s.zone+"\x00"+s.says.other]))
		}
	}
	return out
}

// finding of a stand; judged and moved count the stands of its zone, and those of
// them that answer the same other zone.
func (l *look) finding(s *stand, judged, moved int) detect.Finding {
	start := l.whole.End - 1
	for i := range s.probes {
		start = min(start, s.probes[i].First.V)
	}
	f := detect.Finding{
		Start: max(l.whole.Start, start), End: l.whole.End, Open: true, Probes: slices.Sorted(slices.Values(s.all)), Readings: s.says.onsets,
		Measured: s.says.margin, Threshold: l.p.Param("margin"), Unit: "ln of the likelihood ratio",
	}
	if len(s.says.alike) == 0 {
		for _, probe := range f.Probes {
			f.Amends = append(f.Amends, detect.Amend{Probe: probe, Column: "zone", Value: s.says.other})
		}
	}
	prior := l.p.Param("prior")
	f.Confidence = math.Min(0.95, 1/(1+(1-prior)/prior*math.Exp(-s.says.margin)))
	fits := "zone " + s.says.other
	if len(s.says.alike) > 0 {
		fits += " (or " + strings.Join(s.says.alike, ", ") + ", which fit nearly as well)"
	}
	f.Evidence = fmt.Sprintf("%s is registered in zone %s and answers %s: of the waterings that only zone %s had, %d of %d were answered by its clearest probe, of those that only zone %s had, %d of %d; its onsets are e^%.1f times likelier so",
		s.post, s.zone, fits, s.says.other, s.says.hits, s.says.of, s.zone, s.says.own, s.says.ofOwn, s.says.margin)
	if moved > 1 && 2*moved > judged {
		f.Confidence, f.Amends = math.Min(f.Confidence, 0.6), nil
		f.Evidence += fmt.Sprintf("; so do %d of %d posts of the zone: rather, the log of waterings has the two zones swapped", moved, judged)
	}
	return f
}
