package judge

import (
	"slices"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Judge draws the verdicts, flags, exclusions and coverage of a run. It reads no
// file and no clock, and the order of groups, findings and overrides never shows.
func Judge(in Input) *Result {
	w := &work{in: &in, out: &Result{Period: in.Period}}
	w.gather()
	w.assign()
	w.overrides()
	w.misplaced()
	w.ignore()
	w.mended()
	w.mask()
	w.answers()
	w.matrix()
	w.probes()
	return w.out
}

// probes goes through the register once.
func (w *work) probes() {
	n := len(w.in.Probes)
	w.lacks = make([]string, n)
	w.out.States = make([]State, n)
	w.out.Marks = make([][]Mark, n)
	cover := newCoverage(w.in.Period.Window, w.in.Zone)
	for i := range w.in.Probes {
		p, s := &w.in.Probes[i], &w.out.States[i]
		w.lacks[i] = w.lacking(i)
		segments := w.mark(i)
		w.out.Marks[i] = marksOf(segments)
		from := len(w.out.Exclusions)
		w.exclude(i, segments)
		excluded := w.out.Exclusions[from:]

		times := w.in.Times(i)
		s.Previous = w.in.Previous[p.Name]
		w.tally(i, s, times, excluded)
		w.verdict(i, s)
		s.UsableNow = w.usableNow(i, s, excluded)
		for k := range w.out.Overrides {
			if a := &w.out.Overrides[k]; a.Probe == i {
				a.Readings = countIn(times, []detect.Span{a.Override.Span})
			}
		}
		if p.Moisture() && s.InGround {
			cover.add(i, p, s, times, w.trusted(i))
		}
	}
	w.out.Coverage = cover.rows()
}

// marksOf drops what only the exclusions need, and joins what then is alike.
func marksOf(segments []segment) []Mark {
	var out []Mark
	for i := range segments {
		m := segments[i].Mark
		if n := len(out); n > 0 {
			last := out[n-1]
			last.Span = m.Span
			if out[n-1].End == m.Start && last == m {
				out[n-1].End = m.End
				continue
			}
		}
		out = append(out, m)
	}
	return out
}

// trusted are the stretches of the period in which a probe's readings pass.
func (w *work) trusted(probe int) []detect.Span {
	var marked []detect.Span
	for _, m := range w.out.Marks[probe] {
		marked = append(marked, m.Span)
	}
	return without(nil, w.in.Period.Whole(), union(marked))
}

// Faults spells out a mark's bits: the faults in the order of their table.
func (m Mark) Faults() []string { return reasons(m.Bits, false) }

// CountVerdicts counts the probes of each verdict.
func (r *Result) CountVerdicts() map[schemas.Verdict]int {
	out := map[schemas.Verdict]int{}
	for i := range r.States {
		out[r.States[i].Verdict]++
	}
	return out
}

// ExclusionsOf gives one probe's exclusions, sorted.
func (r *Result) ExclusionsOf(probe int) []Exclusion {
	from, _ := slices.BinarySearchFunc(r.Exclusions, probe, func(e Exclusion, p int) int { return e.Probe - p })
	to, _ := slices.BinarySearchFunc(r.Exclusions, probe+1, func(e Exclusion, p int) int { return e.Probe - p })
	return r.Exclusions[from:to]
}
