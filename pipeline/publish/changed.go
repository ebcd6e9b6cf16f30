package publish

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
)

// reasoned is a stretch that is left out, and for which faults.
type reasoned struct {
	detect.Span
	reasons string // blank between
}

// without gives what of a lies in the given span and outside of b. Both are sorted
// and do not overlap.
func without(a, b []reasoned, in detect.Span) (out []reasoned) {
	for _, s := range a {
		s.Span = s.Overlap(in)
		for _, o := range b {
			if s.Length() == 0 || o.Start >= s.End {
				break
			}
			if o.End <= s.Start {
				continue
			}
			if o.Start > s.Start {
				out = append(out, reasoned{detect.Span{Start: s.Start, End: o.Start}, s.reasons})
			}
			s.Start = o.End
		}
		if s.Length() > 0 {
			out = append(out, s)
		}
	}
	return out
}

// dayPart is how much of one local day is meant, and for which faults.
type dayPart struct {
	start, length int64
	reasons       string
}

// byDay splits stretches (sorted, disjoint) at the zone's midnights.
func byDay(stretches []reasoned, zone *time.Location) (out []dayPart) {
	for _, s := range stretches {
		for s.Length() > 0 {
			y, m, d := time.UnixMicro(s.Start).In(zone).Date()
			from := time.Date(y, m, d, 0, 0, 0, 0, zone).UnixMicro()
			next := min(s.End, time.Date(y, m, d+1, 0, 0, 0, 0, zone).UnixMicro())
			if n := len(out); n > 0 && out[n-1].start == from {
				out[n-1].length += next - s.Start
				out[n-1].reasons = joinWords(out[n-1].reasons, s.reasons)
			} else {
				out = append(out, dayPart{from, next - s.Start, s.reasons})
			}
			s.Start = next
		}
	}
	return out
}

// joinWords gives the words of both, each once, in the order first met.
func joinWords(a, b string) string {
	words := strings.Fields(a)
	for _, w := range strings.Fields(b) {
		if !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	return strings.Join(words, " ")
}

// compareCells orders rows by their cells, empty ones first.
func compareCells(a, b row) int {
	for i := range a {
		if c := compareCell(a[i], b[i]); c != 0 {
			return c
		}
	}
	return 0
}

func compareCell(a, b any) int {
	switch x := a.(type) {
	case string:
		if y, ok := b.(string); ok {
			return strings.Compare(x, y)
		}
		return 1
	case int64:
		if y, ok := b.(int64); ok {
			return cmp.Compare(x, y)
		}
		return 1
	}
	if b == nil {
		return 0
	}
	return -1
}
