package publish

import (
	"cmp"
	"time"

	"probeward/detectors/detect"
)

// without gives what of a (disjoint, sorted) lies outside b (likewise).
func without(a, b []detect.Span) (out []detect.Span) {
	for _, s := range a {
		for _, o := range b {
			if o.End <= s.Start || o.Start >= s.End {
				continue
			}
			if o.Start > s.Start {
				out = append(out, detect.Span{Start: s.Start, End: o.Start})
			}
			s.Start = o.End
			if s.Length() == 0 {
				break
			}
		}
		if s.Length() > 0 {
			out = append(out, s)
		}
	}
	return out
}

// dayPart is how much of one local day is meant.
type dayPart struct{ start, length int64 }

// byDay splits spans (disjoint, sorted) at the zone's midnights.
func byDay(spans []detect.Span, zone *time.Location) (out []dayPart) {
	for _, s := range spans {
		for s.Length() > 0 {
			y, m, d := time.UnixMicro(s.Start).In(zone).Date()
			from := time.Date(y, m, d, 0, 0, 0, 0, zone).UnixMicro()
			next := min(s.End, time.Date(y, m, d+1, 0, 0, 0, 0, zone).UnixMicro())
			if n := len(out); n > 0 && out[n-1].start == from {
				out[n-1].length += next - s.Start
			} else {
				out = append(out, dayPart{from, next - s.Start})
			}
			s.Start = next
		}
	}
	return out
}

// compareCells orders rows by their cells, empty ones first.
func compareCells(a, b row) int {
	for i := range a {
		var c int
		switch x := a[i].(type) {
		case nil:
			if b[i] != nil {
				c = -1
			}
		case string:
			y, ok := b[i].(string)
			if !ok {
				c = 1
			} else {
				c = cmp.Compare(x, y)
			}
		case int64:
			y, ok := b[i].(int64)
			if !ok {
				c = 1
			} else {
				c = cmp.Compare(x, y)
			}
		}
		if c != 0 {
			return c
		}
	}
	return 0
}
