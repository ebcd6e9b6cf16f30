package judge

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/detect"
)

// overrides sorts a person's words by probe, and lists them in the result.
func (w *work) overrides() {
	w.given = make([][]Override, len(w.in.Probes))
	for _, o := range w.in.Overrides {
		if o.Probe < 0 || o.Probe >= len(w.in.Probes) {
			continue
		}
		if o.End == 0 {
			o.End = math.MaxInt64
		}
		w.given[o.Probe] = append(w.given[o.Probe], o)
	}
	for _, of := range w.given {
		slices.SortFunc(of, func(a, b Override) int {
			return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.Action, b.Action),
				cmp.Compare(a.End, b.End), cmp.Compare(a.Why, b.Why))
		})
		for _, o := range of {
			a := Applied{Override: o, Expired: o.End < w.in.Period.Window.End}
			if o.End != math.MaxInt64 {
				a.Ends = detect.Some(o.End)
			}
			w.out.Overrides = append(w.out.Overrides, a)
		}
	}
}

// spansOf joins a probe's overrides of one action, cut to the period.
func (w *work) spansOf(probe int, action string) []detect.Span {
	var out []detect.Span
	for _, o := range w.given[probe] {
		if o.Action == action {
			out = append(out, o.Overlap(w.in.Period.Whole()))
		}
	}
	return union(out)
}

// ignore silences the findings that a person has spoken for: those of which the
// last instant lies in the override. One that goes on after it counts again.
func (w *work) ignore() {
	for n := range w.out.Overrides {
		a := &w.out.Overrides[n]
		if a.Action != Ignore {
			continue
		}
		for k := range w.touches[a.Probe] {
			t := &w.touches[a.Probe][k]
			if !a.Holds(t.end() - 1) {
				continue
			}
			a.Findings++
			t.ignored = true
			if f := &w.out.Findings[t.finding]; f.Probe == a.Probe && f.MaskedBy == "" {
				f.MaskedBy, f.MaskedWhy = "override: "+a.Why, "a person's word"
			}
		}
	}
}
