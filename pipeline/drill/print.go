package drill

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// Print writes the result for people, at most 80 columns wide.
func (r *Result) Print(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "drill    %d faults put into the %d fit probes of %d, seed %d\n", len(r.Trials), r.Fit, r.Probes, r.Seed)
	fmt.Fprintf(b, "window   %s to %s\n", r.Start, r.End)
	for _, kind := range r.kinds() {
		fmt.Fprintf(b, "\n%s\n", kind)
		fmt.Fprintf(b, "  %-21s %-8s %3s %5s %-7s %5s %5s %5s %5s %5s\n", "fault", "depth", "n", "found", "95 %", "mild", "mid", "gross", "named", "delay")
		last := ""
		for i := range r.Rows {
			row := &r.Rows[i]
			if row.Kind != kind {
				continue
			}
			name := row.Form
			if name == last {
				name = ""
			}
			last = row.Form
			fmt.Fprintf(b, "  %-21s %-8s %3d %5s %-7s %5s %5s %5s %5s %5s\n", name, row.Depth, row.Found.N, percent(row.Found.K, row.Found.N),
				interval(row.Found), of(row.ByStrength[0]), of(row.ByStrength[1]), of(row.ByStrength[2]), percent(row.Named, row.Found.N), hours(row.DelayHours))
		}
	}
	if len(r.Ages) > 0 {
		fmt.Fprintf(b, "\nslow faults by when they began (found, 95 %%)\n")
		fmt.Fprintf(b, "  %-22s %-24s %s\n", "fault", "in the last week", "up to four weeks ago")
		for _, a := range r.Ages {
			fmt.Fprintf(b, "  %-22s %-24s %s\n", a.Form, a.Week.words(), a.Earlier.words())
		}
	}
	fmt.Fprintf(b, "\nfalse alarms on what was not touched: beside %s of the trials\n", r.False.Trials.words())
	list(b, "  next to: ", r.False.ByForm)
	list(b, "  named:   ", r.False.ByFault)
	if len(r.Helps) > 0 {
		fmt.Fprintf(b, "\nwhat each input buys here: the trials that can use it, without it and with it\n")
		fmt.Fprintf(b, "  %-26s %4s %8s %6s  %s\n", "input", "n", "without", "with", "bought (95 %)")
		for _, h := range r.Helps {
			fmt.Fprintf(b, "  %-26s %4d %8s %6s  %s\n", h.Input, h.With.N, percent(h.Without.K, h.Without.N), percent(h.With.K, h.With.N), h.Bought.words())
			if len(h.Forms) > 0 {
				wrapped(b, "      most for: "+strings.Join(h.Forms, ", "))
			}
			if h.Spoilt > 0 {
				fmt.Fprintf(b, "      %d found only without it\n", h.Spoilt)
			}
		}
	}
	if len(r.Helps) > 0 && r.Helps[0].Bought.K > r.Helps[0].Spoilt {
		wrapped(b, "  Where it is missing, what buys the most is: "+r.Helps[0].Input+". A share is of the trials whose detectors can use the input, so shares of different inputs stand over different trials.")
	}
	if len(r.Lacks) > 0 {
		fmt.Fprintf(b, "\nnot evaluated for want of an input; what it would buy was not measured\n")
		for _, l := range r.Lacks {
			wrapped(b, fmt.Sprintf("  %d subjects: %s (%s)", l.Subjects, l.Why, words(strings.Join(l.Detectors, ", "))))
		}
	}
	if len(r.NoDetector) > 0 {
		b.WriteString("\n")
		wrapped(b, "this scan has no detector for: "+words(strings.Join(r.NoDetector, ", ")))
	}
	for _, x := range r.Barred {
		wrapped(b, fmt.Sprintf("not tried here: %s: %s", x.Name, x.Why))
	}
	b.WriteString("\n")
	for _, x := range r.Untried {
		wrapped(b, fmt.Sprintf("never drilled: %s: %s", words(x.Name), x.Why))
	}
	b.WriteString("\n")
	wrapped(b, "An injected fault is simple: it begins at one hour, follows one formula and comes alone. Natural ones are messier, so read these shares as what the scan can do here at its best, not as what it will do. Several trials may be on one probe; the intervals take them to be independent.")
	_, err := io.WriteString(w, b.String())
	return err
}

// kinds in the order in which they first come.
func (r *Result) kinds() (out []string) {
	seen := map[string]bool{}
	for i := range r.Rows {
		if k := r.Rows[i].Kind; !seen[k] {
			seen[k] = true
			out = append(out, k)
		}
	}
	return out
}

func percent(k, n int) string {
	if n == 0 {
		return "-"
	}
	return fmt.Sprintf("%.0f%%", 100*float64(k)/float64(n))
}

func interval(s Share) string { return fmt.Sprintf("%.0f-%.0f", 100*s.Lo, 100*s.Hi) }

func (s Share) words() string {
	if s.N == 0 {
		return "-"
	}
	return fmt.Sprintf("%s of %d (%s)", percent(s.K, s.N), s.N, interval(s))
}

func of(kn [2]int) string {
	if kn[1] == 0 {
		return "-"
	}
	return fmt.Sprintf("%d/%d", kn[0], kn[1])
}

func hours(h *float64) string {
	switch {
	case h == nil:
		return "-"
	case *h < 47.5:
		return fmt.Sprintf("%.0f h", *h)
	default:
		return fmt.Sprintf("%.0f d", *h/24)
	}
}

func list(b *strings.Builder, head string, of []NameCount) {
	var parts []string
	for _, c := range of {
		parts = append(parts, fmt.Sprintf("%s %d", words(c.Name), c.N))
	}
	if len(parts) > 0 {
		wrapped(b, head+strings.Join(parts, ", "))
	}
}

// wrapped writes words in lines of at most 79 characters; later lines stand further in.
func wrapped(b *strings.Builder, text string) {
	in := len(text) - len(strings.TrimLeft(text, " "))
	line := strings.Repeat(" ", in)
	empty := true
	for _, word := range strings.Fields(text) {
		if !empty && len(line)+1+len(word) > 79 {
			b.WriteString(line + "\n")
			line, empty = strings.Repeat(" ", in+4), true
		}
		if !empty {
			line += " "
		}
		line, empty = line+word, false
	}
	b.WriteString(line + "\n")
}

// JSON writes the result for programs.
func (r *Result) JSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(r)
}

// CSV writes a row a trial. Times are in UTC, delays in hours, lists with ; between.
func (r *Result) CSV(w io.Writer) error {
	c := csv.NewWriter(w)
	rows := [][]string{{"fault", "form", "kind", "depth_class", "subject", "strength", "start", "end", "found", "named", "noticed", "delay_h", "also_said", "false_alarms"}}
	for i := range r.Trials {
		t := &r.Trials[i]
		delay := ""
		if t.DelayHours != nil {
			delay = strconv.FormatFloat(*t.DelayHours, 'f', 2, 64)
		}
		rows = append(rows, []string{t.Fault, t.Form, t.Kind, t.Depth, t.Subject, t.Strength, t.Start, t.End,
			strconv.FormatBool(t.Found), strconv.FormatBool(t.Named), strconv.FormatBool(t.Noticed), delay,
			strings.Join(t.AlsoSaid, ";"), strings.Join(t.False, ";")})
	}
	return c.WriteAll(rows)
}
