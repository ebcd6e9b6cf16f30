package score

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"probeward/detectors/robust"
	"probeward/schemas"
)

// Column is one competitor of a printed table.
type Column struct {
	Name  string
	Tally *Tally
	Looks []string // the faults that it looks for; nil: not said
}

// looksFor says whether a competitor looks for a fault, as far as it says.
func (c *Column) looksFor(fault string) bool {
	return c.Looks == nil || slices.Contains(c.Looks, fault)
}

// normal95 is the standard normal deviate of a two-sided 95 % interval.
const normal95 = 1.959964

// Print writes the tables: the first column's in full, the others' totals beside it.
func Print(w io.Writer, columns []Column) error {
	var b strings.Builder
	printFaults(&b, columns)
	printTotals(&b, columns)
	printAlarms(&b, columns)
	for _, c := range columns {
		printReadings(&b, c)
	}
	printVerdicts(&b, columns)
	for _, c := range columns {
		printConfidence(&b, c)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// table aligns rows of cells parted by tabs; the first column is left-aligned.
func table(b *strings.Builder, title string, body func(row func(cells ...string))) {
	fmt.Fprintf(b, "%s\n", title)
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	body(func(cells ...string) { fmt.Fprintln(t, "  "+strings.Join(cells, "\t")) })
	t.Flush() // into a strings.Builder, which cannot fail
	b.WriteByte('\n')
}

func printFaults(b *strings.Builder, columns []Column) {
	t := columns[0].Tally
	table(b, "Faults that left a trace in the window, by fault (delay: from the onset to the start of the finding)", func(row func(...string)) {
		head := []string{"fault", "subject", "visible", "caught", "share (95 % interval)", "named", "missed, called fit", "median delay", "bad readings left out"}
		for _, c := range columns[1:] {
			head = append(head, "caught by "+c.Name)
		}
		row(append(head, "no trace: quiet, true name, other name", "not in the window")...)
		line := func(title string, f *FaultTally, caught func(*Tally) int) {
			if f.Visible+f.Invisible+f.Outside == 0 {
				return
			}
			cells := []string{title, string(f.Subject), fmt.Sprint(f.Visible), fmt.Sprint(f.Caught), interval(f.Caught, f.Visible),
				fmt.Sprint(f.Named), fmt.Sprint(f.CalledFit), delay(f.Delays), share(f.Bad)}
			for _, c := range columns[1:] {
				cells = append(cells, fmt.Sprint(caught(c.Tally)))
			}
			row(append(cells, fmt.Sprintf("%d: %d, %d, %d", f.Invisible, f.Quiet, f.TrueName, f.AnotherName), fmt.Sprint(f.Outside))...)
		}
		for _, fault := range faultOrder(t) {
			title := fault
			if !columns[0].looksFor(fault) {
				title += " (no detector)"
			}
			whole, forms := t.Whole(fault)
			line(title, &whole, func(o *Tally) int {
				f, _ := o.Whole(fault)
				return f.Caught
			})
			for _, key := range sorted(t.Faults) {
				if f := t.Faults[key]; forms > 1 && f.Fault == fault {
					line("  "+f.Form, f, func(o *Tally) int {
						if f := o.Faults[key]; f != nil {
							return f.Caught
						}
						return 0
					})
				}
			}
		}
	})
}

func printTotals(b *strings.Builder, columns []Column) {
	table(b, "Totals", func(row func(...string)) {
		head := []string{""}
		totals := make([]Totals, len(columns))
		for i, c := range columns {
			head = append(head, c.Name)
			totals[i] = c.Tally.Totals()
		}
		row(head...)
		line := func(name string, of func(Totals, *Tally) string) {
			cells := []string{name}
			for i, c := range columns {
				cells = append(cells, of(totals[i], c.Tally))
			}
			row(cells...)
		}
		line("farms", func(_ Totals, t *Tally) string { return fmt.Sprint(t.Farms) })
		line("visible faults caught", func(s Totals, _ *Tally) string { return share(s.Caught) })
		line("  and named", func(s Totals, _ *Tally) string { return share(s.Named) })
		line("  missed on a probe called fit", func(s Totals, _ *Tally) string { return share(s.CalledFit) })
		if looks := columns[0].Looks; looks != nil {
			cells := []string{"  of the faults that " + columns[0].Name + " has detectors for"}
			for _, c := range columns {
				var of Share
				for _, f := range c.Tally.Faults {
					if slices.Contains(looks, f.Fault) {
						of.N += f.Caught
						of.Of += f.Visible
					}
				}
				cells = append(cells, share(of))
			}
			row(cells...)
		}
		line("findings of another name on a subject at fault", func(_ Totals, t *Tally) string { return fmt.Sprint(t.Beside) })
		line("false alarms", func(s Totals, _ *Tally) string { return fmt.Sprint(s.Alarms) })
		line("  per 1,000 healthy probe-weeks", func(s Totals, _ *Tally) string { return fmt.Sprintf("%.1f (of %.0f)", s.PerThousand, s.HealthyWeeks) })
		line("healthy probes called doubtful, unfit or silent", func(s Totals, _ *Tally) string { return share(s.NotFit) })
		line("bad readings left out, "+Electrical, func(s Totals, _ *Tally) string { return share(s.Electrical) })
		line("bad readings left out, "+Response, func(s Totals, _ *Tally) string { return share(s.Response) })
		line("good readings lost", func(s Totals, _ *Tally) string { return share(s.GoodLost) })
		line("Brier score, named / at fault", func(s Totals, t *Tally) string {
			if t.Certain || s.Findings == 0 {
				return "-"
			}
			return fmt.Sprintf("%.3f / %.3f (of %d)", s.Brier, s.BrierAtFault, s.Findings)
		})
	})
}

func printAlarms(b *strings.Builder, columns []Column) {
	classes := map[string]bool{}
	faults := map[string]bool{}
	for _, c := range columns {
		for k := range c.Tally.HealthyWeeks {
			classes[k] = true
		}
		for k := range c.Tally.Alarms {
			classes[k] = true
		}
	}
	for k := range columns[0].Tally.AlarmsBy {
		faults[k] = true
	}
	table(b, "False alarms by what the subject is easily mistaken for", func(row func(...string)) {
		head := []string{"class", "healthy probe-weeks"}
		for _, c := range columns {
			head = append(head, c.Name)
		}
		row(head...)
		for _, class := range sorted(classes) {
			weeks := "-"
			if n, ok := columns[0].Tally.HealthyWeeks[class]; ok {
				weeks = fmt.Sprintf("%.0f", n)
			}
			cells := []string{class, weeks}
			for _, c := range columns {
				cells = append(cells, fmt.Sprint(c.Tally.Alarms[class]))
			}
			row(cells...)
		}
	})
	if len(faults) > 0 {
		table(b, "False alarms of "+columns[0].Name+" by the fault that was cried", func(row func(...string)) {
			for _, name := range sorted(faults) {
				row(name, fmt.Sprint(columns[0].Tally.AlarmsBy[name]))
			}
		})
	}
}

func printReadings(b *strings.Builder, c Column) {
	table(b, "Readings in the window, "+c.Name, func(row func(...string)) {
		for _, k := range []string{Electrical, Response, Suspect} {
			row("bad, "+k, share(c.Tally.Bad[k]), "left out")
		}
		for _, k := range []string{goodHealthy, goodBefore, goodAfter} {
			row("good, "+k, share(c.Tally.Good[k]), "lost")
		}
	})
}

func printVerdicts(b *strings.Builder, columns []Column) {
	table(b, "Verdicts at the window's end: of healthy probes, of probes at a visible fault (their own or their logger's)", func(row func(...string)) {
		head := []string{""}
		for _, v := range schemas.Verdicts() {
			head = append(head, string(v))
		}
		row(head...)
		for _, c := range columns {
			for _, of := range []struct {
				name     string
				verdicts map[schemas.Verdict]int
			}{{"healthy, " + c.Name, c.Tally.Healthy}, {"at fault, " + c.Name, c.Tally.Faulty}} {
				cells := []string{of.name}
				for _, v := range schemas.Verdicts() {
					cells = append(cells, fmt.Sprint(of.verdicts[v]))
				}
				row(cells...)
			}
		}
	})
}

func printConfidence(b *strings.Builder, c Column) {
	if c.Tally.Certain {
		return
	}
	table(b, "Confidence of "+c.Name+" against the outcome, unmasked findings in the window", func(row func(...string)) {
		row("confidence", "findings", "mean", "at fault", "and by that name")
		low := 0.0
		for i, band := range c.Tally.Bands {
			cells := []string{fmt.Sprintf("%.1f-%.1f", low, bandEnds[i]), fmt.Sprint(band.N), "-", "-", "-"}
			if band.N > 0 {
				cells[2] = fmt.Sprintf("%.2f", band.Confidence/float64(band.N))
				cells[3] = share(Share{band.AtFault, band.N})
				cells[4] = share(Share{band.Named, band.N})
			}
			row(cells...)
			low = bandEnds[i]
		}
	})
}

// faultOrder is that of the table of faults, what it does not know last.
func faultOrder(t *Tally) []string {
	var names []string
	for _, key := range sorted(t.Faults) {
		names = append(names, t.Faults[key].Fault)
	}
	names = slices.Compact(names)
	place := func(name string) int {
		if n := schemas.FaultBit(name); n >= 0 {
			return n
		}
		return math.MaxInt
	}
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(place(a), place(b)) })
	return names
}

func share(s Share) string {
	v, ok := s.Value()
	if !ok {
		return "- (of 0)"
	}
	return fmt.Sprintf("%.2f %% (%d of %d)", 100*v, s.N, s.Of)
}

func interval(n, of int) string {
	if of == 0 {
		return "-"
	}
	low, high := robust.Wilson(n, of, normal95)
	return fmt.Sprintf("%.2f (%.2f-%.2f)", float64(n)/float64(of), low, high)
}

func delay(hours []float64) string {
	if len(hours) == 0 {
		return "-"
	}
	hours = slices.Clone(hours)
	slices.Sort(hours)
	n := len(hours)
	median := (hours[(n-1)/2] + hours[n/2]) / 2
	if median >= 48 || median <= -48 {
		return fmt.Sprintf("%.1f d", median/24)
	}
	return fmt.Sprintf("%.1f h", median)
}
