package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"probeward/pipeline"
	"probeward/pipeline/terminal"
	"probeward/schemas"
)

// summaryVisits is how many visits the summary shows; the queue has them all.
const summaryVisits = 8

// summarise says what a run found, in 80 columns.
func summarise(w io.Writer, s *pipeline.Summary, out string, took time.Duration) {
	m := s.Manifest
	t := m.Totals
	local := func(stamp string) string {
		at, err := time.Parse(time.RFC3339, stamp)
		if err != nil {
			return stamp
		}
		return at.In(s.Zone).Format("Mon 2006-01-02 15:04")
	}
	item := func(head, words string) { terminal.Item(w, head, words) }
	item("window   ", fmt.Sprintf("%s to %s (%s)", local(m.Period.Start), local(m.Period.End), s.Zone))
	files := fmt.Sprintf("%d read", t.Files-t.Failed)
	if t.Failed > 0 {
		files += fmt.Sprintf(", %d not, or only in part", t.Failed)
	}
	item("files    ", files)
	item("readings ", fmt.Sprintf("%d read = %d used + %d repeated + %d rejected", t.Read, t.Used, t.Repeated, t.Rejected))
	counts := make([]string, 0, 6)
	for _, v := range []schemas.Verdict{schemas.Fit, schemas.Doubtful, schemas.Unfit, schemas.Silent, schemas.Settling, schemas.Unknown} {
		if n := m.Verdicts[string(v)]; n > 0 {
			counts = append(counts, fmt.Sprintf("%d %s", n, v))
		}
	}
	item("probes   ", fmt.Sprintf("%d: %s", t.Probes, strings.Join(counts, ", ")))
	found, clear, not := 0, 0, 0
	for _, d := range m.Detectors {
		found, clear = found+d.Found, clear+d.Clear
		not += d.NotRun + d.Absent + d.TooShort + d.NoChance
	}
	item("checks   ", fmt.Sprintf("%d found, %d clear, %d not evaluated (health.csv says why)", found, clear, not))
	blind := 0
	for _, c := range s.Judged.Coverage {
		if c.Blind {
			blind++
		}
	}
	if blind > 0 {
		item("blind    ", fmt.Sprintf("%d of %d zone depths have no probe to trust (coverage.csv)", blind, len(s.Judged.Coverage)))
	}
	fieldWords(w, s)
	queue(w, s)
	problems(w, s, out)
	fmt.Fprintln(w)
	item("tables   ", fmt.Sprintf("%s (%.1f s)", out, took.Seconds()))
}

// queue shows the top of the queue.
func queue(w io.Writer, s *pipeline.Summary) {
	if len(s.Visits) == 0 {
		fmt.Fprint(w, "visits   none\n")
		return
	}
	shown := s.Visits[:min(summaryVisits, len(s.Visits))]
	fmt.Fprintf(w, "\nvisits   the first %d of %d\n  # %s probes  min  sure  suspected\n", len(shown), len(s.Visits), terminal.Pad("where", 28))
	for i, v := range shown {
		line := fmt.Sprintf("%3d %s %6d %4.0f %4.0f%%  ", i+1, terminal.Pad(strings.TrimSpace(v.Block+" "+v.Name), 28), len(v.Probes), v.Minutes, 100*v.Confidence)
		faults := strings.ReplaceAll(strings.Join(v.Faults, ", "), "_", " ")
		fmt.Fprintln(w, strings.TrimRight(line+terminal.Cut(faults, terminal.Width-terminal.Columns(line)), " "))
	}
}

// shownProblems is how many notes the summary shows; the manifest has them all.
const shownProblems = 6

// problems says what was guessed or went wrong.
func problems(w io.Writer, s *pipeline.Summary, out string) {
	notes := s.Manifest.Warnings
	if len(notes) == 0 {
		return
	}
	fmt.Fprintln(w, "\nnotes")
	for _, n := range notes[:min(shownProblems, len(notes))] {
		terminal.Item(w, "  - ", n)
	}
	if more := len(notes) - shownProblems; more > 0 {
		terminal.Item(w, "  ", fmt.Sprintf("and %d more in %s", more, strings.TrimSuffix(out, "/")+"/manifest.json"))
	}
}
