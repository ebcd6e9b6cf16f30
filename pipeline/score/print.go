package score

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

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

// Print writes the tables, in 80 columns: the first competitor's in full, the others
// beside it where there is room.
func Print(w io.Writer, columns []Column) error {
	var b strings.Builder
	printTotals(&b, columns)
	printFaults(&b, columns[0])
	printReadingsByFault(&b, columns[0].Tally)
	printBeside(&b, columns)
	printAlarms(&b, columns)
	printReadings(&b, columns)
	printVerdicts(&b, columns)
	for _, c := range columns {
		printConfidence(&b, c)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// eachFault calls f for each fault, and for each of its forms where it has several.
func eachFault(t *Tally, f func(title string, row *FaultTally)) {
	for _, fault := range faultOrder(t) {
		whole, forms := t.Whole(fault)
		f(fault, &whole)
		for _, key := range sorted(t.Faults) {
			if row := t.Faults[key]; forms > 1 && row.Fault == fault {
				f("  "+row.Form, row)
			}
		}
	}
}

func printFaults(b *strings.Builder, c Column) {
	s := sheet{title: `Faults of ` + c.Name + `, by fault and form
  all: injected; seen: left a trace in the window that anybody could see;
  caught, named: of these, by an unmasked finding; 95 %: interval of the share;
  fit: missed on a probe called fit; delay: median, onset to the finding's start`}
	s.row("", "all", "seen", "caught", "95 %", "named", "fit", "delay")
	missing := false
	eachFault(c.Tally, func(title string, f *FaultTally) {
		if !c.looksFor(f.Fault) && title == f.Fault {
			title, missing = title+" *", true
		}
		s.row(title, fmt.Sprint(f.Visible+f.Invisible+f.Outside), fmt.Sprint(f.Visible), fmt.Sprint(f.Caught), interval(f.Caught, f.Visible),
			fmt.Sprint(f.Named), fmt.Sprint(f.CalledFit), delay(f.Delays))
	})
	if missing {
		s.title += "\n  * has no detector"
	}
	s.print(b)
}

func printReadingsByFault(b *strings.Builder, t *Tally) {
	s := sheet{title: `Readings that a fault falsified, and faults that left no trace in the window
  quiet: nothing was said of the subject; true: the fault was named after all;
  other: something else was; before: it ended before the window`}
	s.row("", "bad", "left out", "hidden", "quiet", "true", "other", "before")
	for _, fault := range faultOrder(t) {
		f, _ := t.Whole(fault)
		s.row(fault, fmt.Sprint(f.Bad.Of), percent(f.Bad), fmt.Sprint(f.Invisible), fmt.Sprint(f.Quiet), fmt.Sprint(f.TrueName), fmt.Sprint(f.AnotherName), fmt.Sprint(f.Outside))
	}
	s.print(b)
}

func printBeside(b *strings.Builder, columns []Column) {
	if len(columns) < 2 {
		return
	}
	s := sheet{title: "Caught, by fault"}
	head := []string{"", "seen"}
	for _, c := range columns {
		head = append(head, c.Name)
	}
	s.row(head...)
	for _, fault := range faultOrder(columns[0].Tally) {
		whole, _ := columns[0].Tally.Whole(fault)
		cells := []string{fault, fmt.Sprint(whole.Visible)}
		for _, c := range columns {
			f, _ := c.Tally.Whole(fault)
			cells = append(cells, fmt.Sprint(f.Caught))
		}
		s.row(cells...)
	}
	s.print(b)
}

func printTotals(b *strings.Builder, columns []Column) {
	first := columns[0].Tally.Totals()
	s := sheet{title: fmt.Sprintf("Totals of %d farms, %.0f healthy probe-weeks", columns[0].Tally.Farms, first.HealthyWeeks)}
	head := []string{"", "of"}
	totals := make([]Totals, len(columns))
	for i, c := range columns {
		head = append(head, c.Name)
		totals[i] = c.Tally.Totals()
	}
	s.row(head...)
	line := func(name, of string, value func(Totals, *Tally) string) {
		cells := []string{name, of}
		for i, c := range columns {
			cells = append(cells, value(totals[i], c.Tally))
		}
		s.row(cells...)
	}
	shares := func(name string, value func(Totals) Share) {
		line(name, fmt.Sprint(value(first).Of), func(t Totals, _ *Tally) string { return percent(value(t)) })
	}
	shares("visible faults caught", func(t Totals) Share { return t.Caught })
	shares("  and named", func(t Totals) Share { return t.Named })
	shares("  missed on a probe called fit", func(t Totals) Share { return t.CalledFit })
	if looks := columns[0].Looks; looks != nil {
		of := func(t *Tally) (of Share) {
			for _, f := range t.Faults {
				if slices.Contains(looks, f.Fault) {
					of.N += f.Caught
					of.Of += f.Visible
				}
			}
			return of
		}
		line("  of faults with a detector", fmt.Sprint(of(columns[0].Tally).Of), func(_ Totals, t *Tally) string { return percent(of(t)) })
	}
	line("other name, subject at fault", "", func(_ Totals, t *Tally) string { return fmt.Sprint(t.Beside) })
	line("false alarms", "", func(t Totals, _ *Tally) string { return fmt.Sprint(t.Alarms) })
	line("  causes", "", func(t Totals, _ *Tally) string { return fmt.Sprint(t.Causes) })
	line("  per 1,000 healthy probe-weeks", "", func(t Totals, _ *Tally) string { return fmt.Sprintf("%.1f", t.PerThousand) })
	shares("healthy probes not called fit", func(t Totals) Share { return t.NotFit })
	shares("bad readings out, "+Electrical, func(t Totals) Share { return t.Electrical })
	shares("bad readings out, "+Response, func(t Totals) Share { return t.Response })
	shares("good readings lost", func(t Totals) Share { return t.GoodLost })
	brier := func(name string, of func(Totals) float64) {
		line(name, fmt.Sprint(first.Findings), func(t Totals, c *Tally) string {
			if c.Certain || t.Findings == 0 {
				return "-"
			}
			return fmt.Sprintf("%.3f", of(t))
		})
	}
	brier("Brier score, named", func(t Totals) float64 { return t.Brier })
	brier("Brier score, at fault", func(t Totals) float64 { return t.BrierAtFault })
	s.print(b)
}

func printAlarms(b *strings.Builder, columns []Column) {
	classes := map[string]bool{}
	for _, c := range columns {
		for k := range c.Tally.HealthyWeeks {
			classes[k] = true
		}
		for k := range c.Tally.Alarms {
			classes[k] = true
		}
	}
	s := sheet{title: `False alarms by what the subject is easily mistaken for
  weeks: of healthy probes; causes: a logger's or a zone's once`}
	head := []string{"", "weeks"}
	for i, c := range columns {
		head = append(head, c.Name)
		if i == 0 {
			head = append(head, "causes")
		}
	}
	s.row(head...)
	for _, class := range sorted(classes) {
		cells := []string{class, "-"}
		if n, ok := columns[0].Tally.HealthyWeeks[class]; ok {
			cells[1] = fmt.Sprintf("%.0f", n)
		}
		for i, c := range columns {
			cells = append(cells, fmt.Sprint(c.Tally.Alarms[class]))
			if i == 0 {
				cells = append(cells, fmt.Sprint(c.Tally.Causes[class]))
			}
		}
		s.row(cells...)
	}
	s.print(b)
	if by := columns[0].Tally.AlarmsBy; len(by) > 0 {
		s := sheet{title: "False alarms of " + columns[0].Name + ", by the fault that was cried"}
		for _, name := range sorted(by) {
			s.row(name, fmt.Sprint(by[name]))
		}
		s.print(b)
	}
}

func printReadings(b *strings.Builder, columns []Column) {
	s := sheet{title: "Readings in the window: bad ones left out, good ones lost"}
	head := []string{"", "of"}
	for _, c := range columns {
		head = append(head, c.Name)
	}
	s.row(head...)
	line := func(title string, of func(*Tally) Share) {
		cells := []string{title, fmt.Sprint(of(columns[0].Tally).Of)}
		for _, c := range columns {
			cells = append(cells, percent(of(c.Tally)))
		}
		s.row(cells...)
	}
	for _, k := range []string{Electrical, Response, Suspect} {
		line("bad, "+k, func(t *Tally) Share { return t.Bad[k] })
	}
	for _, k := range []string{goodHealthy, goodBefore, goodAfter} {
		line("good, "+k, func(t *Tally) Share { return t.Good[k] })
	}
	s.print(b)
}

func printVerdicts(b *strings.Builder, columns []Column) {
	s := sheet{title: "Verdicts: of healthy probes, of probes at a visible fault or on such a logger"}
	head := []string{""}
	for _, v := range schemas.Verdicts() {
		head = append(head, string(v))
	}
	s.row(head...)
	for _, c := range columns {
		for _, of := range []struct {
			name     string
			verdicts map[schemas.Verdict]int
		}{{"healthy, " + c.Name, c.Tally.Healthy}, {"at fault, " + c.Name, c.Tally.Faulty}} {
			cells := []string{of.name}
			for _, v := range schemas.Verdicts() {
				cells = append(cells, fmt.Sprint(of.verdicts[v]))
			}
			s.row(cells...)
		}
	}
	s.print(b)
}

func printConfidence(b *strings.Builder, c Column) {
	if c.Tally.Certain {
		return
	}
	s := sheet{title: "Confidence of " + c.Name + " against the outcome, unmasked findings in the window"}
	s.row("confidence", "findings", "mean", "at fault", "and by that name")
	low := 0.0
	for i, band := range c.Tally.Bands {
		cells := []string{fmt.Sprintf("%.1f-%.1f", low, bandEnds[i]), fmt.Sprint(band.N), "-", "-", "-"}
		if band.N > 0 {
			cells[2] = fmt.Sprintf("%.2f", band.Confidence/float64(band.N))
			cells[3] = share(Share{band.AtFault, band.N})
			cells[4] = share(Share{band.Named, band.N})
		}
		s.row(cells...)
		low = bandEnds[i]
	}
	s.print(b)
}

// faultOrder is that of the table of faults, what it does not know last.
func faultOrder(t *Tally) []string {
	var names []string
	for _, key := range sorted(t.Faults) {
		names = append(names, t.Faults[key].Fault)
	}
	slices.Sort(names)
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
