package explain

import (
	"fmt"
	"go/doc/comment"
	"go/parser"
	"go/token"
	"math"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/runfolder"
	"probeward/schemas"
)

func stamp(t int64) string { return time.UnixMicro(t).UTC().Format(time.RFC3339) }

// findings takes those on the probe, on its logger and on its zone.
func (a *Account) findings(r *runfolder.Run, faults []string) error {
	rows, err := r.Rows(schemas.Findings)
	if err != nil {
		return err
	}
	for _, row := range rows {
		subject, name := row.Text("subject"), row.Text("name")
		own := subject == string(schemas.SubjectProbe) && name == a.Probe
		around := subject == string(schemas.SubjectLogger) && name == a.Place["logger"] ||
			subject == string(schemas.SubjectZone) && name == a.Place["zone"]
		if !own && (!around || name == "") {
			continue
		}
		f := Finding{Subject: subject, Name: name, Fault: row.Text("fault"), Start: row.Text("start"), End: row.Text("end"),
			Readings: row.Integer("readings"), Flag: row.Integer("flag"), Unit: row.Text("unit"), Evidence: row.Text("evidence"), MaskedBy: row.Text("masked_by")}
		f.Confidence, _ = row.Number("confidence")
		for _, n := range []struct {
			column string
			to     **float64
		}{{"measured", &f.Measured}, {"threshold", &f.Threshold}} {
			if v, ok := row.Number(n.column); ok {
				*n.to = &v
			}
		}
		f.MaskedWhy = maskWhy(f.MaskedBy, f.Fault)
		f.Counts = f.MaskedBy == "" && slices.Contains(faults, f.Fault)
		if fault, ok := schemas.FaultNamed(f.Fault); ok {
			f.Sentence, f.Gives = fault.Sentence, gives(fault, f)
		}
		switch {
		case !own:
			a.Around = append(a.Around, f)
		case f.MaskedBy != "":
			a.Explained = append(a.Explained, f)
		default:
			a.Findings = append(a.Findings, f)
		}
	}
	return nil
}

// gives says which verdict the table of faults has for a finding.
func gives(fault schemas.Fault, f Finding) string {
	verdict := fault.VerdictFor(f.Confidence)
	switch {
	case verdict == "":
		return "no verdict: the probes are sound"
	case fault.Lasting && f.End != "":
		return string(verdict) + " while it lasts; it has ended"
	case fault.Lasting:
		return string(verdict) + " while it lasts"
	case fault.Recurs:
		return string(verdict) + " if it comes back within the window, or stands for a day at its end"
	case f.End != "" && verdict == schemas.Unfit:
		return "unfit while it stands, and doubtful in the window in which it ended"
	case f.End != "":
		return string(verdict) + " while it stands; it has ended"
	case fault.Sure != "" && verdict == fault.Sure:
		return fmt.Sprintf("%s, since it is %.0f %% sure or more (%s below)", verdict, 100*schemas.Sureness, fault.Verdict)
	case fault.Sure != "":
		return fmt.Sprintf("%s (%s from %.0f %% on)", verdict, fault.Sure, 100*schemas.Sureness)
	}
	return string(verdict)
}

// because says in a sentence what makes the verdict.
func (a *Account) because(verdictWhy string) string {
	if a.MainFault != "" {
		of := ""
		for _, f := range a.Around {
			if f.Fault == a.MainFault && f.Counts {
				of = ", of its " + f.Subject + " " + f.Name
			}
		}
		sentence := a.MainFault
		if fault, ok := schemas.FaultNamed(a.MainFault); ok {
			sentence = said(a.MainFault) + of + ": " + fault.Sentence
		}
		return sentence
	}
	if verdictWhy != "" {
		return verdictWhy
	}
	answered := fmt.Sprintf("no fault makes another verdict; %d of %d detectors reached an answer", a.Answered, a.Answered+a.Silent)
	if a.Override != "" {
		answered += "; a person's word holds"
	}
	return answered
}

func (a *Account) quiet(r *runfolder.Run) error {
	rows, err := r.Rows(schemas.Quiet)
	for _, row := range rows {
		of := row.Text("name")
		if of == a.Probe || of == a.Place["logger"] || of == a.Place["zone"] {
			a.Quiet = append(a.Quiet, fmt.Sprintf("%s of %s: %s", said(row.Text("fault")), of, row.Text("why")))
		}
	}
	return err
}

// exclusions takes the probe's, and sums the window's hours.
func (a *Account) exclusions(r *runfolder.Run) error {
	rows, err := r.Rows(schemas.Exclusions)
	for _, row := range rows {
		if row.Text("probe") != a.Probe {
			continue
		}
		start, ok := row.Time("start")
		end, both := row.Time("end")
		if !ok || !both {
			return fmt.Errorf("%s/%s: a stretch of %s has no start or end; scan again", r.Name, schemas.Exclusions.Files[0], a.Probe)
		}
		span := detect.Span{Start: start.UnixMicro(), End: end.UnixMicro()}
		a.LeftOut += detect.Hours(span.Overlap(a.window).Length())
		e := Exclusion{Start: row.Text("start"), End: row.Text("end"), Hours: hundredth(detect.Hours(span.Length())), Flag: row.Integer("flag"), Reasons: row.Text("reasons")}
		e.Confidence, _ = row.Number("confidence")
		a.Exclusions = append(a.Exclusions, e)
	}
	a.LeftOut = hundredth(a.LeftOut)
	return err
}

func hundredth(v float64) float64 { return math.Round(100*v) / 100 }

// visits takes those that the probe is on: its own, and its zone's valve.
func (a *Account) visits(r *runfolder.Run) error {
	rows, err := r.Rows(schemas.Queue)
	for _, row := range rows {
		if !slices.Contains(row.Words("probes"), a.Probe) {
			continue
		}
		v := Visit{Visit: row.Text("visit"), Rank: row.Integer("rank"), Of: len(rows), Cause: row.Text("suspected_cause"), Why: row.Text("why"),
			Check: row.Text("check"), Bring: row.Text("bring"), OpenSince: row.Text("open_since"), RunsOpen: row.Integer("runs_open")}
		v.Minutes, _ = row.Number("minutes")
		v.Priority, _ = row.Number("priority")
		a.Visits = append(a.Visits, v)
	}
	return err
}

// unanswered takes the column not_evaluated_why apart: "a, b: reason; c: reason",
// where a reason may hold both separators. What is said of no detector is the
// verdict's own reason.
func unanswered(text string, detectors []*detect.Detector) (out []Unanswered, verdictWhy string) {
	known := map[string]*detect.Detector{}
	for _, d := range detectors {
		known[d.Name] = d
	}
	out = []Unanswered{}
	into := &verdictWhy
	for _, part := range strings.Split(text, "; ") {
		head, rest, ok := strings.Cut(part, ": ")
		names := strings.Split(head, ", ")
		for _, n := range names {
			ok = ok && known[n] != nil
		}
		switch {
		case ok:
			u := Unanswered{Detectors: names, Why: rest}
			if len(names) == 1 {
				u.Asks = asks(known[names[0]])
			}
			out = append(out, u)
			into = &out[len(out)-1].Why
		case *into == "":
			*into = strings.TrimPrefix(part, string(schemas.Unknown)+": ")
		default:
			*into += "; " + part
		}
	}
	return out, verdictWhy
}

// asks says what a detector is declared to need.
func asks(d *detect.Detector) string {
	words := d.Needs.String()
	if d.MinReadings > 0 {
		words += fmt.Sprintf(", %d readings", d.MinReadings)
	}
	if d.MinSpanHours > 0 {
		words += ", " + detect.Length(int64(d.MinSpanHours*float64(detect.Hour))) + " of them"
	}
	return words
}

// checkHeading is the heading of every manual under which the post stands.
const checkHeading = "What to check at the post"

// check takes the manuals of the faults that count, the main one first.
func (a *Account) check(detectors []*detect.Detector) {
	faults := []string{}
	if a.MainFault != "" {
		faults = append(faults, a.MainFault)
	}
	for _, list := range [][]Finding{a.Findings, a.Around} {
		for _, f := range list {
			if (f.Counts || f.Subject == string(schemas.SubjectProbe)) && !slices.Contains(faults, f.Fault) {
				faults = append(faults, f.Fault)
			}
		}
	}
	for _, fault := range faults {
		for _, d := range detectors {
			if d.Name == fault {
				if text := Section(d, checkHeading); text != "" {
					a.Check = append(a.Check, Manual{Detector: d.Name, Check: text})
				}
			}
		}
	}
}

// Section gives one section of a detector's manual as text, paragraphs apart by an
// empty line; empty when there is none.
func Section(d *detect.Detector, heading string) string {
	f, err := parser.ParseFile(token.NewFileSet(), "doc.go", d.Doc, parser.ParseComments|parser.PackageClauseOnly)
	if err != nil || f.Doc == nil {
		return ""
	}
	var p comment.Parser
	var inside []comment.Block
	take := false
	for _, block := range p.Parse(f.Doc.Text()).Content {
		if h, ok := block.(*comment.Heading); ok {
			take = len(h.Text) == 1 && h.Text[0] == comment.Plain(heading)
			continue
		}
		if take {
			inside = append(inside, block)
		}
	}
	printer := comment.Printer{TextWidth: -1}
	return strings.TrimSpace(string(printer.Text(&comment.Doc{Content: inside})))
}

func said(fault string) string { return strings.ReplaceAll(fault, "_", " ") }
