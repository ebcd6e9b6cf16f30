package judge

import (
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/corroborate"
	"probeward/schemas"
)

// Input is all that a judgement rests on. Nothing in it is written to.
type Input struct {
	Probes []detect.Probe // the register, sorted by name
	Period detect.Period
	// ProbeDetectors and GroupDetectors in the order of the outcomes.
	ProbeDetectors, GroupDetectors []*detect.Detector
	Reports                        []detect.Report       // by place in the register; one for every probe
	Groups                         []corroborate.Verdict // in any order
	Overrides                      []Override            // in any order
	Mended                         []Mended              // in any order: findings that a visit explains
	ExcludeSuspect                 bool                  // leave out flag 3 as well as flag 4
	// Times gives the stamps of a probe that have a value, in the period, sorted.
	// It is called once a probe, and the slice is not kept.
	Times    func(probe int) []int64
	Rejected []int          // readings rejected by place in the register; nil: none
	Zone     *time.Location // of the days of coverage; nil: UTC
	Previous map[string]schemas.Verdict
}

// Actions of an override.
const (
	Ignore  = "ignore"  // the scan's findings in the span do not count
	Accept  = "accept"  // the readings in the span are usable whatever the scan says
	Exclude = "exclude" // the readings in the span are left out whatever the scan says
)

// Override is a person's word about one probe. A span without a from starts at
// math.MinInt64, one without an until ends at math.MaxInt64.
type Override struct {
	Probe  int // place in the register
	Action string
	detect.Span
	Why string
}

// Applied is an override that the judgement used, and what it did.
type Applied struct {
	Override
	Ends     detect.Maybe[int64] // absent: until someone takes it back
	Expired  bool                // it no longer holds at the window's end
	Findings int                 // findings that it silenced
	Readings int                 // readings in its span
}

// Result is the judgement of a run.
type Result struct {
	Period     detect.Period
	Findings   []Finding   // sorted by subject, name, start, fault
	States     []State     // by place in the register
	Marks      [][]Mark    // by place in the register
	Exclusions []Exclusion // sorted by probe and start
	Coverage   []CoverageRow
	Matrix     []Count   // a row a detector, those of probes first
	Overrides  []Applied // sorted by probe, start, action
}

// Finding is a detector's finding with its place in the tables.
type Finding struct {
	detect.Finding // Probes is filled in for a logger's or a zone's
	Subject        schemas.Subject
	Name           string // of the probe, logger or zone
	Probe          int    // place in the register; -1 for a logger or zone
	Family         schemas.Family
	Flag           schemas.Flag // what its readings get, its Parts aside
	Detector       string
	// MaskedBy names the finding that explains this one and its subject
	// ("logger_silent of L7"), or the override or register row that silences it;
	// empty: it stands by itself. MaskedWhy is the reason in words.
	MaskedBy, MaskedWhy string
}

// Mark is a stretch of one probe's readings that are not a plain pass. The marks
// of a probe are disjoint and sorted.
type Mark struct {
	detect.Span
	Flag       schemas.Flag // 2 not evaluated, 3 suspect or 4 fail
	Bits       int64        // 1 << schemas.FaultBit of each fault with a part in it
	Confidence float64      // the highest of the faults that give the flag; 0 for flag 2
}

// State is one probe at the window's end.
type State struct {
	Verdict  schemas.Verdict
	Previous schemas.Verdict // empty: there was no run before, or not this probe
	Main     int             // place in Findings of what makes the verdict; -1: none does
	Touching []int           // places in Findings of all that touch the probe, masked ones too
	// Faults of the probe and of its logger that touch the window, in the order
	// of the table of faults, masked ones too.
	Faults     []string
	Confidence float64             // of the verdict; 0 for unknown
	Since      detect.Maybe[int64] // when the main fault began for this probe
	Expected   detect.Maybe[int]   // readings in the window at the probe's own cadence
	Received   int                 // readings with a value in the window
	Rejected   int                 // over the whole period
	Usable     int                 // received and not excluded
	Last       detect.Maybe[int64] // newest reading with a value
	UsableNow  bool
	InGround   bool // in the ground and wired at the window's end, as registered

	Run, NotEvaluated int // detectors that apply to the probe
	// NotEvaluatedWhy begins with why the probe is unknown, where it is.
	NotEvaluatedWhy string
	Logger, Port    string // at the window's end
}

// Exclusion is a stretch of a probe's readings to leave out, half-open. Those of
// a probe neither overlap nor touch.
type Exclusion struct {
	Probe int
	detect.Span
	Flag       schemas.Flag // the worst within
	Reasons    []string     // the faults that ask for it, in the order of the table; "override" first
	Confidence float64      // the highest of theirs
}

// CoverageRow is what one depth of a zone can still be judged by.
type CoverageRow struct {
	Farm, Zone, Block string // several blocks stand with a blank between
	DepthCM           detect.Maybe[float64]
	Members           []int                   // places of its probes
	Probes            int                     // registered and in the ground
	Verdicts          map[schemas.Verdict]int // of these
	UsableDays        int
	Blind             bool
	BlindSince        detect.Maybe[int64] // absent: not blind, or blind all through the period
	LastTrusted       detect.Maybe[int64] // in the period
}

// Count is one detector's row of the matrix. Found and clear and the four causes
// add up to Subjects.
type Count struct {
	Detector string
	Scope    detect.Scope
	Subjects int // probes, or groups of its scope
	Found    int
	Clear    int
	Causes   [4]int // not evaluated, by detect.Cause
}
