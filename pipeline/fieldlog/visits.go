package fieldlog

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
	"probeward/schemas"
)

// What a crew can have found besides a fault.
const (
	NothingWrong = "nothing_wrong"
	NotSeen      = "not_seen"
)

// Outcome of a visit.
type Outcome string

// The outcomes.
const (
	Repaired       Outcome = "repaired"
	Replaced       Outcome = "replaced"
	RegisterMended Outcome = "register_mended"
	Left           Outcome = "left"
	CouldNotReach  Outcome = "could_not_reach"
)

var outcomes = []string{string(Repaired), string(Replaced), string(RegisterMended), string(Left), string(CouldNotReach)}

// Visit is one row of what the crew found and did.
type Visit struct {
	Line                int
	Visit               string // its name in the queue; may be empty
	VisitedOn           int64
	Post, Logger, Probe string // at least one is there
	Found               string // a fault's name, NothingWrong or NotSeen
	Outcome             Outcome
	Parts               string
	Minutes             detect.Maybe[float64]
	Note                string
}

// LoadVisits reads what the crew brought back, sorted by time and then by line.
func LoadVisits(path string, zone *time.Location) ([]Visit, []Note, error) {
	f, err := table.Load(path, schemas.Visits, zone)
	if err != nil {
		return nil, nil, fmt.Errorf("visits: %w", err)
	}
	vs, notes := visits(f)
	return vs, notes, nil
}

func visits(f *table.File) ([]Visit, []Note) {
	var vs []Visit
	notes := f.Notes
	found := []string{NothingWrong, NotSeen}
	for _, fault := range schemas.Faults() {
		found = append(found, fault.Name)
	}
	for _, r := range f.Rows {
		v := Visit{Line: r.Line, Visit: r.Text("visit"), VisitedOn: r.Time("visited_on").V,
			Post: r.Text("post"), Logger: r.Text("logger"), Probe: r.Text("probe"),
			Parts: r.Text("parts"), Minutes: r.Number("minutes"), Note: r.Text("note")}
		var ok, fine bool
		var outcome string
		v.Found, ok = word(r, "found", found, &notes)
		outcome, fine = word(r, "outcome", outcomes, &notes)
		v.Outcome = Outcome(outcome)
		if v.Post == "" && v.Logger == "" && v.Probe == "" && v.Visit == "" {
			notes = append(notes, r.Note("", table.Error, "neither visit, post, logger nor probe says where; the row is left out"))
			ok = false
		}
		if v.Minutes.OK && v.Minutes.V < 0 {
			notes = append(notes, r.Note("minutes", table.Warning, "less than 0 minutes; taken as missing"))
			v.Minutes = detect.Maybe[float64]{}
		}
		if ok && fine {
			vs = append(vs, v)
		}
	}
	slices.SortStableFunc(vs, func(a, b Visit) int {
		return cmp.Or(cmp.Compare(a.VisitedOn, b.VisitedOn), cmp.Compare(a.Line, b.Line))
	})
	table.SortNotes(notes)
	return vs, notes
}

// word reads a cell that holds one word of a list, whatever its case and blanks.
func word(r table.Row, column string, words []string, notes *[]Note) (string, bool) {
	text := r.Text(column)
	for _, w := range words {
		if table.Fold(text) == table.Fold(w) {
			return w, true
		}
	}
	n := r.Note(column, table.Error, fmt.Sprintf("%q is none of %s; the row is left out", text, strings.Join(words, ", ")))
	n.Suggest, _ = table.Nearest(text, words)
	*notes = append(*notes, n)
	return "", false
}

// Action is what a person orders of a probe.
type Action string

// The actions: findings of the time are not to count; readings of the time are to be
// used whatever the scan finds; readings of the time are to be left out.
const (
	Ignore  Action = "ignore"
	Accept  Action = "accept"
	Exclude Action = "exclude"
)

// Override is a person's word about a probe for a time. Open ends are math.MinInt64
// and math.MaxInt64.
type Override struct {
	Line   int
	Probe  string
	Action Action
	detect.Span
	Why string
}

// LoadOverrides reads a person's words, sorted by probe, start and line. Whether the
// probes exist is the register's to say.
func LoadOverrides(path string, zone *time.Location) ([]Override, []Note, error) {
	f, err := table.Load(path, schemas.Overrides, zone)
	if err != nil {
		return nil, nil, fmt.Errorf("overrides: %w", err)
	}
	all, notes := overrides(f)
	return all, notes, nil
}

func overrides(f *table.File) ([]Override, []Note) {
	var all []Override
	notes := f.Notes
	actions := []string{string(Ignore), string(Accept), string(Exclude)}
	for _, r := range f.Rows {
		o := Override{Line: r.Line, Probe: r.Text("probe"), Why: r.Text("why"), Span: detect.Span{Start: math.MinInt64, End: math.MaxInt64}}
		action, ok := word(r, "action", actions, &notes)
		o.Action = Action(action)
		// A bound that cannot be read must not make the override last for ever.
		for _, c := range []struct {
			column string
			to     *int64
		}{{"from", &o.Start}, {"until", &o.End}} {
			if t := r.Time(c.column); t.OK {
				*c.to = t.V
			} else if r.Unread(c.column) {
				n := r.Note(c.column, table.Error, c.column+" cannot be read, and without it this would hold for ever; the row is left out")
				n.Subject, n.Name = "probe", o.Probe
				notes, ok = append(notes, n), false
			}
		}
		if o.End <= o.Start {
			notes, ok = append(notes, r.Note("until", table.Error, "until is not after from; the row is left out")), false
		}
		if ok {
			all = append(all, o)
		}
	}
	slices.SortStableFunc(all, func(a, b Override) int {
		return cmp.Or(cmp.Compare(a.Probe, b.Probe), cmp.Compare(a.Start, b.Start), cmp.Compare(a.Line, b.Line))
	})
	for i := 1; i < len(all); i++ {
		a, b := all[i-1], all[i]
		if both := a.Overlap(b.Span); a.Probe == b.Probe && a.Action != b.Action && both.Start < both.End {
			notes = append(notes, Note{File: f.Name, Line: b.Line, Column: "action", Severity: table.Warning, Subject: "probe", Name: b.Probe,
				Text: string(b.Action), Problem: fmt.Sprintf("line %d says %s of the same probe at the same time", a.Line, a.Action)})
		}
	}
	table.SortNotes(notes)
	return all, notes
}
