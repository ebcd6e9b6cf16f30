package judge

import (
	"cmp"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/corroborate"
	"probeward/schemas"
)

// work is a judgement under way.
type work struct {
	in      *Input
	out     *Result
	faults  []schemas.Fault // by place in out.Findings
	sparing []bool          // by place in out.Findings: the mask over it spares its readings
	touches [][]touch       // by place in the register, sorted by finding
	given   [][]Override    // overrides by place in the register, sorted
	cells   []cell          // group answers, GroupDetectors a probe
	lacks   []string        // what keeps a probe from being examined enough, by place
}

// touch is a finding as one probe has it: a logger's fault counts only while the
// probe was wired to that logger.
type touch struct {
	finding int
	spans   []detect.Span // where it lies on this probe, sorted, disjoint, not empty
	open    bool          // it still stands at the window's end
	ignored bool          // an override silences it
}

func (t *touch) start() int64 { return t.spans[0].Start }
func (t *touch) end() int64   { return t.spans[len(t.spans)-1].End }

// gather lists every finding, completed and sorted.
func (w *work) gather() {
	for i := range w.in.Probes {
		for j, d := range w.in.ProbeDetectors {
			for _, f := range outcome(w.in.Reports[i].Outcomes, j).Findings {
				w.add(f, d, schemas.SubjectProbe, w.in.Probes[i].Name, i)
			}
		}
	}
	for _, g := range w.in.Groups {
		for j, d := range w.in.GroupDetectors {
			for _, f := range outcome(g.Outcomes, j).Findings {
				w.addGroup(f, d, &g)
			}
		}
	}
	all := w.out.Findings
	slices.SortStableFunc(all, compareFindings)
	w.faults = make([]schemas.Fault, len(all))
	w.sparing = make([]bool, len(all))
	for i := range all {
		w.faults[i], _ = schemas.FaultNamed(all[i].Fault)
	}
}

// addGroup enters a group's finding. A probe's fault that only a group can show
// becomes one finding a probe, which keeps the places of all of them.
func (w *work) addGroup(f detect.Finding, d *detect.Detector, g *corroborate.Verdict) {
	if len(f.Probes) == 0 {
		for i := range g.Group.Members {
			f.Probes = append(f.Probes, g.Group.Members[i].Probe.Index)
		}
	}
	f.Probes = slices.Clone(f.Probes)
	slices.Sort(f.Probes)
	f.Probes = slices.Compact(f.Probes)
	if fault, _ := schemas.FaultNamed(f.Fault); fault.Subject == schemas.SubjectProbe {
		for _, p := range f.Probes {
			one := f
			if len(f.Probes) == 1 {
				one.Probes = nil
			}
			w.add(one, d, schemas.SubjectProbe, w.in.Probes[p].Name, p)
		}
		return
	}
	subject := schemas.SubjectLogger
	if g.Group.Scope == detect.PerZone {
		subject = schemas.SubjectZone
	}
	w.add(f, d, subject, g.Group.Name, -1)
}

func (w *work) add(f detect.Finding, d *detect.Detector, subject schemas.Subject, name string, probe int) {
	fault, ok := schemas.FaultNamed(f.Fault)
	if !ok {
		return // the examiner lets no such finding through
	}
	f.End = max(f.End, f.Start+1)
	if f.ExcludeFrom == 0 || f.ExcludeFrom > f.Start {
		f.ExcludeFrom = f.Start
	}
	f.Parts = slices.Clone(f.Parts)
	slices.SortFunc(f.Parts, func(a, b detect.Part) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End), cmp.Compare(a.Flag, b.Flag))
	})
	flag := fault.FlagFor(f.Confidence)
	if untouched(&f) {
		flag = schemas.FlagNone
	}
	w.out.Findings = append(w.out.Findings, Finding{
		Finding: f, Subject: subject, Name: name, Probe: probe,
		Family: fault.Family, Flag: flag, Detector: d.Name,
	})
}

// untouched says whether a finding's parts leave every reading true.
func untouched(f *detect.Finding) bool {
	return len(f.Parts) > 0 && !slices.ContainsFunc(f.Parts, func(p detect.Part) bool { return p.Flag != schemas.FlagNone })
}

// compareFindings orders by what the tables are sorted by, and then by all the
// rest, so that the order in which findings came in never shows.
func compareFindings(a, b Finding) int {
	return cmp.Or(
		cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Probe, b.Probe),
		cmp.Compare(a.Start, b.Start), cmp.Compare(a.Fault, b.Fault),
		cmp.Compare(a.End, b.End), cmp.Compare(a.Detector, b.Detector),
		cmp.Compare(b.Confidence, a.Confidence), strings.Compare(a.Evidence, b.Evidence),
		cmp.Compare(a.ExcludeFrom, b.ExcludeFrom), cmp.Compare(a.Readings, b.Readings),
		cmp.Compare(a.Measured, b.Measured), cmp.Compare(a.Threshold, b.Threshold),
		slices.Compare(a.Probes, b.Probes),
		slices.CompareFunc(a.Parts, b.Parts, func(p, q detect.Part) int {
			return cmp.Or(cmp.Compare(p.Start, q.Start), cmp.Compare(p.End, q.End), cmp.Compare(p.Flag, q.Flag))
		}),
	)
}

// assign gives every probe the findings that touch it.
func (w *work) assign() {
	w.touches = make([][]touch, len(w.in.Probes))
	for i := range w.out.Findings {
		f := &w.out.Findings[i]
		if f.Probe >= 0 {
			w.touch(f.Probe, i)
			continue
		}
		for _, p := range f.Probes {
			w.touch(p, i)
		}
	}
}

func (w *work) touch(probe, finding int) {
	f := &w.out.Findings[finding]
	t := touch{finding: finding, spans: []detect.Span{{Start: f.Start, End: f.End}}, open: f.Open}
	if f.Subject == schemas.SubjectLogger {
		t.spans = wiredTo(&w.in.Probes[probe], f.Name, t.spans[0])
		if len(t.spans) == 0 {
			return
		}
		t.open = t.open && t.end() >= w.in.Period.Window.End
	}
	w.touches[probe] = append(w.touches[probe], t)
}

// wiredTo cuts a span down to when the probe was at the logger; a register that
// knows nothing of it there cuts nothing.
func wiredTo(p *detect.Probe, logger string, span detect.Span) []detect.Span {
	known := false
	var out []detect.Span
	for _, at := range p.Wirings {
		if at.Logger != logger {
			continue
		}
		known = true
		if both := at.Overlap(span); both.Length() > 0 {
			out = append(out, both)
		}
	}
	if !known {
		return []detect.Span{span}
	}
	return union(out)
}

// outcome of a detector; one that a report lacks was never asked.
func outcome(all []detect.Outcome, i int) detect.Outcome {
	if i < len(all) {
		return all[i]
	}
	return detect.Outcome{}
}
