package compare

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"time"

	"probeward/pipeline/terminal"
	"probeward/schemas"
)

// Print writes the comparison for a terminal: what is compared, counts, then lists.
// No line is wider than 80 columns; names that are too long are cut in the middle.
func (d *Diff) Print(w io.Writer) {
	x, y, c := d.Windows.Earlier, d.Windows.Later, d.Counts
	terminal.Item(w, "earlier   ", fmt.Sprintf("%s: %s to %s", x.Folder, d.day(x.Start), d.day(x.End)))
	terminal.Item(w, "later     ", fmt.Sprintf("%s: %s to %s (%s)", y.Folder, d.day(y.Start), d.day(y.End), y.Zone))
	terminal.Item(w, "windows   ", d.Windows.Note)
	terminal.Item(w, "probes    ", fmt.Sprintf("%d then, %d now, %d in both: %d new at fault, %d still open, %d cleared, %d other changes, %d as they were; %d new, %d gone",
		c.ProbesEarlier, c.ProbesLater, c.ProbesInBoth, c.NewFaults, c.StillOpen, c.Cleared, c.OtherChanges, c.Unchanged, c.ProbesNew, c.ProbesGone))
	terminal.Item(w, "visits    ", fmt.Sprintf("%d new, %d still open, %d gone", c.VisitsNew, c.VisitsOpen, c.VisitsGone))
	terminal.Item(w, "readings  ", fmt.Sprintf("%s probe hours withdrawn and %s restored of the time that both runs looked at; besides, %s left out of what only the later run saw, and %s of what only the earlier one saw",
		number(c.Withdrawn), number(c.Restored), number(c.OnlyLater), number(c.OnlyEarlier)))
	d.changes(w, "new at fault", d.NewFaults)
	d.changes(w, "still open", d.StillOpen)
	d.changes(w, "cleared", d.Cleared)
	d.changes(w, "other changes", d.OtherChanges)
	d.visitLists(w)
	d.changes(w, "probes new in the later run", d.ProbesNew)
	d.changes(w, "probes gone from the later run", d.ProbesGone)
	d.dayList(w)
}

// day is the clock of the farm, without it where it stands at midnight.
func (d *Diff) day(stamp string) string {
	t, err := time.Parse(time.RFC3339, stamp)
	if err != nil {
		return stamp
	}
	return strings.TrimSuffix(t.In(d.zone).Format("Mon 2006-01-02 15:04"), " 00:00")
}

func number(hours float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", hours), ".0") }

// said writes a fault as people say it.
func said(fault string) string { return strings.ReplaceAll(fault, "_", " ") }

// row writes cells of known width, and faults in what is left of the line.
func row(w io.Writer, cells, faults string) {
	fmt.Fprintln(w, strings.TrimRight(cells+terminal.Cut(said(faults), terminal.Width-terminal.Columns(cells)), " "))
}

func (d *Diff) changes(w io.Writer, title string, list []Probe) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s: %d\n", title, len(list))
	for _, p := range list {
		change := cmp.Or(p.After, "-")
		if p.Before != p.After {
			change = cmp.Or(p.Before, "-") + " > " + change
		}
		fault := cmp.Or(p.FaultAfter, p.FaultBefore)
		row(w, fmt.Sprintf("  %s %s %s ", terminal.Pad(p.Probe, 20), terminal.Pad(p.Zone, 8), terminal.Pad(change, 20)), fault)
		if p.FaultBefore != "" && p.FaultAfter != "" && p.FaultBefore != p.FaultAfter {
			terminal.Item(w, "      it was ", said(p.FaultBefore)+" before")
		}
		if p.Override != "" {
			terminal.Item(w, "      a person's word: ", p.Override)
		}
		if p.Watch != "" && p.After != string(schemas.Fit) {
			terminal.Item(w, "      mended: ", p.Watch)
		}
	}
}

func (d *Diff) visitLists(w io.Writer) {
	for _, l := range []struct {
		title string
		list  []Visit
	}{{"visits new", d.VisitsNew}, {"visits still open", d.VisitsOpen}, {"visits gone", d.VisitsGone}} {
		if len(l.list) == 0 {
			continue
		}
		fmt.Fprintf(w, "\n%s: %d\n  rank         visit                    probes  min  suspected\n", l.title, len(l.list))
		for _, v := range l.list {
			rank := place(v.RankAfter)
			if v.RankBefore != v.RankAfter && v.RankBefore > 0 {
				rank = place(v.RankBefore) + " > " + rank
			}
			row(w, fmt.Sprintf("  %s %s %6d %4.0f  ", terminal.Pad(rank, 12), terminal.Pad(v.Visit, 24), len(v.Probes), v.Minutes), strings.Join(v.Faults, ", "))
		}
	}
}

func place(rank int64) string {
	if rank <= 0 {
		return "-"
	}
	return fmt.Sprint(rank)
}

func (d *Diff) dayList(w io.Writer) {
	if len(d.Readings) == 0 {
		return
	}
	fmt.Fprint(w, "\nreadings withdrawn and restored, hours of probes by zone and day\n  zone         day         withdrawn  restored  probes  why\n")
	for _, r := range d.Readings {
		row(w, fmt.Sprintf("  %s %s  %9.1f %9.1f %7d  ", terminal.Pad(r.Zone, 12), r.Day, r.Withdrawn, r.Restored, len(r.Probes)), strings.Join(r.Reasons, ", "))
	}
}
