package loggersilent

import (
	"math"
	"slices"

	"probeward/detectors/detect"
)

// seat is a probe while the register has it at this logger.
type seat struct {
	*detect.Summary
	at    []detect.Span // sorted, disjoint, within the period
	sure  []detect.Span // the same without the register's grace at its dates
	quiet []detect.Span // when it says nothing here, or is not here; open intervals, sorted
	dated bool          // the register says since when
}

// seated lists the probes that sit at this logger within the period.
func seated(p *detect.GroupPass) []seat {
	whole := p.Period().Whole()
	grace := p.ParamHours("register_grace")
	var out []seat
	members := p.Members()
	for i := range members {
		s := seat{Summary: &members[i]}
		ground := whole
		if in := s.Probe.InstalledOn; in.OK {
			s.dated = true
			ground.Start = max(ground.Start, in.V)
		}
		if gone := s.Probe.RemovedOn; gone.OK {
			ground.End = min(ground.End, gone.V)
		}
		for _, w := range s.Probe.Wirings {
			if w.Logger != p.Name() {
				continue
			}
			if w.Start != math.MinInt64 {
				s.dated = true
			}
			if at := w.Span.Overlap(ground); at.Start < at.End {
				s.at = append(s.at, at)
			}
		}
		s.at = union(s.at)
		for _, at := range s.at {
			if at.Start > whole.Start {
				at.Start += grace
			}
			if at.End < whole.End {
				at.End -= grace
			}
			if at.Start < at.End {
				s.sure = append(s.sure, at)
			}
		}
		if len(s.at) > 0 {
			s.quiet = s.quietWithin(whole)
			out = append(out, s)
		}
	}
	return out
}

// quietWithin are the stretches in which the probe says nothing at this logger.
// Two silences that touch have a record between them and stay two; a silence that
// runs on to where the probe was elsewhere is one with that.
func (s *seat) quietWithin(whole detect.Span) []detect.Span {
	silences := s.silences(whole)
	var out []detect.Span
	from := whole.Start // of the stretch in which it was elsewhere
	for _, at := range s.at {
		first := len(out)
		for _, h := range silences {
			if q := h.Overlap(at); q.Start < q.End {
				out = append(out, q)
			}
		}
		if at.Start > from {
			elsewhere := detect.Span{Start: from, End: at.Start}
			if first < len(out) && out[first].Start == at.Start {
				out[first].Start = elsewhere.Start
			} else {
				out = slices.Insert(out, first, elsewhere)
			}
			if first > 0 && out[first-1].End == elsewhere.Start {
				out[first].Start = out[first-1].Start
				out = slices.Delete(out, first-1, first)
			}
		}
		from = at.End
	}
	if from < whole.End {
		if n := len(out); n > 0 && out[n-1].End == from {
			out[n-1].End = whole.End
		} else {
			out = append(out, detect.Span{Start: from, End: whole.End})
		}
	}
	return out
}

// silences of the summary; a probe of one stamp has no step and lists none, though
// it said a single word.
func (s *seat) silences(whole detect.Span) []detect.Span {
	if s.Cadence <= 0 && s.Values+s.Blanks > 0 {
		if !s.First.OK {
			return []detect.Span{whole}
		}
		return []detect.Span{{Start: whole.Start, End: s.First.V}, {Start: s.First.V, End: whole.End}}
	}
	out := make([]detect.Span, 0, len(s.Silences))
	for _, h := range s.Silences {
		out = append(out, h.Span)
	}
	return out
}

// common are the open intervals that lie in both lists; what touches stays apart.
func common(a, b []detect.Span) []detect.Span {
	var out []detect.Span
	for i, j := 0, 0; i < len(a) && j < len(b); {
		if s := a[i].Overlap(b[j]); s.Start < s.End {
			out = append(out, s)
		}
		if a[i].End < b[j].End {
			i++
		} else {
			j++
		}
	}
	return out
}

// union sorts spans and joins those that touch or overlap.
func union(spans []detect.Span) []detect.Span {
	sorted := slices.Clone(spans)
	slices.SortFunc(sorted, func(a, b detect.Span) int {
		switch {
		case a.Start < b.Start:
			return -1
		case a.Start > b.Start:
			return 1
		}
		return 0
	})
	var out []detect.Span
	for _, s := range sorted {
		if n := len(out); n > 0 && s.Start <= out[n-1].End {
			out[n-1].End = max(out[n-1].End, s.End)
			continue
		}
		out = append(out, s)
	}
	return out
}

func overlap(spans []detect.Span, s detect.Span) (sum int64) {
	for _, o := range spans {
		sum += s.Overlap(o).Length()
	}
	return sum
}

func length(spans []detect.Span) (sum int64) {
	for _, s := range spans {
		sum += s.Length()
	}
	return sum
}
