package feedback

import (
	"slices"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// Mend is work that ended what one subject showed.
type Mend struct {
	Subject schemas.Subject
	Name    string
	Probe   int    // place in the register; -1 for a logger or zone
	Fault   string // that was found; empty: replaced, and nobody said why
	On      int64
	Done    int64
	Outcome fieldlog.Outcome
	Visit   string
	Note    string
	Line    int
}

// mends gathers the work of the period. The register's faults are mended in the
// register, which is read anew at each run.
func (b *Book) mends() {
	for i := range b.Rows {
		r := &b.Rows[i]
		if !r.mends() || r.Outcome == fieldlog.RegisterMended || r.Done <= b.in.Period.Lookback {
			continue
		}
		m := Mend{Probe: -1, Fault: r.Fault(), On: r.VisitedOn, Done: r.Done, Outcome: r.Outcome, Visit: r.Visit.Visit, Note: r.Note, Line: r.Line}
		add := func(subject schemas.Subject, name string, probe int) {
			m.Subject, m.Name, m.Probe = subject, name, probe
			b.mended = append(b.mended, m)
		}
		for _, p := range r.Probes {
			add(schemas.SubjectProbe, b.in.Register.Probes[p].Name, p)
		}
		for _, l := range r.Loggers {
			add(schemas.SubjectLogger, l, -1)
		}
		for _, z := range r.Zones {
			add(schemas.SubjectZone, z, -1)
		}
	}
}

// Mends lists the work of the period, by time.
func (b *Book) Mends() []Mend {
	if b == nil {
		return nil
	}
	return b.mended
}

// explained lists the faults that another explains (judge.Masks).
func explained(by, fault string) bool {
	for _, m := range judge.Masks() {
		if m.By == by && slices.Contains(m.Faults, fault) {
			return true
		}
	}
	return false
}

// covers says whether the work ended a fault of a subject. probe is the place of a
// probe's fault, -1 of another's.
func (b *Book) covers(m *Mend, subject schemas.Subject, name string, probe int, fault string) bool {
	row, known := schemas.FaultNamed(fault)
	if !known || fault == "settling" {
		return false
	}
	if m.Subject == subject && m.Name == name {
		return row.Family != schemas.FamilyRegister || fault == m.Fault
	}
	if probe < 0 || !explained(m.Fault, fault) {
		return false
	}
	p := &b.in.Register.Probes[probe]
	switch m.Subject {
	case schemas.SubjectLogger:
		return slices.ContainsFunc(p.Wirings, func(w detect.Wiring) bool { return w.Logger == m.Name && w.Holds(m.On) })
	case schemas.SubjectZone:
		return p.Zone == m.Name
	}
	return false
}

// last is the newest work that covers a fault which began before it was done.
func (b *Book) last(subject schemas.Subject, name string, probe int, fault string, start int64) (*Mend, bool) {
	var out *Mend
	for i := range b.mended {
		m := &b.mended[i]
		if start < m.Done && (out == nil || m.Done >= out.Done) && b.covers(m, subject, name, probe, fault) {
			out = m
		}
	}
	return out, out != nil
}

// back is the newest work on a subject after which one of the fault's family began.
func (b *Book) back(f *judge.Finding) (*Mend, bool) {
	var out *Mend
	for i := range b.mended {
		m := &b.mended[i]
		row, known := schemas.FaultNamed(m.Fault)
		if m.Subject == f.Subject && m.Name == f.Name && m.Done <= f.Start && known && row.Family == f.Family && (out == nil || m.Done >= out.Done) {
			out = m
		}
	}
	return out, out != nil
}

// day writes the date of an instant at the farm.
func (b *Book) day(t int64) string { return time.UnixMicro(t).In(b.in.Zone).Format(time.DateOnly) }

// Day writes the date of an instant at the farm.
func (b *Book) Day(t int64) string { return b.day(t) }
