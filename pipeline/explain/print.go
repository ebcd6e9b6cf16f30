package explain

import (
	"cmp"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/terminal"
)

// shownStretches is how many stretches are listed, the newest; exclusions.csv and
// --json have them all.
const shownStretches = 8

// Print writes the account for a terminal. No line is wider than 80 columns.
func (a *Account) Print(w io.Writer) {
	item := func(head, words string) { terminal.Item(w, terminal.Pad(head, 12), words) }
	item("probe", a.Probe+a.where())
	item("run", fmt.Sprintf("%s: %s to %s (%s)", a.Run, a.local(a.WindowStart), a.local(a.WindowEnd), a.Zone))
	verdict := fmt.Sprintf("%s, %s sure", a.Verdict, percent(a.Confidence))
	if a.Since != "" {
		verdict += fmt.Sprintf(", since %s (%s)", a.local(a.Since), a.ago(a.Since))
	}
	if a.Previous != "" {
		verdict += "; in the run before: " + a.Previous
	}
	item("verdict", verdict)
	item("because", a.Because)
	if a.Override != "" {
		item("a person", a.Override)
	}
	if a.Watch != "" {
		item("mended", a.Watch)
	}
	item("readings", a.readings())
	a.lists(w)
	a.leftOut(w)
	if len(a.Unanswered) > 0 {
		fmt.Fprintf(w, "\nnot evaluated: %d of %d detectors\n", a.Silent, a.Answered+a.Silent)
		for _, u := range a.Unanswered {
			terminal.Item(w, "  - ", said(strings.Join(u.Detectors, ", "))+": "+u.Why)
			if u.Asks != "" && !strings.HasPrefix(u.Why, "needs") {
				terminal.Item(w, "      it asks for: ", u.Asks)
			}
		}
	}
	a.past(w)
	a.visitAndCheck(w)
}

func (a *Account) where() string {
	var words []string
	if d := a.Place["depth_cm"]; d != "" {
		words = append(words, d+" cm")
	}
	words = append(words, said(a.Place["kind"]))
	if l := a.Place["logger"]; l != "" {
		words = append(words, strings.TrimSpace("logger "+l+" "+a.Place["port"]))
	}
	for _, c := range []string{"post", "zone", "block"} {
		if v := a.Place[c]; v != "" {
			name := c + " "
			if strings.HasPrefix(strings.ToLower(v), c) {
				name = ""
			}
			words = append(words, name+v)
		}
	}
	return ": " + strings.Join(words, ", ")
}

func (a *Account) readings() string {
	r := a.Readings
	words := fmt.Sprintf("%d came", r.Received)
	if r.Expected > 0 {
		words = fmt.Sprintf("%d of %d expected came, %d usable (%s)", r.Received, r.Expected, r.Usable, percent(r.UsableShare))
	}
	if r.Rejected > 0 {
		words += fmt.Sprintf("; %d read and not used (rejects.csv says why)", r.Rejected)
	}
	if r.Last != "" {
		words += "; the last on " + a.local(r.Last)
	}
	if r.UsableNow {
		return words + "; its newest readings may be used"
	}
	return words + "; its newest readings may not be used"
}

func (a *Account) lists(w io.Writer) {
	for _, l := range []struct {
		title string
		list  []Finding
	}{
		{"findings", a.Findings},
		{"explained by another fault, so they make no verdict of their own", a.Explained},
		{"of its logger and its zone", a.Around},
	} {
		if len(l.list) == 0 {
			continue
		}
		fmt.Fprintf(w, "\n%s: %d\n", l.title, len(l.list))
		for _, f := range l.list {
			a.finding(w, f)
		}
	}
	if len(a.Findings)+len(a.Explained)+len(a.Around) == 0 {
		fmt.Fprint(w, "\nfindings: none\n")
	}
	for _, q := range a.Quiet {
		terminal.Item(w, "  waits: ", q)
	}
}

func (a *Account) finding(w io.Writer, f Finding) {
	head := said(f.Fault)
	if f.Name != a.Probe {
		head += " of " + f.Subject + " " + f.Name
	}
	until := "still stands"
	if f.End != "" {
		until = "until " + a.local(f.End)
	}
	terminal.Item(w, "  - ", fmt.Sprintf("%s, %s sure, from %s, %s", head, percent(f.Confidence), a.local(f.Start), until))
	terminal.Item(w, "    ", f.Evidence)
	if f.Measured != nil && f.Threshold != nil {
		terminal.Item(w, "    measured ", strings.TrimSpace(fmt.Sprintf("%s against a threshold of %s %s", plain(*f.Measured), plain(*f.Threshold), f.Unit)))
	}
	terminal.Item(w, "    readings ", fmt.Sprintf("%d touched, %s", f.Readings, flagWords(f.Flag)))
	if f.MaskedBy != "" {
		why := "explained by " + said(f.MaskedBy)
		if f.MaskedWhy != "" {
			why += ": " + f.MaskedWhy
		}
		terminal.Item(w, "    ", why)
		return
	}
	gives := "gives " + f.Gives
	if f.Name != a.Probe && !f.Counts {
		gives = "makes nothing of this probe's verdict"
	}
	terminal.Item(w, "    ", gives)
}

func flagWords(flag int64) string {
	switch flag {
	case 0:
		return "not flagged: they are true"
	case 3:
		return "flag 3, suspect"
	case 4:
		return "flag 4, fail"
	case 9:
		return "flag 9, missing"
	}
	return fmt.Sprintf("flag %d", flag)
}

func (a *Account) leftOut(w io.Writer) {
	if len(a.Exclusions) == 0 {
		fmt.Fprint(w, "\nleft out: nothing\n")
		return
	}
	fmt.Fprintln(w)
	list := a.Exclusions
	terminal.Item(w, "left out: ", fmt.Sprintf("%.1f h of the window; stretches since the look-back began: %d", a.LeftOut, len(list)))
	if skip := len(list) - shownStretches; skip > 0 {
		fmt.Fprintf(w, "  %d earlier ones are in exclusions.csv\n", skip)
		list = list[skip:]
	}
	for _, e := range list {
		terminal.Item(w, "  - ", fmt.Sprintf("%s to %s, %.1f h: %s", a.local(e.Start), a.local(e.End), e.Hours, strings.Join(strings.Fields(said(strings.ReplaceAll(e.Reasons, " ", ", "))), " ")))
	}
}

// shownRuns is how many runs of the past are listed, the newest.
const shownRuns = 12

func (a *Account) past(w io.Writer) {
	list := a.History
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(w, "\nhistory, runs: %d\n", len(list))
	if skip := len(list) - shownRuns; skip > 0 {
		fmt.Fprintf(w, "  %d earlier ones are in history.parquet\n", skip)
		list = list[skip:]
	}
	for _, h := range list {
		share := "-"
		if h.UsableShare != nil {
			share = percent(*h.UsableShare)
		}
		line := fmt.Sprintf("  to %s  %s %5s usable  ", a.local(h.WindowEnd), terminal.Pad(h.Verdict, 9), share)
		fmt.Fprintln(w, strings.TrimRight(line+terminal.Cut(said(h.MainFault), terminal.Width-terminal.Columns(line)), " "))
	}
}

func (a *Account) visitAndCheck(w io.Writer) {
	if len(a.Visits) == 0 {
		fmt.Fprint(w, "\nvisit: none\n")
	}
	for _, v := range a.Visits {
		words := fmt.Sprintf("%s, rank %d of %d, %.0f min of work", v.Visit, v.Rank, v.Of, v.Minutes)
		if v.OpenSince != "" {
			words += ", open since " + a.local(v.OpenSince)
		}
		if v.RunsOpen > 1 {
			words += fmt.Sprintf(", in %d runs", v.RunsOpen)
		}
		fmt.Fprintln(w)
		terminal.Item(w, "visit: ", words)
		terminal.Item(w, "  for    ", v.Cause)
		terminal.Item(w, "  why    ", v.Why)
		terminal.Item(w, "  check  ", v.Check)
		terminal.Item(w, "  bring  ", v.Bring)
	}
	for _, m := range a.Check {
		fmt.Fprintln(w)
		terminal.Item(w, "", "what to check at the post ("+said(m.Detector)+")")
		for i, paragraph := range strings.Split(m.Check, "\n\n") {
			if i > 0 {
				fmt.Fprintln(w)
			}
			terminal.Item(w, "  ", paragraph)
		}
	}
	if len(a.Check) > 0 {
		fmt.Fprintf(w, "\nprobeward explain %s prints the whole manual\n", a.Check[0].Detector)
	}
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

func plain(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// local writes a stamp as the clock on the farm's wall.
func (a *Account) local(stamp string) string {
	t, err := time.Parse(time.RFC3339Nano, stamp)
	if err != nil {
		return cmp.Or(stamp, "-")
	}
	return a.zone.Local(t)
}

// ago is the time from a stamp to the window's end.
func (a *Account) ago(stamp string) string {
	t, err := time.Parse(time.RFC3339Nano, stamp)
	if err != nil {
		return "-"
	}
	return detect.Length(a.window.End - t.UnixMicro())
}
