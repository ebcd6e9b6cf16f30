package clockerror

import (
	"cmp"
	"slices"

	"probeward/detectors/detect"
)

// classify marks the segments whose stamps cannot be.
func (l *look) classify() {
	if !l.firm {
		l.leaps()
		return
	}
	margin := l.span("outside", detect.Day)
	pilot := l.span("early_years", 365*detect.Day)
	for i := range l.files {
		f := &l.files[i]
		for k, s := range f.Segments {
			switch {
			case s.First > l.farm.End+margin:
				f.bad[k] = true
			case s.Last < l.farm.Start-margin:
				// Early: far off, or written after what is later.
				f.bad[k] = s.Last < l.farm.Start-pilot || k > 0 && f.Segments[k-1].Last > s.Last
			}
		}
	}
	// An early segment of its own may be a pilot's, unless its length is missing.
	l.cover()
	for i := range l.files {
		f := &l.files[i]
		for k, s := range f.Segments {
			if !f.bad[k] && s.Last < l.farm.Start-margin {
				_, f.bad[k] = l.hole(s.Last - s.First)
			}
		}
	}
}

// leaps marks, in a farm too small to be held against, segments that a leap within
// their file puts far outside of the period.
func (l *look) leaps() {
	margin, leap := l.span("outside", detect.Day), l.span("sure_leap", detect.Hour)
	away := func(s detect.Segment) bool {
		return s.First > l.whole.End+margin || s.Last < l.whole.Start-margin
	}
	for i := range l.files {
		f := &l.files[i]
		for k := range f.Segments {
			if k == 0 {
				continue
			}
			a, b := f.Segments[k-1], f.Segments[k]
			if d := b.First - a.Last; d < leap && d > -leap {
				continue
			}
			if away(a) != away(b) {
				f.bad[k-1], f.bad[k] = f.bad[k-1] || away(a), f.bad[k] || away(b)
			}
		}
	}
}

// reruns marks segments at which the clock went back and ran through the past again:
// all their stamps were passed before, and as much true time is missing after.
func (l *look) reruns() {
	zone, least := l.span("zone_hours", detect.Hour), l.span("least_rerun", detect.Hour)
	share := l.p.Param("missing_share")
	for i := range l.files {
		f := &l.files[i]
		for k := 1; k < len(f.Segments); k++ {
			a, s := f.Segments[k-1], f.Segments[k]
			length := s.Last - s.First
			if f.bad[k] || f.bad[k-1] || a.Last-s.First <= zone || s.Last > a.Last || s.First < a.First || length < least {
				continue
			}
			l.coverBut(i, k)
			next, ok := l.next(a.Last)
			if !ok {
				next = l.whole.End
			}
			f.bad[k] = float64(next-a.Last) >= share*float64(length)
		}
	}
}

// cover draws what good stamps cover.
func (l *look) cover() { l.coverBut(-1, -1) }

func (l *look) coverBut(i, k int) {
	l.good = l.good[:0]
	for a := range l.files {
		f := &l.files[a]
		for b, s := range f.Segments {
			if !f.bad[b] && (a != i || b != k) {
				l.good = append(l.good, detect.Span{Start: s.First, End: s.Last + max(1, f.Cadence)})
			}
		}
	}
	l.good = union(l.good)
}

// next is the first good stamp after one.
func (l *look) next(t int64) (int64, bool) {
	for _, s := range l.good {
		if s.End > t+1 && s.Start > t {
			return s.Start, true
		}
		if s.Start <= t && t < s.End-1 && s.End-t > 2*l.step() {
			return t, true // it goes on at once
		}
	}
	return 0, false
}

// step is the largest of the files' steps.
func (l *look) step() (most int64) {
	for i := range l.files {
		most = max(most, l.files[i].Cadence)
	}
	return most
}

// hole is the stretch without good stamps, while the register has probes at the
// logger, within the farm's span and the period, that a segment of such a length may
// have come from: the first that is long enough.
func (l *look) hole(length int64) (detect.Span, bool) {
	least := max(int64(l.p.Param("missing_share")*float64(length)), 3*l.step())
	for _, at := range l.due() {
		if l.firm {
			at = at.Overlap(l.farm)
		}
		from := at.Start
		for _, s := range append(slices.Clone(l.good), detect.Span{Start: at.End, End: at.End}) {
			h := detect.Span{Start: from, End: min(s.Start, at.End)}
			if h.Length() >= least {
				return h, true
			}
			from = max(from, s.End)
		}
	}
	return detect.Span{}, false
}

// due is when the register has any probe at the logger, within the period; all of
// it, where the register says nothing.
func (l *look) due() []detect.Span {
	var all []detect.Span
	for _, m := range l.p.Members() {
		for _, w := range m.Probe.Wirings {
			if s := w.Span.Overlap(l.whole); w.Logger == l.p.Name() && s.Start < s.End {
				all = append(all, s)
			}
		}
	}
	if len(all) == 0 {
		return []detect.Span{l.whole}
	}
	return union(all)
}

// union sorts spans and joins those that touch or overlap.
func union(spans []detect.Span) []detect.Span {
	slices.SortFunc(spans, func(x, y detect.Span) int {
		return cmp.Or(cmp.Compare(x.Start, y.Start), cmp.Compare(x.End, y.End))
	})
	out := spans[:0]
	for _, s := range spans {
		if n := len(out); n > 0 && s.Start <= out[n-1].End {
			out[n-1].End = max(out[n-1].End, s.End)
			continue
		}
		out = append(out, s)
	}
	return out
}
