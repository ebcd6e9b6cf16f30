// Package explain says why a run gave a probe its verdict, with the numbers that the
// run's tables hold: findings on the probe, its logger and its zone, what explains
// what, what was left out, what could not be evaluated, and what to check at the post.
//
// It computes nothing anew: every number is the run's.
package explain

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/runfolder"
	"probeward/pipeline/table"
	"probeward/schemas"
)

// ErrNoProbe says that the run has no such probe.
var ErrNoProbe = errors.New("no such probe")

// Readings are the probe's counts in the window.
type Readings struct {
	Expected    int64   `json:"expected"` // at its own cadence
	Received    int64   `json:"received"`
	Rejected    int64   `json:"rejected"` // from the look-back on
	Usable      int64   `json:"usable"`
	UsableShare float64 `json:"usable_share"` // of expected, 0 to 1
	Last        string  `json:"last_reading"`
	UsableNow   bool    `json:"usable_now"`
}

// Finding is a row of findings.csv, with what it does to the probe.
type Finding struct {
	Subject    string   `json:"subject"`
	Name       string   `json:"name"`
	Fault      string   `json:"fault"`
	Sentence   string   `json:"sentence"`
	Start      string   `json:"start"`
	End        string   `json:"end"` // empty: it still stands
	Readings   int64    `json:"readings"`
	Flag       int64    `json:"flag"`
	Confidence float64  `json:"confidence"`
	Measured   *float64 `json:"measured"`
	Threshold  *float64 `json:"threshold"`
	Unit       string   `json:"unit"`
	Evidence   string   `json:"evidence"`
	MaskedBy   string   `json:"masked_by"`
	MaskedWhy  string   `json:"masked_why"`
	Gives      string   `json:"gives"`  // the verdict that the table of faults has for it, in words
	Counts     bool     `json:"counts"` // it is among the faults of the probe's verdict
}

// Exclusion is a stretch that is left out.
type Exclusion struct {
	Start      string  `json:"start"`
	End        string  `json:"end"`
	Hours      float64 `json:"hours"`
	Flag       int64   `json:"flag"`
	Reasons    string  `json:"reasons"`
	Confidence float64 `json:"confidence"`
}

// Unanswered is a reason for which detectors gave no answer.
type Unanswered struct {
	Detectors []string `json:"detectors"`
	Why       string   `json:"why"`
	Asks      string   `json:"asks_for"` // what these detectors ask for, from their declarations
}

// Past is the probe in one run.
type Past struct {
	WindowEnd   string   `json:"window_end"`
	Verdict     string   `json:"verdict"`
	MainFault   string   `json:"main_fault"`
	UsableShare *float64 `json:"usable_share"`
}

// Visit is a visit in the queue that the probe is on.
type Visit struct {
	Visit     string  `json:"visit"`
	Rank      int64   `json:"rank"`
	Of        int     `json:"of"`
	Minutes   float64 `json:"minutes"`
	Priority  float64 `json:"priority"`
	Cause     string  `json:"suspected_cause"`
	Why       string  `json:"why"`
	Check     string  `json:"check"`
	Bring     string  `json:"bring"`
	OpenSince string  `json:"open_since"`
	RunsOpen  int64   `json:"runs_open"`
}

// Manual is what a detector's manual says of the post.
type Manual struct {
	Detector string `json:"detector"`
	Check    string `json:"check"`
}

// Account is all that a run knows of one probe. Times are RFC 3339 in UTC.
type Account struct {
	Run         string            `json:"run"`
	WindowStart string            `json:"window_start"`
	WindowEnd   string            `json:"window_end"`
	Zone        string            `json:"timezone"`
	Probe       string            `json:"probe"`
	Place       map[string]string `json:"place"` // farm, block, zone, post, logger, port, depth_cm, kind
	Verdict     string            `json:"verdict"`
	Previous    string            `json:"previous_verdict"`
	MainFault   string            `json:"main_fault"`
	Because     string            `json:"because"`
	Confidence  float64           `json:"confidence"`
	Since       string            `json:"since"`
	Override    string            `json:"override"`
	Watch       string            `json:"watch"`
	Readings    Readings          `json:"readings"`
	Answered    int64             `json:"detectors_run"`
	Silent      int64             `json:"detectors_not_evaluated"`
	Findings    []Finding         `json:"findings"`       // on the probe, not explained by others
	Explained   []Finding         `json:"explained"`      // on the probe, and explained by others
	Around      []Finding         `json:"around"`         // on its logger and its zone
	Quiet       []string          `json:"waits"`          // findings that visits took out of the queue, and why
	Exclusions  []Exclusion       `json:"exclusions"`     // look-back and window
	LeftOut     float64           `json:"left_out_hours"` // of the window
	Unanswered  []Unanswered      `json:"not_evaluated"`  // why, and what would help
	Check       []Manual          `json:"check"`          // from the manuals of the faults that count
	History     []Past            `json:"history"`        // oldest first, this run last
	Visits      []Visit           `json:"visits"`         // those that it is on, by rank
	zone        *runfolder.Run    // for local times
	window      detect.Span
}

var placeColumns = []string{"farm", "block", "zone", "post", "logger", "port", "depth_cm", "kind"}

// Probe gives the account of one probe. The error wraps ErrNoProbe, with the nearest
// names, when the run has none of that name.
func Probe(r *runfolder.Run, name string, detectors []*detect.Detector) (*Account, error) {
	rows, err := r.Rows(schemas.Health)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(rows, func(row runfolder.Row) bool { return row.Text("probe") == name })
	if at < 0 {
		return nil, unknown(r, rows, name)
	}
	row := rows[at]
	a := &Account{
		Run: r.Name, WindowStart: row.Text("window_start"), WindowEnd: row.Text("window_end"), Zone: r.Zone.String(), Probe: name,
		Place: map[string]string{}, Verdict: row.Text("verdict"), Previous: row.Text("previous_verdict"), MainFault: row.Text("main_fault"),
		Since: row.Text("since"), Override: row.Text("override"), Watch: row.Text("watch"),
		Answered: row.Integer("detectors_run"), Silent: row.Integer("detectors_not_evaluated"),
		Findings: []Finding{}, Explained: []Finding{}, Around: []Finding{}, Quiet: []string{}, Exclusions: []Exclusion{},
		Unanswered: []Unanswered{}, Check: []Manual{}, History: []Past{}, Visits: []Visit{}, zone: r, window: r.Past.Period.Window,
	}
	for _, c := range placeColumns {
		a.Place[c] = row.Text(c)
	}
	a.Confidence, _ = row.Number("confidence")
	share, _ := row.Number("usable_share")
	a.Readings = Readings{Expected: row.Integer("readings_expected"), Received: row.Integer("readings_received"), Rejected: row.Integer("readings_rejected"),
		Usable: row.Integer("readings_usable"), UsableShare: share, Last: row.Text("last_reading"), UsableNow: row.Yes("usable_now")}
	faults := row.Words("faults")
	if err := a.findings(r, faults); err != nil {
		return nil, err
	}
	if err := a.quiet(r); err != nil {
		return nil, err
	}
	if err := a.exclusions(r); err != nil {
		return nil, err
	}
	verdictWhy := ""
	a.Unanswered, verdictWhy = unanswered(row.Text("not_evaluated_why"), detectors)
	a.Because = a.because(verdictWhy)
	a.check(detectors)
	for _, h := range r.Past.History {
		if h.Probe == name {
			p := Past{WindowEnd: stamp(h.Window.End), Verdict: string(h.Verdict), MainFault: h.MainFault}
			if h.UsableShare.OK {
				p.UsableShare = &h.UsableShare.V
			}
			a.History = append(a.History, p)
		}
	}
	slices.SortStableFunc(a.History, func(x, y Past) int { return cmp.Compare(x.WindowEnd, y.WindowEnd) })
	return a, a.visits(r)
}

// unknown says what was probably meant.
func unknown(r *runfolder.Run, rows []runfolder.Row, name string) error {
	var all, at []string
	what := ""
	for _, row := range rows {
		all = append(all, row.Text("probe"))
		for _, c := range []string{"logger", "post", "zone", "block"} {
			if row.Text(c) == name && (what == "" || what == c) {
				what, at = c, append(at, row.Text("probe"))
			}
		}
	}
	if what != "" {
		more := ""
		if len(at) > 8 {
			at, more = at[:8], fmt.Sprintf(" and %d more", len(at)-8)
		}
		return fmt.Errorf("%w: %s is a %s in %s; name one of its probes: %s%s", ErrNoProbe, name, what, r.Name, strings.Join(at, ", "), more)
	}
	near := nearest(name, all)
	if len(near) > 0 {
		return fmt.Errorf("%w: %s has no probe %q; did you mean %s?", ErrNoProbe, r.Name, name, strings.Join(near, ", "))
	}
	return fmt.Errorf("%w: %s has no probe %q; the column probe of its health.csv names all %d", ErrNoProbe, r.Name, name, len(all))
}

// nearest gives the name that was probably meant, else those that hold the one given,
// up to five.
func nearest(name string, all []string) (near []string) {
	if one, ok := table.Nearest(name, all); ok {
		return []string{one}
	}
	key := table.Fold(name)
	for _, n := range all {
		if key != "" && len(near) < 5 && strings.Contains(table.Fold(n), key) {
			near = append(near, n)
		}
	}
	return near
}

// maskWhy is the reason in the table of what explains what.
func maskWhy(maskedBy, fault string) string {
	by, _, _ := strings.Cut(maskedBy, " ")
	for _, m := range judge.Masks() {
		if m.By == by && slices.Contains(m.Faults, fault) {
			return m.Why
		}
	}
	return ""
}
