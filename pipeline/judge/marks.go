package judge

import (
	"cmp"
	"slices"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// item is a stretch that one finding, or a person, flags.
type item struct {
	detect.Span
	flag       schemas.Flag
	bits       int64
	confidence float64
	person     bool // an override asks for the exclusion
}

// segment is a stretch in which the same items hold, rolled up.
type segment struct {
	Mark
	fail, suspect         int64 // bits by the flag that they ask for
	failSure, suspectSure float64
	person                bool
}

// mark rolls a probe's findings up to disjoint segments, sorted.
func (w *work) mark(probe int) []segment {
	spared := append(w.spansOf(probe, Accept), w.spansOf(probe, Ignore)...)
	items := w.items(probe, union(spared))
	if !w.enough(probe) {
		// What nobody could examine is no pass; a person's acceptance makes it one.
		for _, s := range without(nil, w.in.Period.Whole(), w.spansOf(probe, Accept)) {
			items = append(items, item{Span: s, flag: schemas.FlagNotEvaluated})
		}
	}
	for _, s := range w.spansOf(probe, Exclude) {
		items = append(items, item{Span: s, flag: schemas.FlagFail, confidence: 1, person: true})
	}
	return sweep(items)
}

// items are what a probe's findings flag, masked ones too, outside of the spared
// spans.
func (w *work) items(probe int, spared []detect.Span) []item {
	var items []item
	var rest []detect.Span
	whole := w.in.Period.Whole()
	for k := range w.touches[probe] {
		at := w.touches[probe][k].finding
		f := &w.out.Findings[at]
		if w.sparing[at] {
			continue
		}
		add := func(s detect.Span, flag schemas.Flag) {
			if flag != schemas.FlagSuspect && flag != schemas.FlagFail {
				return // true readings keep their pass, and missing ones are not there to be flagged
			}
			spans := []detect.Span{s}
			if f.Subject == schemas.SubjectLogger {
				spans = wiredTo(&w.in.Probes[probe], f.Name, s)
			}
			for _, s := range spans {
				rest = without(rest[:0], s.Overlap(whole), spared)
				for _, r := range rest {
					items = append(items, item{Span: r, flag: flag, bits: 1 << schemas.FaultBit(f.Fault), confidence: f.Confidence})
				}
			}
		}
		if len(f.Parts) == 0 {
			add(detect.Span{Start: f.ExcludeFrom, End: f.End}, f.Flag)
			continue
		}
		add(detect.Span{Start: f.ExcludeFrom, End: f.Start}, f.Flag)
		for i := 0; i < len(f.Parts); {
			s, flag := f.Parts[i].Span, f.Parts[i].Flag
			for i++; i < len(f.Parts) && f.Parts[i].Flag == flag && f.Parts[i].Start <= s.End; i++ {
				s.End = max(s.End, f.Parts[i].End)
			}
			add(s, flag)
		}
	}
	return items
}

// sweep rolls items up: at every instant the worst flag by severity, the bits of
// all, and the highest confidence of those that give the flag. Equal neighbours
// are joined. The cost is n log n for n items, times how many hold at once.
func sweep(items []item) []segment {
	type edge struct {
		at   int64
		item int
		open bool
	}
	edges := make([]edge, 0, 2*len(items))
	for i := range items {
		if items[i].End > items[i].Start {
			edges = append(edges, edge{items[i].Start, i, true}, edge{items[i].End, i, false})
		}
	}
	slices.SortFunc(edges, func(a, b edge) int { return cmp.Compare(a.at, b.at) })
	var out []segment
	var active []int
	for i := 0; i < len(edges); {
		at := edges[i].at
		for ; i < len(edges) && edges[i].at == at; i++ {
			if edges[i].open {
				active = append(active, edges[i].item)
			} else if k := slices.Index(active, edges[i].item); k >= 0 {
				active[k] = active[len(active)-1]
				active = active[:len(active)-1]
			}
		}
		if len(active) == 0 || i == len(edges) {
			continue
		}
		s := rollUp(items, active)
		s.Span = detect.Span{Start: at, End: edges[i].at}
		if n := len(out); n > 0 && joins(&out[n-1], &s) {
			out[n-1].End = s.End
			continue
		}
		out = append(out, s)
	}
	return out
}

// rollUp combines the items that hold at one instant.
func rollUp(items []item, active []int) (s segment) {
	s.Flag = schemas.FlagNotEvaluated
	for _, i := range active {
		it := &items[i]
		if it.flag.Severity() > s.Flag.Severity() {
			s.Flag = it.flag
		}
		s.Bits |= it.bits
		s.person = s.person || it.person
		switch it.flag {
		case schemas.FlagFail:
			s.fail |= it.bits
			s.failSure = max(s.failSure, it.confidence)
		case schemas.FlagSuspect:
			s.suspect |= it.bits
			s.suspectSure = max(s.suspectSure, it.confidence)
		}
	}
	switch s.Flag {
	case schemas.FlagFail:
		s.Confidence = s.failSure
	case schemas.FlagSuspect:
		s.Confidence = s.suspectSure
	}
	return s
}

// joins says whether b follows on a and differs from it in nothing but its span.
func joins(a, b *segment) bool {
	c := *b
	c.Span = a.Span
	return a.End == b.Start && *a == c
}

// exclude makes exclusions of one probe's segments: those that touch are joined.
func (w *work) exclude(probe int, segments []segment) {
	var bits int64
	var person bool
	flush := func() {
		if n := len(w.out.Exclusions); n > 0 && w.out.Exclusions[n-1].Reasons == nil {
			w.out.Exclusions[n-1].Reasons = reasons(bits, person)
		}
		bits, person = 0, false
	}
	for i := range segments {
		s := &segments[i]
		asks, sure := s.fail, s.failSure
		if w.in.ExcludeSuspect {
			asks, sure = s.fail|s.suspect, max(s.failSure, s.suspectSure)
		}
		if s.Flag != schemas.FlagFail && (s.Flag != schemas.FlagSuspect || !w.in.ExcludeSuspect) {
			continue
		}
		n := len(w.out.Exclusions)
		if n > 0 && w.out.Exclusions[n-1].Reasons == nil && w.out.Exclusions[n-1].End == s.Start {
			e := &w.out.Exclusions[n-1]
			e.End = s.End
			e.Confidence = max(e.Confidence, sure)
			if s.Flag.Severity() > e.Flag.Severity() {
				e.Flag = s.Flag
			}
		} else {
			flush()
			w.out.Exclusions = append(w.out.Exclusions, Exclusion{Probe: probe, Span: s.Span, Flag: s.Flag, Confidence: sure})
		}
		bits |= asks
		person = person || s.person
	}
	flush()
}

// reasons names the faults of a set of bits, a person's word before them.
func reasons(bits int64, person bool) []string {
	out := []string{}
	if person {
		out = append(out, "override")
	}
	for i, f := range schemas.Faults() {
		if bits&(1<<i) != 0 {
			out = append(out, f.Name)
		}
	}
	return out
}
