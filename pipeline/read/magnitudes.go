package read

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"

	"probeward/detectors/detect"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// What the values of each probe say about the unit that the register gives it. A
// contradiction is noted with the row that would mend it; nothing is converted by it.

// tally counts the values of one probe, by their standard value.
type tally struct {
	heard    int64 // readings, blanks included
	values   int64
	percent  int64   // above 1.5 and up to 100: water contents of no soil, percents of many
	fraction int64   // from 0.0002 to below 0.01: percents of no soil, fractions of all when read so
	negative int64   // below 0
	tiny     int64   // ohms of no sensor, kilohms of many; see ohms.go
	huge     int64   // kilohms of no sensor, ohms of many
	min, max float64 // as exported
}

// Evident is what nearly all of some values say.
const (
	evidentValues = 24   // the fewest that say anything
	evidentShare  = 0.95 // of them; the rest may be faults
)

// survey tallies every probe's readings in one pass over the batches.
func survey(batches []arrow.Record, reg *register.Register) []tally {
	all := make([]tally, len(reg.Probes))
	for i := range all {
		all[i].min, all[i].max = math.Inf(1), math.Inf(-1)
	}
	for _, b := range batches {
		probes := b.Column(schemas.ColProbe).(*array.Uint32).Uint32Values()
		column := b.Column(schemas.ColValue).(*array.Float64)
		values, whole := column.Float64Values(), column.NullN() == 0
		for i, p := range probes {
			t := &all[p]
			t.heard++
			if !whole && column.IsNull(i) {
				continue
			}
			v := values[i]
			t.values++
			t.min, t.max = min(t.min, v), max(t.max, v)
			switch v = reg.Probes[p].Scale * (v - reg.Probes[p].Offset); {
			case reg.Probes[p].Quantity == detect.Ohms:
				t.ofOhms(v)
			case v < 0:
				t.negative++
			case v > 1.5 && v <= 100:
				t.percent++
			case v >= 0.0002 && v < 0.01:
				t.fraction++
			}
		}
	}
	return all
}

// contradiction is one way in which magnitudes deny a unit.
type contradiction struct {
	denied func(p *detect.Probe, t *tally) bool
	words  string // what is registered, and what the values are
	row    func(p *detect.Probe) string
}

var contradictions = []contradiction{
	{
		denied: func(p *detect.Probe, t *tally) bool {
			return p.Unit == "m3/m3" && p.Quantity == detect.WaterContent && nearly(t.percent, t.values) && t.negative == 0 && p.Scale*(t.max-p.Offset) <= 100
		},
		words: "registered in m3/m3, of which no soil holds more than 1, and their values look like percents",
		row:   func(p *detect.Probe) string { return row(p, "%", "") },
	},
	{
		denied: func(p *detect.Probe, t *tally) bool {
			return p.Unit == "%" && p.Quantity == detect.WaterContent && nearly(t.fraction, t.values) && p.Scale*(t.max-p.Offset) < 0.01
		},
		words: "registered in %, and all their values are below 1: they look like fractions",
		row:   func(p *detect.Probe) string { return row(p, "m3/m3", "") },
	},
	{
		denied: func(p *detect.Probe, t *tally) bool {
			// A dead input that stands at one negative value is no potential.
			return p.Quantity == detect.Tension && (p.Unit == "kPa" || p.Unit == "cbar") && t.values >= evidentValues && t.negative == t.values && t.max-t.min > 2
		},
		words: "registered as tension, which is positive in soil that is not flooded, and all their values are negative once scaled: they look like potentials",
		row: func(p *detect.Probe) string {
			if p.Scale < 0 {
				return row(p, p.Unit, "")
			}
			return row(p, p.Unit, "-1")
		},
	},
}

func nearly(some, all int64) bool {
	return all >= evidentValues && float64(some) >= evidentShare*float64(all)
}

// row is the part of a register's row that matters here.
func row(p *detect.Probe, unit, scale string) string {
	return strings.Join([]string{p.Name, string(p.Kind), unit, scale}, ",")
}

// noteMagnitudes puts the contradictions between units and magnitudes into a note
// each.
func noteMagnitudes(all []tally, reg *register.Register) []string {
	const most = 10
	var notes []string
	for _, c := range append(slices.Clip(contradictions), ohmContradictions...) {
		var evidence, rows []string
		n := 0
		for i := range all {
			p, t := &reg.Probes[i], &all[i]
			if !c.denied(p, t) {
				continue
			}
			if n++; n <= most {
				evidence = append(evidence, fmt.Sprintf("%s (%d values from %g to %g)", p.Name, t.values, t.min, t.max))
				rows = append(rows, c.row(p))
			}
		}
		if n == 0 {
			continue
		}
		more := ""
		if n > most {
			more = fmt.Sprintf(" and %d more", n-most)
		}
		notes = append(notes, fmt.Sprintf("probes are %s: %s%s; if so, write in the register, as probe,kind,unit,scale: %s%s; nothing is converted until then",
			c.words, strings.Join(evidence, ", "), more, strings.Join(rows, " | "), more))
	}
	return notes
}
