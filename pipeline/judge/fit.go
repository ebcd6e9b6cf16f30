package judge

import (
	"fmt"
	"strings"

	"probeward/detectors/detect"
)

// newest is how near the window's end the newest reading of a fit probe lies at
// least: a day, or ten of its own steps where these are longer.
const (
	newestSpan  = detect.Day
	newestSteps = 10
)

// Requirement says what must have been evaluated, clear or found, before probes
// of some kind and quantity may be called fit.
type Requirement struct {
	Kind     detect.Kind // empty: any
	Quantity detect.Quantity
	// AnyOf lists sets of detectors: one of each must have reached an answer.
	// None at all: never fit.
	AnyOf [][]string
	Why   string
}

// Requirements is the table: the first row of a probe's kind and quantity holds.
func Requirements() []Requirement { return requirements }

// lives are the tests of whether a moisture probe still follows its soil.
var lives = []string{"flat_line", "missing_irrigation_response"}

var requirements = []Requirement{
	{Kind: detect.Tensiometer, Quantity: detect.Tension, AnyOf: [][]string{
		{"gap"}, {"open_circuit", "out_of_range"}, {"short_circuit", "out_of_range"},
		{"lost_suction", "missing_irrigation_response"},
	}, Why: "an empty tensiometer reads wet, and only its neighbours or a watering tell it from wet soil"},
	{Quantity: detect.Ohms, AnyOf: [][]string{{"gap"}, {"open_circuit"}, {"short_circuit"}, lives},
		Why: "an open lead reads dry and a short reads wet: both look like soil"},
	{Quantity: detect.Tension, AnyOf: [][]string{{"gap"}, {"open_circuit"}, {"short_circuit"}, lives},
		Why: "an open lead reads dry and a short reads wet: both look like soil"},
	{Quantity: detect.WaterContent, AnyOf: [][]string{
		{"gap"}, {"open_circuit", "out_of_range"}, {"short_circuit", "out_of_range"}, lives,
	}, Why: "a dead dielectric probe stands outside what soil can hold, or still"},
	{Quantity: detect.Celsius, AnyOf: [][]string{{"gap"}, {"open_circuit", "out_of_range"}, {"flat_line"}},
		Why: "a dead thermometer stands outside what soil can be, or still"},
	{Quantity: detect.Raw,
		Why: "a count without a scale can be held against nothing: give its unit and scale in the register"},
}

// requirement of a probe; a quantity without a row is never fit.
func requirement(p *detect.Probe) Requirement {
	for _, r := range requirements {
		if r.Quantity == p.Quantity && (r.Kind == "" || r.Kind == p.Kind) {
			return r
		}
	}
	return Requirement{Why: "nothing says what a probe of this quantity must show"}
}

// lacking names what was not evaluated of what a verdict of fit needs; empty:
// enough was.
func (w *work) lacking(probe int) string {
	r := requirement(&w.in.Probes[probe])
	if len(r.AnyOf) == 0 {
		return r.Why
	}
	var missing []string
	for _, set := range r.AnyOf {
		ok := false
		for _, fault := range set {
			ok = ok || w.evaluated(probe, fault)
		}
		if !ok {
			missing = append(missing, strings.Join(set, " or "))
		}
	}
	if len(missing) == 0 {
		return ""
	}
	return fmt.Sprintf("not evaluated: %s", strings.Join(missing, ", "))
}

// enough says whether the readings of a probe were examined so far that the rest
// of them passes.
func (w *work) enough(probe int) bool { return w.lacks[probe] == "" }

// unsure says why a probe without a fault cannot be called fit; empty: it can.
func (w *work) unsure(probe int, s *State) string {
	switch {
	case s.Received == 0:
		return "no reading with a value in the window"
	case !w.fresh(probe, s):
		return "no reading since " + detect.Stamp(s.Last.V)
	default:
		return w.lacks[probe]
	}
}

// fresh says whether the newest reading is near enough to the window's end to
// speak for it.
func (w *work) fresh(probe int, s *State) bool {
	limit := max(newestSpan, newestSteps*w.in.Reports[probe].Summary.Cadence)
	return s.Last.OK && w.in.Period.Window.End-s.Last.V <= limit
}
