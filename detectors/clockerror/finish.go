package clockerror

import (
	"cmp"
	"slices"

	"probeward/detectors/detect"
)

// event is a finding and the file that tells of it.
type event struct {
	detect.Finding
	file string
}

// finish clips findings into the period, joins those that tell of one event in two
// files, and names the probes that they touch.
func (l *look) finish(found []event) []detect.Finding {
	var out []event
	for _, f := range found {
		if f.End >= l.whole.End {
			f.End, f.Open = l.whole.End, true
		}
		f.Start = max(f.Start, l.whole.Start)
		if f.Start >= f.End {
			continue
		}
		var parts []detect.Part
		for _, p := range f.Parts {
			if p.Span = p.Span.Overlap(detect.Span{Start: f.Start, End: f.End}); p.Start < p.End {
				parts = append(parts, p)
			}
		}
		f.Parts = parts
		out = append(out, f)
	}
	slices.SortStableFunc(out, func(a, b event) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(b.Confidence, a.Confidence))
	})
	var joined []detect.Finding
	for _, f := range out {
		if n := len(joined); n > 0 && f.Start < joined[n-1].End && len(f.Parts) == 0 && len(joined[n-1].Parts) == 0 {
			last := &joined[n-1]
			last.End, last.Open = max(last.End, f.End), last.Open || f.Open
			last.Confidence = max(last.Confidence, f.Confidence)
			last.Readings = max(last.Readings, f.Readings)
			last.Evidence += "; also in " + f.file
			continue
		}
		joined = append(joined, f.Finding)
	}
	for i := range joined {
		joined[i].Probes = l.touched(detect.Span{Start: joined[i].Start, End: joined[i].End})
	}
	return joined
}

// touched are the probes that the register has at the logger at that time; all of
// the logger's, where it has none there then.
func (l *look) touched(s detect.Span) []int {
	var here, all []int
	for _, m := range l.p.Members() {
		all = append(all, m.Probe.Index)
		for _, w := range m.Probe.Wirings {
			if w.Logger == l.p.Name() && w.Overlap(s).Length() > 0 {
				here = append(here, m.Probe.Index)
				break
			}
		}
	}
	if len(here) == 0 {
		here = all
	}
	slices.Sort(here)
	return here
}
