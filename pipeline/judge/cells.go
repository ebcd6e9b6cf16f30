package judge

import (
	"cmp"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/corroborate"
)

// cell is one group detector's answer for one probe.
type cell struct {
	applies bool // the probe is in a group of the detector's scope
	detect.Outcome
}

// answers lays the outcomes of the groups out by probe. A probe in several groups
// of a scope (it was moved from one logger to another) is evaluated where one of
// them was.
func (w *work) answers() {
	n := len(w.in.GroupDetectors)
	w.cells = make([]cell, n*len(w.in.Probes))
	order := make([]*corroborate.Verdict, len(w.in.Groups))
	for i := range order {
		order[i] = &w.in.Groups[i]
	}
	slices.SortStableFunc(order, func(a, b *corroborate.Verdict) int {
		return cmp.Or(cmp.Compare(a.Group.Scope, b.Group.Scope), strings.Compare(a.Group.Name, b.Group.Name))
	})
	for _, g := range order {
		for i := range g.Group.Members {
			p := g.Group.Members[i].Probe.Index
			for j, d := range w.in.GroupDetectors {
				if d.Scope != g.Group.Scope {
					continue
				}
				c := &w.cells[p*n+j]
				o := outcome(g.Outcomes, j)
				if why, ok := o.Unseen[p]; ok {
					o = detect.Outcome{Why: why}
				}
				if !c.applies || o.State > c.State {
					c.Outcome = o
				}
				c.applies = true
			}
		}
	}
}

// eachAnswer calls f with the answer of every detector that applies to a probe,
// in the order of the matrix.
func (w *work) eachAnswer(probe int, f func(d *detect.Detector, o detect.Outcome)) {
	for j, d := range w.in.ProbeDetectors {
		f(d, outcome(w.in.Reports[probe].Outcomes, j))
	}
	n := len(w.in.GroupDetectors)
	for j, d := range w.in.GroupDetectors {
		if c := &w.cells[probe*n+j]; c.applies {
			f(d, c.Outcome)
		}
	}
}

// evaluated says whether a fault's own detector reached an answer about a probe.
func (w *work) evaluated(probe int, fault string) (yes bool) {
	w.eachAnswer(probe, func(d *detect.Detector, o detect.Outcome) {
		yes = yes || (d.Name == fault && o.State != detect.NotEvaluated)
	})
	return yes
}

// count tells how many detectors answered about a probe, and why the others did
// not: those with one and the same reason stand together.
func (w *work) count(probe int) (run, not int, why string) {
	var reasons []string
	names := map[string][]string{}
	w.eachAnswer(probe, func(d *detect.Detector, o detect.Outcome) {
		if o.State != detect.NotEvaluated {
			run++
			return
		}
		not++
		text := o.Why.String()
		if names[text] == nil {
			reasons = append(reasons, text)
		}
		names[text] = append(names[text], d.Name)
	})
	for i, text := range reasons {
		reasons[i] = strings.Join(names[text], ", ") + ": " + text
	}
	return run, not, strings.Join(reasons, "; ")
}

// matrix counts every cell once: a probe detector's by probe, a group detector's
// by group.
func (w *work) matrix() {
	add := func(c *Count, o detect.Outcome) {
		c.Subjects++
		switch o.State {
		case detect.Found:
			c.Found++
		case detect.Clear:
			c.Clear++
		default:
			c.Causes[o.Why.Cause]++
		}
	}
	for j, d := range w.in.ProbeDetectors {
		c := Count{Detector: d.Name, Scope: d.Scope}
		for i := range w.in.Probes {
			add(&c, outcome(w.in.Reports[i].Outcomes, j))
		}
		w.out.Matrix = append(w.out.Matrix, c)
	}
	for j, d := range w.in.GroupDetectors {
		c := Count{Detector: d.Name, Scope: d.Scope}
		for i := range w.in.Groups {
			if w.in.Groups[i].Group.Scope == d.Scope {
				add(&c, outcome(w.in.Groups[i].Outcomes, j))
			}
		}
		w.out.Matrix = append(w.out.Matrix, c)
	}
}
