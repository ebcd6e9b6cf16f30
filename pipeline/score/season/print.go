package season

import (
	"fmt"
	"io"
	"strings"
)

// Print writes the report in lines of at most 80 characters. With all, every fault
// that nobody found, every visit for nothing and
// every false finding is listed.
func (r *Report) Print(w io.Writer, all bool) error {
	var b strings.Builder
	r.printWeeks(&b)
	r.printFaults(&b)
	r.printVisits(&b)
	r.printAlarms(&b)
	r.printReadings(&b)
	if all {
		list(&b, "Never found", r.Never)
		list(&b, "Visits for nothing", r.Visits.ForNothing)
		list(&b, "False findings", r.Alarms.List)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (r *Report) printWeeks(b *strings.Builder) {
	fmt.Fprintf(b, "Week by week: visible faults at its end, the visits of the round after it, false\nfindings, and probe-days of failed readings that stood as usable\n")
	fmt.Fprintf(b, "  %4s  %-10s %5s %4s %6s %6s %5s %7s %6s %7s %7s\n", "week", "until", "open", "new", "found", "visits", "real", "mended", "false", "repeat", "stood")
	var sum Week
	for k, x := range r.Weeks {
		fmt.Fprintf(b, "  %4d  %-10.10s %5d %4d %6d %6d %5d %7d %6d %7d %7.1f\n",
			k+1, x.Until, x.Open, x.New, x.Found, x.Visits, x.Real, x.Mended, x.Alarms, x.Repeats, x.BadStood)
		sum.New, sum.Found, sum.Visits, sum.Real = sum.New+x.New, sum.Found+x.Found, sum.Visits+x.Visits, sum.Real+x.Real
		sum.Mended, sum.Alarms, sum.Repeats, sum.BadStood = sum.Mended+x.Mended, sum.Alarms+x.Alarms, sum.Repeats+x.Repeats, sum.BadStood+x.BadStood
	}
	fmt.Fprintf(b, "  %4s  %-10s %5s %4d %6d %6d %5d %7d %6d %7d %7.1f\n\n", "", "all", "", sum.New, sum.Found, sum.Visits, sum.Real, sum.Mended, sum.Alarms, sum.Repeats, sum.BadStood)
}

func (r *Report) printFaults(b *strings.Builder) {
	b.WriteString("Visible faults, and days from the onset to the end of the week that reported it;\nfrom shown: from the end of the first week in which its readings showed it\n")
	head := func(name string) {
		fmt.Fprintf(b, "  %-27s %20s %13s %13s\n", "", "", "from onset", "from shown")
		fmt.Fprintf(b, "  %-27s %3s %4s %5s %6s %6s %6s %6s %6s\n", name, "all", "told", "named", "mended", "half", "90 %", "half", "90 %")
	}
	row := func(x Row) {
		fmt.Fprintf(b, "  %-27s %3d %4d %5d %6d %6s %6s %6s %6s\n", x.Name, x.Visible, x.Reported, x.Named, x.Mended,
			x.MedianDays, x.P90Days, x.MedianShown, x.P90Shown)
	}
	head("family")
	for _, x := range r.Families {
		row(x)
	}
	row(r.Faults)
	b.WriteByte('\n')
	head("fault")
	for _, x := range r.Kinds {
		row(x)
	}
	for _, x := range r.Kinds {
		if !x.MedianWaterings.None {
			fmt.Fprintf(b, "  %s, waterings to the report: half %s, 90 %% %s\n", x.Name, x.MedianWaterings, x.P90Waterings)
		}
	}
	fmt.Fprintf(b, "  never found: %d; never showed, and counted nowhere: %d\n\n", len(r.Never), r.Hidden)
}

func (r *Report) printVisits(b *strings.Builder) {
	v := r.Visits
	fmt.Fprintf(b, "Visits: %d made, %d reached\n", v.Made, v.Reached)
	fmt.Fprintf(b, "  met a fault                     %s\n", share(v.Real, v.Reached))
	fmt.Fprintf(b, "  of these by the name given      %s\n", share(v.Named, v.Real))
	fmt.Fprintf(b, "  things looked at, at fault      %s\n", share(v.AtFault, v.Looked))
	fmt.Fprintf(b, "  for nothing: %d; %d to what the crew had mended in the four weeks before,\n  %d where the same visit had been for nothing the time before\n", v.Reached-v.Real, v.Over, v.Again)
	fmt.Fprintf(b, "  %-28s %7s %6s %6s\n", "main cause given", "reached", "real", "named")
	for _, c := range r.Causes {
		fmt.Fprintf(b, "  %-28s %7d %6d %6d\n", c.Name, c.Reached, c.Real, c.Named)
	}
	b.WriteByte('\n')
}

func (r *Report) printAlarms(b *strings.Builder) {
	a := r.Alarms
	fmt.Fprintf(b, "False findings: %d; %d again a week later, the longest %d weeks in a row;\n  %d of a fault that was over before the week\n", a.Findings, a.Repeats, a.Longest, a.Mended)
	fmt.Fprintf(b, "  %-28s %7s %8s\n", "fault", "found", "repeats")
	for _, c := range a.By {
		fmt.Fprintf(b, "  %-28s %7d %8d\n", c.Name, c.Findings, c.Repeats)
	}
	b.WriteByte('\n')
}

func (r *Report) printReadings(b *strings.Builder) {
	x := r.Readings
	fmt.Fprintf(b, "Probe-days of bad readings %13s %7s %9s %9s %8s\n", "", "all", "stood as", "on a fit", "of these")
	fmt.Fprintf(b, "  %-38s %7s %9s %9s %8s\n", "", "", "usable", "probe", "late out")
	for _, row := range []struct {
		name string
		Bad
	}{{"faults whose readings fail", x.Failed}, {"faults whose readings are suspect", x.Suspect}} {
		fmt.Fprintf(b, "  %-38s %7.1f %9.1f %9.1f %8.1f\n", row.name, row.Days, row.Stood, row.StoodFit, row.Late)
	}
	fmt.Fprintf(b, "Probe-days left out with no fault: %.1f\n", x.GoodLost)
	fmt.Fprintf(b, "Given back by the next run: %.1f with no fault then, %.1f during one\n", x.GivenBackGood, x.GivenBackBad)
}

func list(b *strings.Builder, title string, lines []string) {
	fmt.Fprintf(b, "\n%s\n", title)
	for _, l := range lines {
		fmt.Fprintf(b, "  %s\n", l)
	}
}

func share(n, of int) string {
	if of == 0 {
		return "none"
	}
	return fmt.Sprintf("%.1f %% (%d of %d)", 100*float64(n)/float64(of), n, of)
}

func (q Quantile) String() string {
	switch {
	case q.None:
		return "-"
	case q.Never:
		return "never"
	}
	return fmt.Sprintf("%.1f", q.Value)
}
