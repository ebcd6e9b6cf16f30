package feedback

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
	"probeward/pipeline/table"
	"probeward/schemas"
)

// AnswerTime is how long the answer to a watering may take (common practice, no
// source).
const AnswerTime = 36 * detect.Hour

// When a finding leaves the queue; see the package comment.
const (
	EnoughVisits = 2   // that found nothing wrong
	Grown        = 2.0 // by how much evidence must grow to come back
	GrownTime    = 4.0 // by how much the time that it stands
	worthATrip   = 0.5 // less is more likely nothing than something
)

// Evidence is how strong a finding was at the last visit that found nothing wrong.
type Evidence struct {
	Subject, Name, Fault string
	Visits               int
	Last                 int64
	Confidence           detect.Maybe[float64]
	Distance             detect.Maybe[float64] // from the threshold, in the finding's unit
}

func key(subject, name, fault string) string { return subject + "\x00" + name + "\x00" + fault }

// Said is what visits say of a finding.
type Said struct {
	Moved float64 // its confidence in the ranking
	// Quiet is why it leaves the queue; empty: it does not.
	Quiet    string
	Evidence Evidence // when it is quiet
	Words    []string // for the visit that it makes
	Back     bool     // it came again after it was mended
	RunsOpen int      // runs that held its subject for faulty before the work, when Back
}

// about says whether a row speaks of the subject of a finding.
func (b *Book) about(r *Row, f *judge.Finding) bool {
	switch f.Subject {
	case schemas.SubjectLogger:
		return slices.Contains(r.Loggers, f.Name)
	case schemas.SubjectZone:
		return slices.Contains(r.Zones, f.Name)
	}
	return slices.Contains(r.Probes, f.Probe)
}

// Say holds a finding against the visits to its subject.
func (b *Book) Say(f *judge.Finding) Said {
	s := Said{Moved: f.Confidence}
	if b == nil {
		return s
	}
	s.Moved = b.Sure(f.Detector, f.Confidence)
	if m, ok := b.back(f); ok {
		s.Back = true
		s.Words = append(s.Words, fmt.Sprintf("mended on %s and back", b.day(m.On)))
		s.RunsOpen = b.openRuns(f, m)
	}
	var newest *Row
	n := 0
	last := int64(math.MinInt64)
	for i := range b.Rows {
		r := &b.Rows[i]
		if !b.about(r, f) || r.Done <= b.in.Period.Lookback {
			continue
		}
		if r.mends() {
			n, last, newest = 0, math.MinInt64, nil // what was said before the work is settled by it
			continue
		}
		if !b.of(r, f) {
			continue
		}
		newest = r
		if r.Found == fieldlog.NothingWrong && r.Seen() && !b.excused[visitKey{r.Visit.Visit, r.VisitedOn}] {
			n, last = n+1, r.VisitedOn
		}
	}
	if newest != nil {
		s.Words = append(s.Words, b.words(newest)...)
	}
	if n == 0 {
		return s
	}
	s.Words = append(s.Words, fmt.Sprintf("nothing wrong found there on %s", b.day(last)))
	s.Moved = doubted(s.Moved, n)
	e := Evidence{Subject: string(f.Subject), Name: f.Name, Fault: f.Fault, Visits: n, Last: last}
	base, known := b.baseline[key(e.Subject, e.Name, e.Fault)]
	if known && base.Last == last {
		e.Confidence, e.Distance = base.Confidence, base.Distance
	} else if was, ok := b.found(f, last); ok {
		e.Confidence, e.Distance = detect.Some(was.Confidence), was.Distance
	}
	switch grown := grew(f, &e); {
	case !f.Open && last >= lastShow(f):
		s.Quiet = fmt.Sprintf("a visit on %s found nothing wrong, and it has not shown since", b.day(last))
	case n < EnoughVisits && s.Moved >= worthATrip:
	case grown != "":
		s.Words = append(s.Words, "since then "+grown)
		s.Moved = b.Sure(f.Detector, f.Confidence)
	case n >= EnoughVisits:
		s.Quiet = fmt.Sprintf("%d visits found nothing wrong, the last on %s; it waits until its evidence has grown", n, b.day(last))
	default:
		s.Quiet = fmt.Sprintf("a visit on %s found nothing wrong, and that leaves %.0f %%; it waits until its evidence has grown", b.day(last), 100*s.Moved)
	}
	s.Evidence = e
	return s
}

// lastShow is when a fault that ended was last seen; a watering that did not come is
// over with the time that its answer may take.
func lastShow(f *judge.Finding) int64 {
	if f.Subject == schemas.SubjectZone {
		return f.End - AnswerTime
	}
	return f.End
}

// of says whether a row was made for a finding: its fault sent the crew, or nobody
// knows what did and it stood already.
func (b *Book) of(r *Row, f *judge.Finding) bool {
	if len(r.Suspected) > 0 {
		return slices.Contains(r.Suspected, f.Fault)
	}
	return f.Start <= r.VisitedOn
}

// words say what came of the newest visit.
func (b *Book) words(r *Row) (out []string) {
	with := func(text string) []string {
		if note := strings.Join(strings.Fields(strings.ReplaceAll(r.Note, ";", ",")), " "); note != "" {
			text += ": " + note
		}
		return []string{text}
	}
	switch {
	case r.Outcome == fieldlog.CouldNotReach:
		return with("could not be reached on " + b.day(r.VisitedOn))
	case r.Outcome == fieldlog.Left && r.Fault() != "":
		return with(fmt.Sprintf("%s seen and left on %s", strings.ReplaceAll(r.Fault(), "_", " "), b.day(r.VisitedOn)))
	case r.Found == fieldlog.NotSeen:
		return with("not seen on " + b.day(r.VisitedOn))
	}
	return nil
}

// grew says by what a finding's evidence has grown since the visit; empty: by nothing
// that counts.
func grew(f *judge.Finding, e *Evidence) string {
	if e.Confidence.OK && 1-f.Confidence <= (1-e.Confidence.V)/Grown && f.Confidence > e.Confidence.V {
		return fmt.Sprintf("its confidence rose from %.2f to %.2f", e.Confidence.V, f.Confidence)
	}
	if d := math.Abs(f.Measured - f.Threshold); e.Distance.OK && e.Distance.V > 0 && d >= Grown*e.Distance.V {
		return "its distance from the threshold has doubled"
	}
	if stood := e.Last - f.Start; stood > 0 && float64(f.End-f.Start) >= GrownTime*float64(stood) {
		return fmt.Sprintf("the time that it stands has grown to %s", detect.Length(f.End-f.Start))
	}
	return ""
}

// evidence takes over what the run before held of quiet findings.
func (b *Book) evidence() {
	if b.in.Before == nil {
		return
	}
	for _, q := range b.in.Before.Quiet {
		b.baseline[key(q.Subject, q.Name, q.Fault)] = Evidence{Subject: q.Subject, Name: q.Name, Fault: q.Fault,
			Visits: q.Visits, Last: q.LastVisit, Confidence: q.Confidence, Distance: q.Distance}
	}
}

// found is the finding as the run before had it, when that run sent the visit.
func (b *Book) found(f *judge.Finding, visit int64) (previous.Finding, bool) {
	if b.in.Before == nil || visit < b.in.Before.Period.Window.End {
		return previous.Finding{}, false
	}
	for _, x := range b.in.Before.Findings {
		if x.Subject == string(f.Subject) && x.Name == f.Name && x.Fault == f.Fault {
			return x, true
		}
	}
	return previous.Finding{}, false
}

// openRuns counts the runs before the work that held the subject for faulty by the
// same family, within the look-back.
func (b *Book) openRuns(f *judge.Finding, m *Mend) (n int) {
	if b.in.Before == nil || f.Probe < 0 {
		return 0
	}
	for _, h := range b.in.Before.History {
		row, known := schemas.FaultNamed(h.MainFault)
		if h.Probe == f.Name && known && row.Family == f.Family && h.Window.End <= b.in.Before.Period.Window.End && h.Window.End > b.in.Period.Lookback {
			n++
		}
	}
	return n
}

// Closed says whether the visits of a name since the run before mended all that they
// looked at: what is found there next is another visit.
func (b *Book) Closed(visit string) bool {
	if b == nil || b.in.Before == nil {
		return false
	}
	closed := false
	for i := range b.Rows {
		r := &b.Rows[i]
		if r.Visit.Visit != visit || r.VisitedOn < b.in.Before.Period.Window.End {
			continue
		}
		if !r.mends() {
			return false
		}
		closed = true
	}
	return closed
}

// UnchangedRegister notes the rows that say the register was mended while a finding of
// the register still stands against the same probe.
func (b *Book) UnchangedRegister(judged *judge.Result) []table.Note {
	if b == nil {
		return nil
	}
	before := len(b.Notes)
	for i := range b.Rows {
		r := &b.Rows[i]
		if r.Outcome != fieldlog.RegisterMended || r.Done <= b.in.Period.Lookback {
			continue
		}
		for k := range judged.Findings {
			f := &judged.Findings[k]
			if f.Open && f.MaskedBy == "" && f.Family == schemas.FamilyRegister && b.about(r, f) && (r.Found == f.Fault || r.Fault() == "") {
				b.note(&r.Visit, "outcome", fmt.Sprintf("the visit says that the register was mended, and it still says of %s what makes %s: change its row in the register", f.Name, f.Fault), string(r.Outcome))
			}
		}
	}
	return b.Notes[before:]
}
