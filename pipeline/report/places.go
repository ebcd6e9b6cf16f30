package report

import (
	"cmp"
	"slices"
	"strings"

	"probeward/schemas"
)

// places finds the way between probes, findings and visits, and the order of the
// findings: standing ones by the rank of their visit, then those that ended, then
// those that another explains.
func (w *work) places() {
	j := w.in.Judged
	w.stopOf, w.visitOf = fill(len(w.in.Probes), -1), fill(len(j.Findings), -1)
	for i := len(w.in.Visits) - 1; i >= 0; i-- {
		for _, p := range w.in.Visits[i].Places {
			w.stopOf[p] = i
		}
		for _, f := range w.in.Visits[i].Findings {
			w.visitOf[f] = i
		}
	}
	w.order = make([]int, len(j.Findings))
	for i := range w.order {
		w.order[i] = i
	}
	slices.SortStableFunc(w.order, func(a, b int) int {
		return cmp.Or(cmp.Compare(w.groupOf(a), w.groupOf(b)),
			cmp.Compare(uint(w.visitOf[a]), uint(w.visitOf[b])), // without a visit last
			cmp.Compare(a, b))
	})
	w.firstOf = fill(len(w.in.Probes), -1)
	for n := len(w.order) - 1; n >= 0; n-- {
		if p := j.Findings[w.order[n]].Probe; p >= 0 {
			w.firstOf[p] = n
		}
	}
}

// Groups of findings on the page.
const (
	standing = iota
	ended
	explained
	groups
)

func (w *work) groupOf(finding int) int {
	f := &w.in.Judged.Findings[finding]
	switch {
	case f.MaskedBy != "":
		return explained
	case f.Open || f.End > w.in.Judged.Period.Window.Start:
		return standing
	default:
		return ended
	}
}

func fill(n, v int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// probeLink leads to a probe: its first finding, or its row of the health table.
func (w *work) probeLink(probe int) string { return "#" + anchor("probe", w.in.Probes[probe].Name) }

// touched are the probes that a finding is about.
func (w *work) touched(finding int) []int {
	f := &w.in.Judged.Findings[finding]
	if f.Probe >= 0 {
		return []int{f.Probe}
	}
	return f.Probes
}

// cause is a probe's main fault in words, with when it began; empty without one.
func (w *work) cause(probe int) string {
	st := &w.in.Judged.States[probe]
	if st.Main < 0 {
		if st.Verdict != schemas.Unknown {
			return ""
		}
		why, _, _ := strings.Cut(st.NotEvaluatedWhy, "; ") // the rest is in the matrix
		why = strings.TrimPrefix(why, "unknown: ")
		if names, ok := strings.CutPrefix(why, "not evaluated: "); ok {
			return title(names) + " could not be evaluated"
		}
		return why
	}
	f := &w.in.Judged.Findings[st.Main]
	text := faultWords(f.Fault)
	if f.Subject == schemas.SubjectLogger {
		text += " (logger " + f.Name + ")"
	}
	if st.Since.OK {
		text += ", since " + w.say.at(st.Since.V)
	}
	return text
}
