package shortcircuit

import (
	_ "embed"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
	"probeward/schemas"
)

//go:embed doc.go
var manual string

// Detector finds leads that touch.
var Detector = &detect.Detector{
	Name:  "short_circuit",
	Doc:   manual,
	Scope: detect.PerProbe,
	Uses: detect.NeedWetness | detect.NeedTemperature | detect.NeedTexture |
		detect.NeedIrrigation | detect.NeedRain | detect.NeedDemand,
	Params: []detect.Param{
		{Name: "short_ohms", Default: soil.ShortOhms, Unit: "ohm",
			Why:    "a saturated block shows about 550, a new unconditioned one 300 to 550",
			Source: "common practice, no source"},
		{Name: "min_readings", Default: 3, Unit: "readings",
			Why:    "one or two readings are a flip of the contact, which cable_damage counts",
			Source: "common practice, no source"},
		{Name: "negative_kpa", Default: -7, Unit: "kPa",
			Why:    "an export that does not stop at zero gives a granular matrix sensor of 300 ohm -5.8 kPa at 24 degC and -7.0 at 35, and a dead short -12.7",
			Source: "wet branch of the piecewise form of Allen (2000), derived"},
		{Name: "least_kpa", Default: -20, Unit: "kPa",
			Why:    "no resistance at all, in soil of 45 degC and with 50 ohm of copper subtracted, converts to -19.2 kPa: what lies further below is no short",
			Source: "wet branch of the piecewise form of Allen (2000), derived"},
		{Name: "most_water", Default: 1.5, Unit: "m3/m3",
			Why:    "water itself reads 0.96 by Topp's equation at a permittivity of 80: values half as large again are another unit's, and no lead's state",
			Source: "Topp, Davis & Annan (1980), eq. 7 (derived); margin: common practice, no source"},
		{Name: "dead_zone", Default: 10, Unit: "kPa",
			Why:    "a dead short converts to 0, 5.8 or another constant below this; wetter than this a block does not tell tensions apart",
			Source: "dead zone of about 10 kPa in loamy fine sand (checked)"},
		{Name: "leap_hours", Default: 72, Unit: "h",
			Why:    "how long a dead low constant must last after a leap that no logged water explains: water that nobody logged has drained by then",
			Source: "common practice, no source"},
		{Name: "own_step", Default: 3, Unit: "1",
			Why:    "a step towards wet this many times the largest that the probe makes in all the rest of the period is not its answer to water",
			Source: "common practice, no source; a block follows water over an hour or more"},
		{Name: "own_quanta", Default: 3.5, Unit: "steps of the resolution",
			Why:    "the least such step from a reading that is only a few of them away from zero; rounding makes two of one. No water may be logged in the day before",
			Source: "derived: both readings are off by up to half a step, and one more for noise"},
		{Name: "own_hours", Default: 36, Unit: "h",
			Why:    "how long an exact constant must last after such a step: through a watering and the night after it",
			Source: "common practice, no source"},
		{Name: "own_days", Default: 14, Unit: "days",
			Why:    "the probe's steps must be known over two weeks or so, in which it was watered",
			Source: "common practice, no source"},
		{Name: "drain_days", Default: 3, Unit: "days",
			Why:    "after this long without water a soil has drained to field capacity, 10 to 33 kPa",
			Source: "common practice, no source"},
		{Name: "dry_days", Default: 7, Unit: "days",
			Why:    "the least dry weather in a row, drainage over, in which a wet probe must have moved",
			Source: "common practice, no source"},
		{Name: "demand_mm", Default: 30, Unit: "mm",
			Why:    "what the sky must have asked for in that time: an eighth of the water that a metre of loam holds between its ends",
			Source: "available water of loam 143 mm a metre, Saxton & Rawls 2006 (derived); share: common practice, no source"},
		{Name: "dry_days_alone", Default: 21, Unit: "days",
			Why:    "the same where no demand is known, and where neither rain nor waterings are: after a leap, exactly constant for this long",
			Source: "common practice, no source"},
		{Name: "porosity_margin", Default: 0.05, Unit: "m3/m3",
			Why:    "a texture's saturated water content is a mean of many soils",
			Source: "table of Carsel & Parrish 1988 (checked); margin: common practice, no source"},
		{Name: "porosity_days", Default: 3, Unit: "days",
			Why:    "how long a dead constant above a texture's porosity must stand: a flooded soil drains in less",
			Source: "common practice, no source"},
		{Name: "moving_hours", Default: 24, Unit: "h",
			Why:    "water content beyond all soil that a leap led to and that moves must last, or it is scatter among values: a contact that comes and goes",
			Source: "common practice, no source"},
		{Name: "offset_ohms", Default: 50, Unit: "ohm",
			Why:    "a logger that subtracts the copper of a long lead may be off by so much below zero; readings that wander further below are no resistance",
			Source: "300 m of 24 AWG, there and back, 50.5 ohm (derived)"},
		{Name: "seen_steps", Default: 3, Unit: "cadences",
			Why:    "over a longer gap a wetting passes unseen, and an arrival proves nothing",
			Source: "common practice, no source"},
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
	s := newScan(p)
	var spells []spell
	switch q {
	case detect.Ohms:
		spells = s.below(p.Param("short_ohms"))
	case detect.Tension:
		spells = s.still()
	case detect.WaterContent:
		spells = s.aboveSoil()
	}
	spells = merge(spells, coded)
	if len(spells) == 0 && s.hidden.Text != "" {
		return detect.Outcome{Why: s.hidden}
	}
	return detect.Faulty(findings(p, spells)...)
}

// spell is one stretch in which the leads touched.
type spell struct {
	detect.Span
	open       bool
	readings   int
	confidence float64
	how        way
	value      float64
	limit      float64
	unit       string // of a limit that is not in the series' own unit
	why        string // words of what ruled out wet soil
}

// way is what gave a spell away.
type way uint8

const (
	beyond   way = iota // a value that no soil gives
	standing            // a dead constant that wet soil would have left
	follows             // the conversion of no resistance at all, moving with the temperature
	word                // the logger's own fault code
)

// Shares of such spells that are expected to be real: judged, not measured.
const (
	confidenceBeyond  = 0.97
	confidenceNear    = 0.80 // within half of the limit: salt or a warm new sensor might come near
	confidenceSlid    = 0.60 // it came there by small steps
	confidenceLeap    = 0.90 // a leap with no water near, and dead
	confidenceAlien   = 0.85 // a step of a kind that the probe makes nowhere else, then dead
	confidenceDemand  = 0.85 // dead through dry weather with demand
	confidenceDry     = 0.78 // dead through dry weather, demand not known
	confidenceAlone   = 0.70 // a leap and dead for weeks, weather not known
	confidencePores   = 0.60
	confidenceFollows = 0.95
	confidenceWord    = 0.97
	shortSpell        = 0.15 // taken off when it ended within half a day
)

// codedSpells are the stretches in which the logger wrote its code for a short
// circuit, no value between.
func codedSpells(p *detect.Pass) []spell {
	least := p.Param("min_readings")
	var out []spell
	for _, c := range p.CodedStretches(schemas.CodeShort, int(least)) {
		out = append(out, spell{
			Span: c.Span, open: c.Open, readings: c.Readings, confidence: confidenceWord, how: word,
			value: float64(c.Readings), limit: least, unit: "readings",
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

// shockZero is what the form of Shock, Barnum & Seddigh (1998) makes of no
// resistance at all, in kPa: a plausible wet soil.
func shockZero(tempC float64) float64 { return 4.093 / (1 - 0.01205*tempC) }

func distance(a, b float64) float64 { return math.Abs(a - b) }
