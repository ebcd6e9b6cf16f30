package opencircuit

import (
	_ "embed"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
	"probeward/schemas"
)

//go:embed doc.go
var manual string

// Detector finds a broken or unplugged lead.
var Detector = &detect.Detector{
	Name:  "open_circuit",
	Doc:   manual,
	Scope: detect.PerProbe,
	Uses:  detect.NeedWetness | detect.NeedScaleEnd | detect.NeedTemperature | detect.NeedInstalledOn,
	Params: []detect.Param{
		{Name: "open_ohms", Default: soil.OpenOhms, Unit: "ohm",
			Why:    "a block in the driest soil that its calibration covers shows less",
			Source: "common practice, no source; the piecewise form gives 268 kPa there at 24 degC (Allen 2000, derived)"},
		{Name: "min_readings", Default: 3, Unit: "readings",
			Why:    "one or two readings are a flip of the contact, which cable_damage counts",
			Source: "common practice, no source"},
		{Name: "near_air", Default: 0.03, Unit: "m3/m3",
			Why:    "a probe's usual offset: this far above air a dead constant still is no soil",
			Source: "common practice, no source"},
		{Name: "rate_ratio", Default: 12, Unit: "1",
			Why:    "where the scale's end is too near for a full leap, half a leap counts when it is this many times the largest step of the day before",
			Source: "common practice, no source"},
		{Name: "own_step", Default: 3, Unit: "1",
			Why:    "a step onto the scale's end this many times the largest towards dry that the probe makes in all the rest of the period is not its own drying",
			Source: "common practice, no source; a block follows its soil over an hour or more"},
		{Name: "own_leap", Default: 0.25, Unit: "1",
			Why:    "and at least this share of a full leap, a factor of 1.3: what less there is to the end, noise bridges",
			Source: "common practice, no source"},
		{Name: "own_hours", Default: 12, Unit: "h",
			Why:    "and it must then stand exactly there, through a night, in which soil swings",
			Source: "common practice, no source"},
		{Name: "own_days", Default: 14, Unit: "days",
			Why:    "the probe's steps must be known over two weeks or so, in which it dried",
			Source: "common practice, no source"},
		{Name: "seen_steps", Default: 3, Unit: "cadences",
			Why:    "over a longer gap a dry-down passes unseen, and an arrival proves nothing",
			Source: "common practice, no source"},
		{Name: "frost", Default: 1, Unit: "degC",
			Why:    "freezing soil water looks like an open lead: ice neither conducts nor shows in permittivity",
			Source: "common practice, no source; frozen soil is flagged apart in Dorigo et al. 2013, D01 (from memory)"},
		{Name: "air_days", Default: 3, Unit: "days",
			Why:    "a constant near air whose arrival nobody saw must last longer than any calm weather",
			Source: "common practice, no source"},
		{Name: "moving_hours", Default: 24, Unit: "h",
			Why:    "water content below air that a leap led to and that moves must last, or it is scatter among values: a contact that comes and goes",
			Source: "common practice, no source"},
		{Name: "dry_end", Default: 190, Unit: "kPa",
			Why:    "where the data show no scale's end, a constant drier than this may be one; the published forms are read up to about 200",
			Source: "common practice, no source"},
		{Name: "dead_wet", Default: 10, Unit: "kPa",
			Why:    "a logger without supply reads no resistance, which converts to 0, 5.8 or another constant below this: a way back from there is no leap of the soil",
			Source: "dead zone of about 10 kPa in loamy fine sand (checked)"},
		{Name: "rejoin", Default: 24, Unit: "h",
			Why:    "spells that come back within a day are one fault and one visit; over a longer silence no spell goes on",
			Source: "common practice, no source"},
	},
	Since: "1.0",
	Run:   run,
}

func run(p *detect.Pass) detect.Outcome {
	coded := codedSpells(p)
	q := p.Quantity()
	readable := q == detect.Ohms || q == detect.Tension || q == detect.WaterContent
	switch n := len(p.Time()); {
	case n == 0 && len(coded) == 0:
		return detect.Unable(detect.TooShort, "needs a reading with a value, had 0")
	case n == 0 || !readable || !p.Has(detect.NeedWetness):
		if len(coded) > 0 {
			return detect.Faulty(findings(p, coded)...)
		}
		return detect.Unable(detect.Absent, "needs a moisture reading in ohms, kPa or m3/m3; this series holds %s: give the register a kind, unit and scale that lead there", q.Unit())
	}
	spells, hidden := newScan(p).spells()
	spells = merge(spells, coded)
	if len(spells) == 0 && hidden != "" {
		return detect.Unable(detect.NoChance, "%s", hidden)
	}
	return detect.Faulty(findings(p, spells)...)
}

// spell is one stretch in which the lead was open.
type spell struct {
	detect.Span
	open       bool
	readings   int
	confidence float64
	how        way
	value      float64 // where it stood
	before     float64 // the reading before a leap; NaN where none was seen
	limit      float64
}

// way is what gave a spell away.
type way uint8

const (
	beyond  way = iota // a value that no soil gives
	landed             // a leap onto the scale's end or near air
	resting            // a dead constant near air that was there from the first
	signal             // a tensiometer without a signal
	word               // the logger's own fault code
)

// Shares of such spells that are expected to be real: judged, not measured.
const (
	confidenceBeyond  = 0.98
	confidenceUnseen  = 0.88 // the state is impossible, its beginning was not seen
	confidenceLanded  = 0.93
	confidenceHalf    = 0.80 // half a leap, out of a quiet day
	confidenceSignal  = 0.85
	confidenceResting = 0.60
	confidenceWord    = 0.97
	shortSpell        = 0.15 // taken off when it ended within half a day
)

// codedSpells are the stretches in which the logger wrote its code for an open
// circuit, no value between.
func codedSpells(p *detect.Pass) []spell {
	least := p.Param("min_readings")
	var out []spell
	for _, c := range p.CodedStretches(schemas.CodeOpen, int(least)) {
		out = append(out, spell{
			Span: c.Span, open: c.Open, readings: c.Readings, confidence: confidenceWord, how: word,
			value: float64(c.Readings), limit: least, before: math.NaN(),
		})
	}
	return out
}

// merge keeps both lists in time order; codes and values never share a stamp.
func merge(a, b []spell) []spell {
	if len(b) == 0 {
		return a
	}
	out := make([]spell, 0, len(a)+len(b))
	for len(a) > 0 || len(b) > 0 {
		if len(b) == 0 || len(a) > 0 && a[0].Start < b[0].Start {
			out, a = append(out, a[0]), a[1:]
		} else {
			out, b = append(out, b[0]), b[1:]
		}
	}
	return out
}
