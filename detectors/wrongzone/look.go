package wrongzone

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// look is one look at the farm.
type look struct {
	p      *detect.GroupPass
	whole  detect.Span
	names  []string                  // of the zones with a log, sorted
	events map[string][]detect.Water // by zone, pulses joined, within the period
	rain   []detect.Span             // when rain may be answered, sorted, disjoint
	stands []stand
}

// stand is the probes of one post that the register puts in one zone.
type stand struct {
	post, zone string
	all        []int // places of its probes
	probes     []probe
	says       verdict
}

// probe is one with enough onsets to be compared.
type probe struct {
	*detect.Summary
	onsets [][]int64     // by size step, without those that rain may have brought; few first
	heard  []detect.Span // when it could have had one: sorted, disjoint
}

func newLook(p *detect.GroupPass) *look {
	l := &look{p: p, whole: p.Period().Whole(), events: map[string][]detect.Water{}}
	merge := p.ParamHours("merge_hours")
	for name, log := range p.Zones() {
		for _, w := range detect.Spells(log, merge) {
			if l.whole.Holds(w.Start) {
				l.events[name] = append(l.events[name], w)
			}
		}
		l.names = append(l.names, name)
	}
	slices.Sort(l.names)
	for _, r := range detect.Heavy(detect.Spells(p.Rain(), merge), p.Param("rain_mm")) {
		l.rain = append(l.rain, detect.Span{Start: r.Start - p.ParamHours("early_hours"), End: r.End + p.ParamHours("rain_hours")})
	}
	l.rain = union(l.rain)
	members := p.Members()
	for i := range members {
		m := &members[i]
		if m.Probe.Post == "" || m.Probe.Zone == "" || !m.Probe.Moisture() {
			continue
		}
		if _, logged := p.Zones()[m.Probe.Zone]; !logged {
			continue
		}
		k := slices.IndexFunc(l.stands, func(s stand) bool { return s.post == m.Probe.Post && s.zone == m.Probe.Zone })
		if k < 0 {
			k = len(l.stands)
			l.stands = append(l.stands, stand{post: m.Probe.Post, zone: m.Probe.Zone})
		}
		s := &l.stands[k]
		s.all = append(s.all, m.Probe.Index)
		if one := l.study(m); len(one.onsets) > 0 {
			s.probes = append(s.probes, one)
		}
	}
	slices.SortFunc(l.stands, func(a, b stand) int {
		return cmp.Or(cmp.Compare(a.post, b.post), cmp.Compare(a.zone, b.zone))
	})
	return l
}

// study takes a probe's onsets that matter.
func (l *look) study(m *detect.Summary) probe {
	one := probe{Summary: m}
	var rises []float64
	for _, w := range m.Wettings {
		if !m.Stood(detect.Span{Start: w.Onset, End: w.Peak}) {
			rises = append(rises, w.Rise)
		}
	}
	if len(rises) == 0 {
		return one
	}
	least := l.p.Param("large_share") * robust.Quantile(rises, make([]float64, len(rises)), 0.9)
	blind := slices.Clone(l.rain)
	for _, h := range m.Silences {
		blind = append(blind, h.Span)
	}
	for _, e := range m.Excursions {
		blind = append(blind, e.Span)
	}
	one.heard = without(detect.Span{Start: m.First.V, End: m.Last.V}, union(blind))
	for step := 0; step < int(l.p.Param("size_steps")); step++ {
		var onsets []int64
		for _, w := range m.Wettings {
			if w.Rise >= least && holds(one.heard, w.Onset) && w.Onset > m.First.V && !m.Stood(detect.Span{Start: w.Onset, End: w.Peak}) {
				onsets = append(onsets, w.Onset)
			}
		}
		if least /= 2; len(onsets) >= int(l.p.Param("min_onsets")) {
			one.onsets = append(one.onsets, onsets)
		}
	}
	return one
}

// union sorts spans and joins those that touch; it writes into what it is given.
func union(spans []detect.Span) []detect.Span {
	slices.SortFunc(spans, func(a, b detect.Span) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End))
	})
	out := spans[:0]
	for _, s := range spans {
		if n := len(out); n > 0 && s.Start <= out[n-1].End {
			out[n-1].End = max(out[n-1].End, s.End)
		} else {
			out = append(out, s)
		}
	}
	return out
}

// without is what a span keeps outside of others, which are sorted and disjoint.
func without(s detect.Span, others []detect.Span) []detect.Span {
	var out []detect.Span
	for _, o := range others {
		if o.End <= s.Start || o.Start >= s.End {
			continue
		}
		if o.Start > s.Start {
			out = append(out, detect.Span{Start: s.Start, End: o.Start})
		}
		s.Start = o.End
	}
	if s.Start < s.End {
		out = append(out, s)
	}
	return out
}

func holds(spans []detect.Span, t int64) bool {
	return slices.ContainsFunc(spans, func(s detect.Span) bool { return s.Holds(t) })
}

func length(spans []detect.Span) int64 {
	n := int64(0)
	for _, s := range spans {
		n += s.Length()
	}
	return n
}

// common is the length that two sorted, disjoint lists share.
func common(a, b []detect.Span) int64 {
	n := int64(0)
	for i, j := 0, 0; i < len(a) && j < len(b); {
		n += a[i].Overlap(b[j]).Length()
		if a[i].End < b[j].End {
			i++
		} else {
			j++
		}
	}
	return n
}

// fit is how well a zone's waterings explain a probe's onsets at one lag.
type fit struct {
	logL    float64 // over onsets that fall anywhere
	lag     int64
	windows []detect.Span // by watering, not joined
}

// windows in which a zone's waterings are answered at a lag.
func (l *look) windows(zone string, lag int64) []detect.Span {
	early, width := l.p.ParamHours("early_hours"), l.p.ParamHours("window_hours")
	var out []detect.Span
	for _, w := range l.events[zone] {
		out = append(out, detect.Span{Start: w.Start + lag - early, End: w.Start + lag + width})
	}
	return out
}

// best tries the lags from half a day's swing before the valve up to a longest. The likelihood is that of onsets of which a
// share falls into the windows and the rest anywhere else, against all anywhere; a
// share no larger than that of the time is no fit.
func (l *look) best(one *probe, onsets []int64, zone string, longest int64) fit {
	top := fit{logL: -1}
	time := float64(length(one.heard))
	for lag := -l.p.ParamHours("swing_hours"); lag <= longest; lag += max(detect.Hour, l.p.ParamHours("lag_step_hours")) {
		windows := l.windows(zone, lag)
		joined := union(slices.Clone(windows))
		in, n := 0, len(onsets)
		for _, t := range onsets {
			if holds(joined, t) {
				in++
			}
		}
		cover := float64(common(one.heard, joined)) / math.Max(1, time)
		share := (float64(in) + 0.5) / float64(n+1)
		logL := 0.0
		if cover > 0 && cover < 1 && share > cover {
			logL = float64(in)*math.Log(share/cover) + float64(n-in)*math.Log((1-share)/(1-cover))
		}
		if logL > top.logL {
			top = fit{logL, lag, windows}
		}
	}
	return top
}
