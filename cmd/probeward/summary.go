package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"

	"probeward/pipeline"
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
	fmt.Fprintf(w, "window   %s to %s (%s)\n", local(m.Period.Start), local(m.Period.End), s.Zone)
	fmt.Fprintf(w, "files    %d read", t.Files-t.Failed)
	if t.Failed > 0 {
		fmt.Fprintf(w, ", %d not, or only in part", t.Failed)
	}
	fmt.Fprintf(w, "\nreadings %d read = %d used + %d repeated + %d rejected\n", t.Read, t.Used, t.Repeated, t.Rejected)
	counts := make([]string, 0, 6)
	for _, v := range []schemas.Verdict{schemas.Fit, schemas.Doubtful, schemas.Unfit, schemas.Silent, schemas.Settling, schemas.Unknown} {
		if n := m.Verdicts[string(v)]; n > 0 {
			counts = append(counts, fmt.Sprintf("%d %s", n, v))
		}
	}
	fmt.Fprintf(w, "probes   %d: %s\n", t.Probes, strings.Join(counts, ", "))
	found, clear, not := 0, 0, 0
	for _, d := range m.Detectors {
		found, clear = found+d.Found, clear+d.Clear
		not += d.NotRun + d.Absent + d.TooShort + d.NoChance
	}
	fmt.Fprintf(w, "checks   %d found, %d clear, %d not evaluated (health.csv says why)\n", found, clear, not)
	blind := 0
	for _, c := range s.Judged.Coverage {
		if c.Blind {
			blind++
		}
	}
	if blind > 0 {
		fmt.Fprintf(w, "blind    %d of %d zone depths have no probe to trust (coverage.csv)\n", blind, len(s.Judged.Coverage))
	}
	queue(w, s)
	problems(w, s, out)
	fmt.Fprintf(w, "\ntables   %s (%.1f s)\n", out, took.Seconds())
}

// queue shows the top of the queue.
func queue(w io.Writer, s *pipeline.Summary) {
	if len(s.Visits) == 0 {
		fmt.Fprint(w, "visits   none\n")
		return
	}
	fmt.Fprintf(w, "\nvisits   the first %d of %d\n", min(summaryVisits, len(s.Visits)), len(s.Visits))
	t := table.NewWriter()
	t.SetOutputMirror(w)
	style := table.StyleDefault
	style.Options = table.OptionsNoBordersAndSeparators
	style.Format.Header = text.FormatLower
	t.SetStyle(style)
	t.AppendHeader(table.Row{"#", "where", "probes", "min", "sure", "suspected"})
	for i, v := range s.Visits[:min(summaryVisits, len(s.Visits))] {
		where := strings.TrimSpace(v.Block + " " + v.Name)
		t.AppendRow(table.Row{i + 1, where, len(v.Probes), fmt.Sprintf("%.0f", v.Minutes), fmt.Sprintf("%.0f%%", 100*v.Confidence), strings.ReplaceAll(strings.Join(v.Faults, ", "), "_", " ")})
	}
	t.SetColumnConfigs([]table.ColumnConfig{
		{Number: 1, Align: text.AlignRight}, {Number: 2, WidthMax: 26, WidthMaxEnforcer: text.Trim}, {Number: 3, Align: text.AlignRight}, {Number: 4, Align: text.AlignRight},
		{Number: 5, Align: text.AlignRight}, {Number: 6, WidthMax: 28, WidthMaxEnforcer: text.Trim},
	})
	t.Render()
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
		fmt.Fprintf(w, "  - %s\n", strings.Join(wrap(n, 76), "\n    "))
	}
	if more := len(notes) - shownProblems; more > 0 {
		fmt.Fprintf(w, "  and %d more in %s\n", more, strings.TrimSuffix(out, "/")+"/manifest.json")
	}
}

// wrap breaks words into lines of at most width characters, where it can.
func wrap(words string, width int) (lines []string) {
	line := ""
	for _, word := range strings.Fields(words) {
		if line != "" && len(line)+1+len(word) > width {
			lines = append(lines, line)
			line = ""
		}
		line = strings.TrimSpace(line + " " + word)
	}
	return append(lines, line)
}
