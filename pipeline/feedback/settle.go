package feedback

import (
	"fmt"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/corroborate"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// Settle is what the work of the crew is held against. Nothing in it is written to.
type Settle struct {
	Reports []detect.Report // by place in the register
	Groups  []corroborate.Verdict
	// Again examines the readings of a probe since an instant alone.
	Again func(probe int, since int64) detect.Report
	// Regroup holds groups against each other on other reports.
	Regroup func(reports []detect.Report) []corroborate.Verdict
	// Times gives a probe's stamps with a value, sorted; good until the next call.
	Times func(probe int) []int64
}

// settling is the work of Settle under way.
type settling struct {
	*Book
	in       *Settle
	reports  []detect.Report
	groups   []corroborate.Verdict
	second   map[int]detect.Report
	regroups []corroborate.Verdict
	ends     []judge.Mended
	shows    map[int][]shown // of probes, before their work
}

// shown is a mended finding as its watch needs it.
type shown struct {
	fault string
	spans []detect.Span
}

// Settle ends what was mended. It gives reports and groups in the place of those that
// it took, and which of their findings the visits explain.
func (b *Book) Settle(in Settle) ([]detect.Report, []corroborate.Verdict, []judge.Mended) {
	if b == nil || len(b.mended) == 0 {
		return in.Reports, in.Groups, nil
	}
	s := &settling{Book: b, in: &in, reports: slices.Clone(in.Reports), groups: slices.Clone(in.Groups),
		second: map[int]detect.Report{}, shows: map[int][]shown{}}
	s.lookAgain()
	for p := range s.reports {
		name := b.in.Register.Probes[p].Name
		s.reports[p].Outcomes = s.outcomes(s.reports[p].Outcomes, func(f *detect.Finding) (schemas.Subject, string, int) {
			return schemas.SubjectProbe, name, p
		}, func(f *detect.Finding) []detect.Finding { return findingsOf(s.second[p].Outcomes, f.Fault, p) })
	}
	for g := range s.groups {
		group := &s.groups[g].Group
		s.groups[g].Outcomes = s.outcomes(s.groups[g].Outcomes, s.subjectIn(group), func(f *detect.Finding) []detect.Finding {
			return s.groupAgain(g, f)
		})
	}
	s.watches()
	return s.reports, s.groups, s.ends
}

// subjectIn says whose fault a group's finding is; an empty name: of several probes.
func (s *settling) subjectIn(group *detect.Group) func(*detect.Finding) (schemas.Subject, string, int) {
	return func(f *detect.Finding) (schemas.Subject, string, int) {
		row, _ := schemas.FaultNamed(f.Fault)
		if row.Subject == schemas.SubjectProbe {
			if len(f.Probes) != 1 {
				return row.Subject, "", -1
			}
			return row.Subject, s.Book.in.Register.Probes[f.Probes[0]].Name, f.Probes[0]
		}
		return row.Subject, group.Name, -1
	}
}

// lookAgain examines, from its work on, each probe that has a finding which goes on
// after it.
func (s *settling) lookAgain() {
	since := map[int]int64{}
	groups := false
	mark := func(subject schemas.Subject, name string, probe int, f *detect.Finding, members []detect.Summary) {
		m, ok := s.last(subject, name, probe, f.Fault, f.Start)
		if !ok || f.End <= m.Done {
			return
		}
		groups = groups || members != nil
		if probe >= 0 {
			since[probe] = max(since[probe], m.Done)
			return
		}
		for i := range members {
			p := members[i].Probe.Index
			since[p] = max(since[p], m.Done)
		}
	}
	for p := range s.in.Reports {
		eachFinding(s.in.Reports[p].Outcomes, func(f *detect.Finding) {
			mark(schemas.SubjectProbe, s.Book.in.Register.Probes[p].Name, p, f, nil)
		})
	}
	for g := range s.in.Groups {
		subject := s.subjectIn(&s.in.Groups[g].Group)
		eachFinding(s.in.Groups[g].Outcomes, func(f *detect.Finding) {
			of, name, probe := subject(f)
			mark(of, name, probe, f, s.in.Groups[g].Group.Members)
		})
	}
	if len(since) == 0 || s.in.Again == nil {
		return
	}
	again := slices.Clone(s.in.Reports)
	for p := range again {
		if from, ok := since[p]; ok {
			s.second[p] = s.in.Again(p, from)
			again[p].Summary = s.second[p].Summary
		}
	}
	if groups && s.in.Regroup != nil {
		s.regroups = s.in.Regroup(again)
	}
}

func eachFinding(outcomes []detect.Outcome, f func(*detect.Finding)) {
	for i := range outcomes {
		for k := range outcomes[i].Findings {
			f(&outcomes[i].Findings[k])
		}
	}
}

// findingsOf picks a fault's findings of a probe; of no probe in particular for -1.
func findingsOf(outcomes []detect.Outcome, fault string, probe int) (out []detect.Finding) {
	eachFinding(outcomes, func(f *detect.Finding) {
		if f.Fault == fault && (probe < 0 || len(f.Probes) == 0 || slices.Contains(f.Probes, probe)) {
			out = append(out, *f)
		}
	})
	return out
}

// groupAgain is what a group's detectors say on the readings since the work.
func (s *settling) groupAgain(g int, f *detect.Finding) []detect.Finding {
	row, _ := schemas.FaultNamed(f.Fault)
	group := &s.groups[g].Group
	switch {
	case f.Fault == "clock_error":
		return []detect.Finding{*f} // stamps are judged in the order written, and dated there
	case row.Subject == schemas.SubjectZone:
		// It speaks of waterings, and is back when one of them came after the work.
		for _, w := range group.Irrigation {
			if m, ok := s.last(row.Subject, group.Name, -1, f.Fault, f.Start); ok && w.Start >= m.Done && w.Start < f.End {
				again := *f
				again.Start, again.ExcludeFrom = w.Start, w.Start
				return []detect.Finding{again}
			}
		}
		return nil
	}
	probe := -1
	if row.Subject == schemas.SubjectProbe {
		probe = f.Probes[0]
	}
	if f.Fault == "missing_irrigation_response" {
		if again, ok := s.missedAgain(group, f, probe); ok {
			return []detect.Finding{again}
		}
	}
	if g >= len(s.regroups) {
		return nil
	}
	return findingsOf(s.regroups[g].Outcomes, f.Fault, probe)
}

// outcomes ends the findings that were mended, in a copy.
func (s *settling) outcomes(all []detect.Outcome, subject func(*detect.Finding) (schemas.Subject, string, int), again func(*detect.Finding) []detect.Finding) []detect.Outcome {
	var out []detect.Outcome // nil: nothing changes
	for i := range all {
		var findings []detect.Finding
		changed := false
		for k := range all[i].Findings {
			f := all[i].Findings[k]
			of, name, probe := subject(&f)
			m, ok := s.last(of, name, probe, f.Fault, f.Start)
			if !ok || name == "" {
				findings = append(findings, f)
				continue
			}
			if probe >= 0 {
				s.shows[probe] = append(s.shows[probe], shown{f.Fault, before(&f, m.Done)})
			}
			var more []detect.Finding
			if f.End > m.Done {
				changed = true
				if f.Fault == "clock_error" { // not cut: what it says of the time after the work stands
					findings = append(findings, f)
					continue
				}
				for _, x := range again(&f) {
					if x.Start >= m.Done && !slices.ContainsFunc(all[i].Findings, func(o detect.Finding) bool {
						return o.Fault == x.Fault && slices.Equal(o.Probes, x.Probes) && o.Start >= m.Done && o.Start < x.End && x.Start < o.End
					}) {
						more = append(more, x)
					}
				}
				s.cut(&f, m)
			}
			s.ends = append(s.ends, judge.Mended{Subject: of, Name: name, Fault: f.Fault, Start: f.Start,
				By: fmt.Sprintf("visit: mended on %s", s.day(m.On))})
			findings = append(append(findings, f), more...)
		}
		if !changed {
			continue
		}
		if out == nil {
			out = slices.Clone(all)
		}
		out[i].Findings = findings
	}
	if out == nil {
		return all
	}
	return out
}

// cut ends a finding with the work.
func (s *settling) cut(f *detect.Finding, m *Mend) {
	f.End, f.Open = m.Done, false
	var parts []detect.Part
	for _, p := range f.Parts {
		if p.Start < m.Done {
			p.End = min(p.End, m.Done)
			parts = append(parts, p)
		}
	}
	f.Parts = parts
	if f.Evidence != "" {
		f.Evidence += "; "
	}
	f.Evidence += "mended on " + s.day(m.On) + ", and the readings since do not show it"
}

// before lists the stretches in which a finding showed before an instant.
func before(f *detect.Finding, t int64) (out []detect.Span) {
	for _, p := range f.Parts {
		if p.Flag == schemas.FlagFail && p.Start < t {
			out = append(out, detect.Span{Start: p.Start, End: min(p.End, t)})
		}
	}
	if len(out) == 0 {
		out = append(out, detect.Span{Start: f.Start, End: min(f.End, t)})
	}
	return out
}
