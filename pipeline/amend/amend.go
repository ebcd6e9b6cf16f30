// Package amend gathers what is wrong in the register: rows that cannot be used,
// probes that nobody heard, and rows that the data contradict, each with the row
// that would agree with the data where something tells which. It changes nothing:
// a person decides.
package amend

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"

	"probeward/pipeline/judge"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/pipeline/table"
	"probeward/schemas"
)

// Mend is one problem of the register.
type Mend struct {
	Severity, Subject, Name, Problem, Evidence string
	Row                                        string // of the probes table; empty: nothing tells
}

// Input is what is looked through. Nothing in it is written to.
type Input struct {
	Register *register.Register
	Judged   *judge.Result
	// Files are the register's tables, as notes name them.
	Files  []string
	Notes  []table.Note // of all tables
	Strays []read.Stray
	// Unheard are probes without a reading in any file.
	Unheard []string
	// Row gives the text of a probe's newest row by column; see Rows.
	Row func(probe int) map[string]string
	// Replaced are sensors that the crew has exchanged.
	Replaced []Replaced
}

// Mends lists the problems: errors first, then by subject, name and problem.
func Mends(in Input) (out []Mend) {
	for _, n := range in.Notes {
		if !slices.Contains(in.Files, n.File) {
			continue
		}
		m := Mend{Severity: severity(n), Subject: cmp.Or(n.Subject, "row"), Name: cmp.Or(n.Name, place(n)), Problem: n.Problem}
		if n.Text != "" {
			m.Evidence = place(n) + ": " + n.Text
		}
		if n.Suggest != "" {
			m.Evidence = strings.TrimPrefix(m.Evidence+"; perhaps "+n.Suggest, "; ")
		}
		out = append(out, m)
	}
	for _, s := range in.Strays {
		out = append(out, unregistered(s))
	}
	for _, name := range in.Unheard {
		p, ok := in.Register.Named(name)
		if !ok || !in.Judged.States[p].InGround {
			continue
		}
		out = append(out, Mend{Severity: "warning", Subject: "probe", Name: name,
			Problem: "registered, and no file holds a reading of it: check its logger and port, or give it a removed_on"})
	}
	for _, f := range in.Judged.Findings {
		if f.Family != schemas.FamilyRegister || f.MaskedBy != "" {
			continue
		}
		fault, _ := schemas.FaultNamed(f.Fault)
		m := Mend{Severity: "error", Subject: string(f.Subject), Name: f.Name, Problem: f.Fault + ": " + fault.Sentence, Evidence: f.Evidence}
		probe := f.Probe
		changes := map[string]string{}
		for _, a := range f.Amends {
			if probe < 0 {
				probe = a.Probe
			}
			if a.Probe == probe {
				changes[a.Column] = a.Value
			}
		}
		if len(changes) > 0 && probe >= 0 {
			m.Row = suggestion(in.Row(probe), changes)
		}
		out = append(out, m)
	}
	for _, r := range in.Replaced {
		out = append(out, in.exchanged(r)...)
	}
	slices.SortStableFunc(out, func(a, b Mend) int {
		return cmp.Or(cmp.Compare(a.Severity, b.Severity), cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Problem, b.Problem))
	})
	return out
}

// unregistered is a name that the exports hold and the register does not. The row that
// it suggests has what the exports tell; kind and unit are for a person to fill in.
func unregistered(s read.Stray) Mend {
	m := Mend{Severity: "error", Subject: "probe", Name: s.Probe, Problem: "it is heard and has no row in the register, so that nobody looks at it",
		Evidence: fmt.Sprintf("%d readings in %d files, the first %s", s.Readings, s.Files, s.First)}
	cells := map[string]string{"probe": s.Probe}
	switch {
	case s.Port != "":
		m.Subject, m.Name = "port", s.Logger+" "+s.Port
		cells = map[string]string{"probe": s.Logger + "-" + s.Port, "logger": s.Logger, "port": s.Port}
	case s.Probe == "":
		m.Subject, m.Name, cells = "logger", s.Logger, nil
	}
	if s.Near != "" {
		m.Evidence += fmt.Sprintf("; the register knows %q: is it that?", s.Near)
		cells = nil
	}
	if cells != nil {
		m.Row = suggestion(cells, nil)
	}
	return m
}

func severity(n table.Note) string {
	if n.Severity == table.Error {
		return "error"
	}
	return "warning"
}

// place of a note, as an editor finds it.
func place(n table.Note) string {
	n.Problem, n.Text, n.Suggest = "", "", ""
	return strings.TrimSuffix(n.String(), ": ")
}

// suggestion is a row of the probes table with some cells changed, as one CSV record.
func suggestion(row, changes map[string]string) string {
	record := make([]string, len(schemas.Probes.Columns))
	for i, c := range schemas.Probes.Columns {
		record[i] = row[c.Name]
		if v, ok := changes[c.Name]; ok {
			record[i] = v
		}
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	_ = w.Write(record) // a strings.Builder takes everything
	w.Flush()
	return strings.TrimSuffix(b.String(), "\n")
}

// Rows gives the newest row of each probe as text by column, from the register as
// read: what a person would have to write to say the same.
func Rows(reg *register.Register) func(probe int) map[string]string {
	return func(probe int) map[string]string {
		rows := reg.Details[probe].Rows
		if len(rows) == 0 {
			return map[string]string{"probe": reg.Probes[probe].Name}
		}
		return rows[len(rows)-1].Cells
	}
}
