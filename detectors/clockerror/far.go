package clockerror

import (
	"fmt"

	"probeward/detectors/detect"
)

// far are the findings of stamps that cannot be.
func (l *look) far() []event {
	var out []event
	for i := range l.files {
		f := &l.files[i]
		for k := 0; k < len(f.Segments); {
			if !f.bad[k] {
				k++
				continue
			}
			j := k
			for j < len(f.Segments) && f.bad[j] {
				j++
			}
			if one, ok := l.place(f, k, j); ok {
				out = append(out, event{one, f.File})
			}
			k = j
		}
	}
	return out
}

// place finds the true time from which the readings of the segments k to j of a
// file are missing.
func (l *look) place(f *file, k, j int) (detect.Finding, bool) {
	first, last := f.Segments[k], f.Segments[j-1]
	rows, length := 0, int64(0)
	for _, s := range f.Segments[k:j] {
		rows += s.Rows
		length += s.Last - s.First + f.Cadence
	}
	one := detect.Finding{Readings: rows, Unit: "h", Confidence: 0.97}
	text := ""
	switch before, after := k > 0, j < len(f.Segments); {
	case before:
		a := f.Segments[k-1]
		one.Start = a.Last + f.Cadence
		one.Measured = detect.Hours(first.First - a.Last)
		text = fmt.Sprintf("%s line %d: the stamp jumps by %+.0f h, %s to %s, and stays for %d rows", f.File, first.FromLine,
			one.Measured, detect.Stamp(a.Last), detect.Stamp(first.First), rows)
		next, ok := l.next(a.Last)
		if after {
			b := f.Segments[j]
			text += fmt.Sprintf(", until line %d jumps by %+.0f h to %s", b.FromLine, detect.Hours(b.First-last.Last), detect.Stamp(b.First))
			if b.First > a.Last && (!ok || b.First < next) {
				next, ok = b.First, true
			}
		} else {
			text += fmt.Sprintf(", to the file's end at line %d (%s)", last.ToLine, detect.Stamp(last.Last))
		}
		if !ok {
			next, one.Open = l.whole.End, true
		}
		one.End = next
	case after:
		b := f.Segments[j]
		one.Measured = detect.Hours(b.First - last.Last)
		text = fmt.Sprintf("%s lines %d to %d stand at %s to %s, and line %d jumps by %+.0f h to %s", f.File, first.FromLine, last.ToLine,
			detect.Stamp(first.First), detect.Stamp(last.Last), b.FromLine, one.Measured, detect.Stamp(b.First))
		one.Start, one.End = b.First-length, b.First
		for _, s := range l.good {
			if s.Start < b.First {
				one.Start = max(one.Start, min(s.End, b.First))
			}
		}
		if f.Segments[j].First > l.whole.Start && one.Start < l.whole.Start {
			one.Start = l.whole.Start
		}
	default:
		one.Confidence = 0.9
		one.Measured = detect.Hours(first.First - l.farm.Start)
		text = fmt.Sprintf("%s: all of its %d rows, lines %d to %d, stand at %s to %s", f.File, rows, first.FromLine, last.ToLine,
			detect.Stamp(first.First), detect.Stamp(last.Last))
		h, ok := l.hole(length)
		switch {
		case ok:
			one.Start, one.End = h.Start, h.End
			text += fmt.Sprintf("; as much is missing from %s on: the clock was off by about %+.0f h", detect.Stamp(h.Start), detect.Hours(first.First-h.Start))
			one.Measured = detect.Hours(first.First - h.Start)
		case len(l.good) == 0:
			one.Start, one.End, one.Confidence = l.whole.Start, l.whole.End, 0.8
			text += "; no file of this logger has a stamp that can be"
		default:
			return one, false // right stamps cover the period
		}
		one.Open = one.End >= l.whole.End
	}
	one.Threshold = 24 * l.p.Param("outside")
	switch {
	case l.rerun(f, k):
		one.Confidence, one.Threshold = 0.6, l.p.Param("zone_hours")
		text += "; all of it was passed before, and as much true time is missing after"
	case l.firm:
		text += fmt.Sprintf("; the farm's %d loggers report from %s to %s", l.loggers, detect.Stamp(l.farm.Start), detect.Stamp(l.farm.End))
	default:
		one.Confidence, one.Threshold = 0.5, l.p.Param("sure_leap")
		text += fmt.Sprintf("; the farm has too few loggers (%d) to say which side is right", l.loggers)
	}
	one.Evidence = text
	return one, true
}

// rerun says whether a bad segment lies within the farm's span or the period.
func (l *look) rerun(f *file, k int) bool {
	at := l.whole
	if l.firm {
		at = detect.Span{Start: min(at.Start, l.farm.Start), End: max(at.End, l.farm.End)}
	}
	s := f.Segments[k]
	return at.Overlap(detect.Span{Start: s.First, End: s.Last + 1}).Length() > 0
}
