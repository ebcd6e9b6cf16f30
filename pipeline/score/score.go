package score

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Case is one thing to look at: what the truth is, and what was said.
type Case struct {
	Kind    string // one of the kinds below
	Subject schemas.Subject
	Name    string
	Class   string // of a false alarm
	Truth   string
	Said    string
}

// Kinds of cases.
const (
	Missed    = "missed"
	Misnamed  = "misnamed"
	Alarm     = "false alarm"
	Invisible = "named otherwise, invisible" // an unmasked finding of another name where the fault left no trace
)

// Classes of false alarms beside the look-alikes.
const (
	classLogger = "a logger without that fault"
	classZone   = "a zone without that fault"
	classBefore = "before the fault began"
	classAfter  = "after the fault ended"
)

// New in the ground, by the truth's classes: settling is no false alarm there.
var newInGround = []string{"new_no_history", "replaced"}

type work struct {
	truth *Truth
	run   *Run
	tally *Tally
	cases []Case
	look  map[string]string // by logger and zone: what most of its healthy probes are
	cause map[string]bool   // of false alarms: those counted, by fault and place
}

// Score holds a run against the truth. Cases come by kind, subject and name.
func Score(truth *Truth, run *Run) (*Tally, []Case) {
	w := &work{truth: truth, run: run, tally: newTally(), look: map[string]string{}, cause: map[string]bool{}}
	w.looks()
	w.tally.Farms = 1
	w.tally.Certain = run.Certain
	for i := range truth.Faults {
		w.fault(&truth.Faults[i])
	}
	w.alarms()
	w.probes()
	w.readings()
	slices.SortStableFunc(w.cases, func(a, b Case) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Name, b.Name))
	})
	return w.tally, w.cases
}

// fault scores one injected fault.
func (w *work) fault(f *Fault) {
	row := w.tally.fault(f)
	if !touches(f.Span, w.run.Window) {
		row.Outside++
		return
	}
	catching := w.catching(f)
	named := w.named(f, catching)
	if !f.Visible {
		row.Invisible++
		switch {
		case named:
			row.TrueName++
		case len(catching) > 0:
			row.AnotherName++
			w.note(Invisible, f.Subject, f.Name, "", f.String())
		default:
			row.Quiet++
		}
		return
	}
	row.Visible++
	if len(catching) == 0 {
		if p := w.run.Probes[f.Name]; f.Subject == schemas.SubjectProbe && p != nil && p.Verdict == schemas.Fit {
			row.CalledFit++
		}
		w.note(Missed, f.Subject, f.Name, "", f.String())
		return
	}
	row.Caught++
	first := slices.MinFunc(catching, func(a, b *Finding) int { return cmp.Compare(a.Start, b.Start) })
	row.Delays = append(row.Delays, detect.Hours(first.Start-f.Start))
	if !named {
		w.note(Misnamed, f.Subject, f.Name, "", f.String())
		return
	}
	row.Named++
}

// catching lists the findings that catch a fault.
func (w *work) catching(f *Fault) (out []*Finding) {
	seen := f.effect().Overlap(w.run.Window)
	for i := range w.run.Findings {
		s := &w.run.Findings[i]
		if s.MaskedBy == "" && touches(s.Span, seen) && s.Start >= f.earliest(w.run.Window) && w.onSubject(f, s) {
			out = append(out, s)
		}
	}
	return out
}

// onSubject says whether a finding is about a fault's subject, or is a logger's that
// touches the probe at fault.
func (w *work) onSubject(f *Fault, s *Finding) bool {
	if s.Subject == f.Subject {
		return s.Name == f.Name
	}
	if f.Subject != schemas.SubjectProbe || s.Subject != schemas.SubjectLogger {
		return false
	}
	p := w.run.Probes[f.Name]
	return p != nil && p.Logger == s.Name && slices.Contains(p.Faults, s.Fault)
}

// named says whether the main one of the findings on the subject itself has the
// fault's name.
func (w *work) named(f *Fault, catching []*Finding) bool {
	var own []*Finding
	for _, s := range catching {
		if s.Subject == f.Subject {
			own = append(own, s)
		}
	}
	if f.Subject == schemas.SubjectProbe {
		p := w.run.Probes[f.Name]
		if p == nil || len(own) == 0 {
			return false
		}
		main := p.MainFault
		if main == "" { // over by the window's end
			main = surest(own).Fault
		}
		return w.run.names(main, f.Fault) && slices.ContainsFunc(own, func(s *Finding) bool { return s.Fault == main })
	}
	if len(own) == 0 {
		return false
	}
	return w.run.names(surest(own).Fault, f.Fault)
}

// surest is the finding of the highest confidence; of equals the first in the table
// of faults.
func surest(all []*Finding) *Finding {
	return slices.MinFunc(all, func(a, b *Finding) int {
		return cmp.Or(cmp.Compare(b.Confidence, a.Confidence), cmp.Compare(schemas.FaultBit(a.Fault), schemas.FaultBit(b.Fault)))
	})
}

func (w *work) outcome(confidence float64, atFault, named bool) {
	b := &w.tally.Bands[bandOf(confidence)]
	b.N++
	b.Confidence += confidence
	for i, is := range [2]bool{named, atFault} {
		miss := confidence
		if is {
			miss = 1 - confidence
		}
		w.tally.Squares[i] += miss * miss
	}
	if atFault {
		b.AtFault++
	}
	if named {
		b.Named++
	}
}

// probes counts verdicts and healthy probe-weeks.
func (w *work) probes() {
	weeks := detect.Days(w.run.Window.Length()) / 7
	for name, p := range w.run.Probes {
		if w.truth.Healthy[name] {
			if p.Received > 0 {
				w.tally.HealthyWeeks[w.truth.Class[name]] += weeks
				w.tally.Healthy[p.Verdict]++
			}
			continue
		}
		for _, f := range w.faultsOn(name) {
			if f.Visible && touches(f.Span, w.run.Window) {
				w.tally.Faulty[p.Verdict]++
				break
			}
		}
	}
}

func (w *work) note(kind string, subject schemas.Subject, name, class, truth string) {
	w.cases = append(w.cases, Case{kind, subject, name, class, truth, w.saidOf(subject, name)})
}

// saidOf is what a run says about a subject, in a line.
func (w *work) saidOf(subject schemas.Subject, name string) string {
	var parts []string
	p := w.run.Probes[name]
	if subject == schemas.SubjectProbe && p != nil {
		parts = append(parts, fmt.Sprintf("%s, main %q", p.Verdict, p.MainFault))
	}
	for i := range w.run.Findings {
		f := &w.run.Findings[i]
		if f.Subject == subject && f.Name == name && touches(f.Span, w.run.Window) {
			parts = append(parts, said(f))
		}
	}
	if subject == schemas.SubjectProbe && p != nil && p.NotEvaluated != "" {
		parts = append(parts, "not evaluated: "+p.NotEvaluated)
	}
	if len(parts) == 0 {
		return "nothing"
	}
	return strings.Join(parts, " | ")
}

func said(f *Finding) string {
	end := "still"
	if f.End != math.MaxInt64 {
		end = detect.Stamp(f.End)
	}
	masked := ""
	if f.MaskedBy != "" {
		masked = " masked by " + f.MaskedBy
	}
	return fmt.Sprintf("%s %.2f %s..%s%s: %s", f.Fault, f.Confidence, detect.Stamp(f.Start), end, masked, f.Evidence)
}

func list(faults []*Fault) string {
	var out []string
	for _, f := range faults {
		out = append(out, f.String())
	}
	return strings.Join(out, "; ")
}
