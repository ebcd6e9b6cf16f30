package detect

import (
	"fmt"

	"probeward/schemas"
)

// State of a cell, a detector's answer about a subject. The zero value is
// NotEvaluated.
type State uint8

// The states.
const (
	NotEvaluated State = iota
	Clear
	Found
)

// String names the state.
func (s State) String() string { return [...]string{"not evaluated", "clear", "found"}[s] }

// Cause keeps apart why something was not evaluated, because the remedies differ.
type Cause uint8

// The causes.
const (
	NotRun   Cause = iota // nobody asked: the zero value
	Absent                // something it needs is not in the register, the export or the logs
	TooShort              // it is there, and too little of it
	NoChance              // nothing happened in the window that could have shown the fault
)

// Why says why a detector gave no answer, and what would let it.
type Why struct {
	Cause Cause
	Text  string // "needs ohms; this export holds kPa"
}

// String gives the words, or that there are none.
func (w Why) String() string {
	if w.Text == "" {
		return "not run"
	}
	return w.Text
}

// Part is a stretch of a finding with its own flag, where not all of its readings
// are alike: the flips of an intermittent contact fail, what lies between is suspect.
type Part struct {
	Span
	Flag schemas.Flag
}

// Finding is one fault of one subject.
type Finding struct {
	Fault string // filled in with the detector's name when empty
	// Start is the first reading that shows the fault. End is just after the last
	// that does; when Open it is the end of the window and the fault still stands.
	Start, End int64
	Open       bool
	// ExcludeFrom, when not zero, is where the readings stop being known good: at
	// or before Start. Proof comes later than the fault.
	ExcludeFrom int64
	// Parts say which readings are touched, and how badly; empty: all of
	// [Start, End) with the fault's own flag.
	Parts      []Part
	Readings   int     // readings that show it
	Confidence float64 // 0 to 1: the share of such findings that are expected to be real
	Measured   float64
	Threshold  float64
	Unit       string // of both
	Evidence   string // words, with numbers and units: what was seen, and against what
	// Probes are the places of the probes that a group's finding touches; empty in
	// a probe's finding: the probe itself.
	Probes []int
	// Amends is what the register would have to say to agree with the data; empty
	// where the finding is no register fault, or nothing tells.
	Amends []Amend
}

// Amend is one cell of the register that the data contradict.
type Amend struct {
	Probe  int    // place in the register
	Column string // of schemas.Probes
	Value  string
}

// Outcome is a detector's answer about one subject.
type Outcome struct {
	State    State
	Why      Why // when NotEvaluated
	Findings []Finding
	// Unseen are the probes of a group, by their place, that a group's answer says
	// nothing of, and why: for them the cell is not evaluated.
	Unseen map[int]Why
}

// Healthy is the answer: looked, and saw nothing.
func Healthy() Outcome { return Outcome{State: Clear} }

// Faulty is the answer: looked, and saw these. Without findings it is Healthy.
func Faulty(findings ...Finding) Outcome {
	if len(findings) == 0 {
		return Healthy()
	}
	return Outcome{State: Found, Findings: findings}
}

// Unable is the answer: could not look, for this cause.
func Unable(cause Cause, format string, args ...any) Outcome {
	return Outcome{Why: Why{Cause: cause, Text: fmt.Sprintf(format, args...)}}
}
