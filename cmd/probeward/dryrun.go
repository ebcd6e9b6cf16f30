package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline"
	"probeward/pipeline/read"
	"probeward/pipeline/terminal"
)

// foretell says what a scan would rest on: files, rows, spans, joins. It is the
// answer of --dry-run, so it goes to stdout.
func foretell(w io.Writer, s *pipeline.Summary) error {
	a := s.Arranged
	local := func(t int64) string { return time.UnixMicro(t).In(s.Zone).Format("2006-01-02 15:04") }
	terminal.Item(w, "window    ", fmt.Sprintf("%s to %s (%s), looking back to %s",
		local(a.Period.Window.Start), local(a.Period.Window.End), s.Zone, local(a.Period.Lookback)))
	terminal.Item(w, "          ", a.Why)
	fmt.Fprintf(w, "\nfiles\n")
	var total read.File
	for _, f := range a.Files {
		terminal.Item(w, "  ", fmt.Sprintf("%s: %d rows, %d readings read = %d used + %d repeated + %d rejected", f.Path, f.Rows, f.Read, f.Used, f.Repeated, f.Rejected))
		if f.First != 0 {
			span := fmt.Sprintf("from %s to %s", local(f.First), local(f.Last))
			if len(f.Loggers) > 0 {
				span += ", logger " + strings.Join(f.Loggers, " ")
			}
			terminal.Item(w, "    ", span)
		}
		if f.Layout != "" {
			terminal.Item(w, "    ", f.Layout)
		}
		if len(f.IgnoredColumns) > 0 {
			terminal.Item(w, "    columns left: ", strings.Join(f.IgnoredColumns, ", "))
		}
		if f.Err != "" {
			terminal.Item(w, "    ", "not read to the end: "+f.Err)
		}
		total.Rows += f.Rows
		total.Read, total.Used = total.Read+f.Read, total.Used+f.Used
		total.Repeated, total.Rejected = total.Repeated+f.Repeated, total.Rejected+f.Rejected
	}
	terminal.Item(w, "  ", fmt.Sprintf("together: %d rows, %d readings read = %d used + %d repeated + %d rejected", total.Rows, total.Read, total.Used, total.Repeated, total.Rejected))
	joins(w, s)
	reasons(w, a.Rejects)
	if len(s.Notes)+len(s.TableNotes) > 0 {
		fmt.Fprintln(w, "\nnotes")
		for _, n := range s.Notes {
			terminal.Item(w, "  - ", n)
		}
		for _, n := range s.TableNotes {
			terminal.Item(w, "  - ", n.String())
		}
	}
	_, err := fmt.Fprintln(w, "\na scan would write its tables to --out; nothing was judged or written")
	return err
}

// joins says how the readings met the register.
func joins(w io.Writer, s *pipeline.Summary) {
	a, never := s.Arranged, []string{}
	for i := range s.Probes {
		if a.Peaks[i].Stand == 0 {
			never = append(never, s.Probes[i].Name)
		}
	}
	fmt.Fprintf(w, "\njoins\n  %d of %d probes of the register have values in the period\n", len(s.Probes)-len(never), len(s.Probes))
	if len(never) > 0 {
		terminal.Item(w, "  without: ", strings.Join(never, " "))
	}
	for i := range s.Probes {
		p := &s.Probes[i]
		if p.Quantity == detect.Raw {
			terminal.Item(w, "  ", fmt.Sprintf("%s: %s in %s cannot be made standard: only holes and stands are judged", p.Name, p.Kind, p.Unit))
		}
	}
}

// reasons sums the rejects by why, the most readings first.
func reasons(w io.Writer, rejects []read.Reject) {
	if len(rejects) == 0 {
		return
	}
	count := map[string]int64{}
	for _, r := range rejects {
		count[r.Why] += r.Readings
	}
	whys := make([]string, 0, len(count))
	for why := range count {
		whys = append(whys, why)
	}
	slices.SortFunc(whys, func(a, b string) int { return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(a, b)) })
	fmt.Fprintln(w, "\nrejected")
	const shown = 12
	for _, why := range whys[:min(shown, len(whys))] {
		terminal.Item(w, fmt.Sprintf("  %8d  ", count[why]), why)
	}
	if more := len(whys) - shown; more > 0 {
		fmt.Fprintf(w, "  and %d reasons more, in rejects.csv of a scan\n", more)
	}
}
