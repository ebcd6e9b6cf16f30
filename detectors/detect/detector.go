package detect

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"probeward/schemas"
)

// Scope says what a detector is shown at once.
type Scope uint8

// The scopes.
const (
	PerProbe  Scope = iota // one probe's series
	PerLogger              // the summaries of a logger's probes, and its clock
	PerZone                // the summaries of a zone's probes
	PerFarm                // the summaries of all probes, and every zone's waterings
)

// String names the scope.
func (s Scope) String() string { return [...]string{"probe", "logger", "zone", "farm"}[s] }

// Param is one threshold of a detector. A number that decides anything is a Param
// with its unit, reason and source, or it is not there.
type Param struct {
	Name    string
	Default float64
	Unit    string // "1" for a plain number
	Why     string // the reason
	Source  string // where it comes from; "common practice, no source" where none is known
}

// Detector is one fault's detector, declared as a value.
type Detector struct {
	Name   string // the fault's name in schemas.Faults
	Doc    string // the manual, embedded from the package's doc.go
	Scope  Scope
	Needs  Needs // without these it is not evaluated, and the pass hands out no others
	Uses   Needs // handed out when they are there; it answers without them too
	Params []Param
	// MinReadings with a value, and MinSpan between the first and the last of them
	// (hours), in window and look-back together. Zero: any.
	MinReadings  int
	MinSpanHours float64
	Since        string // the version that first had it
	Run          func(*Pass) Outcome
	RunGroup     func(*GroupPass) Outcome
}

// Headings that every manual has, in this order.
var Headings = []string{
	"Looks like", "Often mistaken for", "Needs", "Thresholds",
	"What to check at the post", "Where the idea comes from",
}

var paramName = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)

// Validate refuses a detector that is not declared in full. The error holds every
// complaint at once.
func (d *Detector) Validate() error {
	var all []error
	say := func(format string, args ...any) {
		all = append(all, fmt.Errorf("detector %q: "+format, append([]any{d.Name}, args...)...))
	}
	fault, known := schemas.FaultNamed(d.Name)
	if !known {
		say("the table of faults has no such fault")
	}
	if (d.Scope == PerProbe) != (d.Run != nil) || (d.Scope == PerProbe) == (d.RunGroup != nil) {
		say("scope %s wants exactly its own run function", d.Scope)
	}
	if known && d.Scope == PerProbe && fault.Subject != schemas.SubjectProbe {
		say("a probe detector cannot find a fault of a %s", fault.Subject)
	}
	if d.Needs&d.Uses != 0 {
		say("what it needs it need not also use: %s", d.Needs&d.Uses)
	}
	if d.Since == "" {
		say("since which version is not said")
	}
	at := 0
	for _, h := range Headings {
		i := strings.Index(d.Doc[at:], "# "+h)
		if i < 0 {
			say("the manual lacks the heading %q, or has it out of order", h)
			continue
		}
		at += i + len(h)
	}
	seen := map[string]bool{}
	for _, p := range d.Params {
		switch {
		case !paramName.MatchString(p.Name):
			say("parameter %q: names are lower case with underscores", p.Name)
		case seen[p.Name]:
			say("parameter %q is declared twice", p.Name)
		case p.Unit == "" || p.Why == "" || p.Source == "":
			say("parameter %q lacks its unit, its reason or its source", p.Name)
		case !strings.Contains(d.Doc, p.Name):
			say("parameter %q is not in the manual", p.Name)
		}
		seen[p.Name] = true
	}
	return errors.Join(all...)
}

// ParameterNames lists the parameters of each detector: what a configuration may set.
func ParameterNames(detectors []*Detector) map[string][]string {
	known := map[string][]string{}
	for _, d := range detectors {
		known[d.Name] = nil
		for _, p := range d.Params {
			known[d.Name] = append(known[d.Name], p.Name)
		}
	}
	return known
}
