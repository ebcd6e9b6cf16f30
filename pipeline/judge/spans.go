package judge

import (
	"cmp"
	"slices"

	"probeward/detectors/detect"
)

// union sorts spans in place and joins those that overlap or touch; empty ones go.
func union(spans []detect.Span) []detect.Span {
	slices.SortFunc(spans, func(a, b detect.Span) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End))
	})
	out := spans[:0]
	for _, s := range spans {
		if s.End <= s.Start {
			continue
		}
		if n := len(out); n > 0 && s.Start <= out[n-1].End {
			out[n-1].End = max(out[n-1].End, s.End)
			continue
		}
		out = append(out, s)
	}
	return out
}

// common appends to into what two unions have in common.
func common(into, a, b []detect.Span) []detect.Span {
	for i, j := 0, 0; i < len(a) && j < len(b); {
		if both := a[i].Overlap(b[j]); both.End > both.Start {
			into = append(into, both)
		}
		if a[i].End < b[j].End {
			i++
		} else {
			j++
		}
	}
	return into
}

// without appends to into what remains of one span when a union is taken out.
func without(into []detect.Span, s detect.Span, out []detect.Span) []detect.Span {
	first, _ := slices.BinarySearchFunc(out, s.Start, func(o detect.Span, t int64) int { return cmp.Compare(o.End, t+1) })
	for _, o := range out[first:] {
		if o.Start >= s.End {
			break
		}
		if o.Start > s.Start {
			into = append(into, detect.Span{Start: s.Start, End: o.Start})
		}
		s.Start = max(s.Start, o.End)
	}
	if s.End > s.Start {
		into = append(into, s)
	}
	return into
}

// length of a union.
func length(spans []detect.Span) (n int64) {
	for _, s := range spans {
		n += s.Length()
	}
	return n
}

// countIn counts the stamps, sorted, that lie in a union.
func countIn(times []int64, spans []detect.Span) int {
	n := 0
	for _, s := range spans {
		a, _ := slices.BinarySearch(times, s.Start)
		b, _ := slices.BinarySearch(times, s.End)
		n += max(0, b-a)
	}
	return n
}
