package feedback

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/previous"
	"probeward/pipeline/register"
	"probeward/pipeline/table"
	"probeward/schemas"
)

// Input is what the rows are held against. Nothing in it is written to.
type Input struct {
	File     string // of the rows, for notes
	Rows     []fieldlog.Visit
	Register *register.Register
	Before   *previous.Run // nil: there was no run before
	Period   detect.Period
	Zone     *time.Location // of days; nil: UTC
}

// Row is a visit's row with what it is about.
type Row struct {
	fieldlog.Visit
	Done      int64    // when the work was over
	Probes    []int    // places in the register, sorted; of a logger's or a zone's row none
	Loggers   []string // of a logger's row, or the logger whose fault was found
	Zones     []string
	Suspected []string // faults that sent the crew, sorted; empty: nobody knows
}

// Seen says whether somebody looked.
func (r *Row) Seen() bool {
	return r.Outcome != fieldlog.CouldNotReach && r.Found != fieldlog.NotSeen
}

// Fault is what was found; empty: none was, or nobody looked.
func (r *Row) Fault() string {
	if !r.Seen() || r.Found == fieldlog.NothingWrong {
		return ""
	}
	return r.Found
}

// mends says whether the row ends a fault.
func (r *Row) mends() bool {
	switch r.Outcome {
	case fieldlog.Replaced:
		return r.Found != fieldlog.NotSeen
	case fieldlog.Repaired, fieldlog.RegisterMended:
		return r.Fault() != ""
	}
	return false
}

// Book is what the visits say.
type Book struct {
	Rows      []Row // by time, then as they are about
	Notes     []table.Note
	Matched   int // rows that are about something known
	Unmatched int
	Repeated  int // rows that stand there more than once, each time but the first
	Later     int // after the window's end
	Rates     []Rate

	in       *Input
	pasts    []past
	excused  map[visitKey]bool // stops at which a logger was to blame
	mended   []Mend
	watch    map[int]string
	baseline map[string]Evidence
}

// New reads the rows against the register and the runs before. Without rows there is
// a book that says nothing.
func New(in Input) *Book {
	if in.Zone == nil {
		in.Zone = time.UTC
	}
	b := &Book{in: &in, pasts: pasts(in.Before), watch: map[int]string{}, baseline: map[string]Evidence{}}
	index := places(in.Register)
	rows := slices.Clone(in.Rows)
	slices.SortFunc(rows, byContent)
	for i := range rows {
		v := &rows[i]
		if i > 0 && same(v, &rows[i-1]) {
			b.Repeated++
			continue
		}
		if v.VisitedOn >= in.Period.Window.End {
			b.Later++
			continue
		}
		r := Row{Visit: *v, Done: b.done(v)}
		if !b.resolve(&r, index) {
			b.Unmatched++
			continue
		}
		b.Matched++
		b.suspect(&r)
		b.Rows = append(b.Rows, r)
	}
	table.SortNotes(b.Notes)
	b.excuse()
	b.rate()
	b.mends()
	b.evidence()
	return b
}

// byContent orders rows by what they say, and by their lines only where they say the
// same, so that the order in the file never shows.
func byContent(a, b fieldlog.Visit) int {
	return cmp.Or(cmp.Compare(a.VisitedOn, b.VisitedOn), cmp.Compare(a.Visit, b.Visit), cmp.Compare(a.Post, b.Post),
		cmp.Compare(a.Logger, b.Logger), cmp.Compare(a.Probe, b.Probe), cmp.Compare(a.Found, b.Found), cmp.Compare(a.Outcome, b.Outcome),
		cmp.Compare(a.Minutes.V, b.Minutes.V), cmp.Compare(a.Note, b.Note), cmp.Compare(a.Parts, b.Parts), cmp.Compare(a.Line, b.Line))
}

// same says whether two rows tell one thing: the crew's page may be sent twice, with
// a note the second time.
func same(a, b *fieldlog.Visit) bool {
	return a.VisitedOn == b.VisitedOn && a.Visit == b.Visit && a.Post == b.Post && a.Logger == b.Logger &&
		a.Probe == b.Probe && a.Found == b.Found && a.Outcome == b.Outcome
}

// done is when the work was over. A day without an hour is over at its midnight.
func (b *Book) done(v *fieldlog.Visit) int64 {
	at := time.UnixMicro(v.VisitedOn).In(b.in.Zone)
	if h, m, s := at.Clock(); h == 0 && m == 0 && s == 0 && at.Nanosecond() == 0 {
		y, mo, d := at.Date()
		return time.Date(y, mo, d+1, 0, 0, 0, 0, b.in.Zone).UnixMicro()
	}
	if v.Minutes.OK {
		return v.VisitedOn + int64(math.Round(v.Minutes.V*float64(detect.Minute)))
	}
	return v.VisitedOn
}

// note says why a row, or a cell of it, could not be used.
func (b *Book) note(v *fieldlog.Visit, column, problem, text string) {
	b.Notes = append(b.Notes, table.Note{File: b.in.File, Line: v.Line, Column: column, Severity: table.Warning, Problem: problem, Text: text})
}

// resolve finds what a row is about; false: nothing that is known, and that is noted.
func (b *Book) resolve(r *Row, index map[string]*place) bool {
	reg := b.in.Register
	name, family, named := splitName(r.Visit.Visit)
	fault, _ := schemas.FaultNamed(r.Found)
	var here *place
	if named {
		here = index[name]
	}
	switch {
	case r.Probe != "":
		p, ok := reg.Named(r.Probe)
		if !ok {
			if near, found := reg.Nearest(r.Probe); found {
				p, ok = reg.Named(near)
			}
		}
		if !ok {
			b.note(&r.Visit, "probe", "no such probe in the register; the row counts for nothing", r.Probe)
			return false
		}
		r.Probes = []int{p}
	case r.Logger != "":
		if !reg.HasLogger(r.Logger) {
			b.note(&r.Visit, "logger", "no such logger in the register; the row counts for nothing", r.Logger)
			return false
		}
		r.Loggers = []string{r.Logger}
		return true
	case family == schemas.FamilyWater || r.Visit.Visit == "" && fault.Subject == schemas.SubjectZone:
		if here == nil || len(here.zones) == 0 {
			b.note(&r.Visit, "visit", "no such zone in the register; the row counts for nothing", cmp.Or(r.Visit.Visit, r.Post))
			return false
		}
		r.Zones = slices.Sorted(slices.Values(here.zones))
		return true
	default:
		if here == nil && r.Post != "" {
			here = index[strings.Join(strings.Fields(r.Post), "_")]
		}
		if here == nil {
			b.note(&r.Visit, "visit", "neither a visit of the run before nor a post of the register; the row counts for nothing", cmp.Or(r.Visit.Visit, r.Post))
			return false
		}
		if family == schemas.FamilyLogger {
			r.Loggers = slices.Sorted(slices.Values(here.loggers))
			return len(r.Loggers) > 0
		}
		r.Probes = b.allOf(r, here)
	}
	switch fault.Subject { // what is found at a probe may be its logger's, or its zone's
	case schemas.SubjectLogger:
		r.Loggers = b.loggersOf(r)
		r.Probes = nil
	case schemas.SubjectZone:
		for _, p := range r.Probes {
			if zone := reg.Probes[p].Zone; zone != "" {
				r.Zones = appendNew(r.Zones, zone)
			}
		}
		r.Probes = nil
	}
	return len(r.Probes)+len(r.Loggers)+len(r.Zones) > 0
}

// loggersOf gives the loggers that the row's probes hung on when it was made.
func (b *Book) loggersOf(r *Row) (out []string) {
	if r.Logger != "" && b.in.Register.HasLogger(r.Logger) {
		return []string{r.Logger}
	}
	for _, p := range r.Probes {
		for _, w := range b.in.Register.Probes[p].Wirings {
			if w.Logger != "" && w.Holds(r.VisitedOn) {
				out = appendNew(out, w.Logger)
			}
		}
	}
	slices.Sort(out)
	return out
}

// allOf gives the probes that a row about a place alone speaks of.
func (b *Book) allOf(r *Row, here *place) []int {
	var out []int
	if before, ok := b.queued(r); ok {
		for _, name := range before.Probes {
			if p, ok := b.in.Register.Named(name); ok {
				out = append(out, p)
			}
		}
	}
	if len(out) == 0 {
		if run, ok := b.runBefore(r.VisitedOn); ok {
			for _, p := range here.probes {
				if run[b.in.Register.Probes[p].Name] != "" {
					out = append(out, p)
				}
			}
		}
	}
	if len(out) == 0 {
		out = slices.Clone(here.probes)
	}
	slices.Sort(out)
	return out
}

// queued is the row's visit in the queue of the run before, when that run sent it.
func (b *Book) queued(r *Row) (previous.Visit, bool) {
	if b.in.Before == nil || r.VisitedOn < b.in.Before.Period.Window.End {
		return previous.Visit{}, false
	}
	v, ok := b.in.Before.Visits[r.Visit.Visit]
	return v, ok
}

// past is the main fault of each probe in one run.
type past struct {
	end    int64
	faults map[string]string
}

// pasts sorts what the runs before held of each probe by the runs' ends.
func pasts(before *previous.Run) []past {
	if before == nil {
		return nil
	}
	by := map[int64]map[string]string{}
	for _, h := range before.History {
		if by[h.Window.End] == nil {
			by[h.Window.End] = map[string]string{}
		}
		if h.MainFault != "" {
			by[h.Window.End][h.Probe] = h.MainFault
		}
	}
	var out []past
	for end, faults := range by {
		out = append(out, past{end, faults})
	}
	slices.SortFunc(out, func(a, b past) int { return cmp.Compare(a.end, b.end) })
	return out
}

// runBefore gives the main faults of the newest run that ended before an instant.
func (b *Book) runBefore(t int64) (map[string]string, bool) {
	n, _ := slices.BinarySearchFunc(b.pasts, t+1, func(p past, t int64) int { return cmp.Compare(p.end, t) })
	if n == 0 {
		return nil, false
	}
	return b.pasts[n-1].faults, true
}

// suspect fills in what sent the crew.
func (b *Book) suspect(r *Row) {
	if len(r.Zones) > 0 && len(r.Probes) == 0 && r.Probe == "" {
		r.Suspected = []string{"irrigation_failure"} // nothing else makes a valve's visit
		return
	}
	run, ok := b.runBefore(r.VisitedOn)
	if !ok {
		return
	}
	probes := r.Probes
	if r.Probe != "" {
		if p, ok := b.in.Register.Named(r.Probe); ok {
			probes = []int{p}
		}
	}
	onLogger := len(probes) == 0
	if onLogger {
		for i := range b.in.Register.Probes {
			for _, w := range b.in.Register.Probes[i].Wirings {
				if w.Holds(r.VisitedOn) && slices.Contains(r.Loggers, w.Logger) {
					probes = append(probes, i)
				}
			}
		}
	}
	for _, p := range probes {
		main := run[b.in.Register.Probes[p].Name]
		if fault, known := schemas.FaultNamed(main); known && (!onLogger || fault.Subject == schemas.SubjectLogger) {
			r.Suspected = appendNew(r.Suspected, main)
		}
	}
	slices.Sort(r.Suspected)
}
