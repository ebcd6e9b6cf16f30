package rank

import (
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/feedback"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// Input is what a ranking rests on. Nothing in it is written to.
type Input struct {
	Probes   []detect.Probe // the register, sorted by name
	Details  []register.Detail
	Loggers  []register.Logger // sorted by name
	Judged   *judge.Result
	Previous map[string]previous.Visit // by the visit's name; nil: there was no run before
	Period   detect.Period
	Feedback *feedback.Book        // what came of earlier visits; nil: nothing is known
	Cadence  func(place int) int64 // a probe's own step, 0 when unknown; nil: all are
	Zone     *time.Location        // of days in words; nil: UTC
	// Waterings that were logged, by zone, sorted; nil: nobody keeps a log.
	Waterings map[string][]detect.Water
}

// Quieted is a finding that would make a visit, and waits because of what earlier
// visits found.
type Quieted struct {
	Finding int // place in the judgement
	feedback.Evidence
	Why string
}

// Visit is one stop of the crew. Ports, Probes, Depths and Places go together, one
// for each probe, sorted by probe.
type Visit struct {
	Name                string
	Farm                string
	Block               string   // several stand with a blank between
	Zones, Loggers      []string // sorted, each once
	Post, Tag, Row      string
	Latitude, Longitude detect.Maybe[float64] // deg, WGS 84; both or none
	Places              []int                 // in the register
	Probes, Ports       []string
	Depths              []string       // cm; - for none
	Cause               string         // in words
	Family              schemas.Family // of the main fault
	Faults              []string       // the main one first, then in the order of the table
	Findings            []int          // places in the judgement
	Confidence          float64        // that something is wrong there, 0 to 1
	LastReading         detect.Maybe[int64]
	Check, Bring        []string // in order
	Minutes             float64  // of work
	Priority            float64
	Why                 string
	OpenSince           detect.Maybe[int64]
	RunsOpen            int
	RouteOrder          detect.Maybe[int] // from 1; absent without coordinates
}
