package chart

import (
	"math"
	"strconv"
	"strings"

	"probeward/detectors/detect"
)

// Ruler turns standard values of a quantity into levels: whole steps of the working
// space, up is wetter (or more, of what tells of no water).
type Ruler struct {
	Quantity detect.Quantity
	step     float64 // of wetness in one level
}

// Steps of a level: a fifth of what a sensor's own noise is, so that a line shows no
// stairs that the data do not have.
const (
	logStep     = 0.002  // 0.2 % of ohms or kPa
	contentStep = 0.0002 // m3/m3
	celsiusStep = 0.01   // degC
)

// NewRuler makes the ruler of a quantity. Raw counts have no scale of their own: the
// largest of their values gives the step, four digits below it.
func NewRuler(q detect.Quantity, values []float64) Ruler {
	switch q {
	case detect.Ohms, detect.Tension:
		return Ruler{q, logStep}
	case detect.WaterContent:
		return Ruler{q, contentStep}
	case detect.Celsius:
		return Ruler{q, celsiusStep}
	}
	most := 1e-6
	for _, v := range values {
		most = max(most, math.Abs(v))
	}
	return Ruler{q, math.Pow(10, math.Floor(math.Log10(most))-3)}
}

// Step is how much of the working space one level is.
func (r Ruler) Step() float64 { return r.step }

// mostLevel bounds a level, so that a garbage value of 1e300 is drawn at the edge
// and not beyond what a path can say.
const mostLevel = 40_000

// Level of a standard value.
func (r Ruler) Level(v float64) int32 {
	return int32(math.Round(min(max(r.Quantity.Wetness(v)/r.step, -mostLevel), mostLevel)))
}

// Value takes a level back to the standard value.
func (r Ruler) Value(level float64) float64 { return r.Quantity.Dryness(level * r.step) }

// sane are the bounds of an axis. Values beyond them are drawn at its edge, so that
// one impossible number does not press all others into a line.
func (r Ruler) sane() (low, high float64) {
	a, b := math.Inf(-1), math.Inf(1)
	switch r.Quantity {
	case detect.Ohms:
		a, b = r.Quantity.Wetness(1e6), r.Quantity.Wetness(0)
	case detect.Tension:
		a, b = r.Quantity.Wetness(5000), r.Quantity.Wetness(-20)
	case detect.WaterContent:
		a, b = -0.25, 1.25
	case detect.Celsius:
		a, b = -60, 100
	}
	return a / r.step, b / r.step
}

// least is how much of the working space an axis shows at least: without it, a flat
// line's last digit would fill the chart.
func (r Ruler) least() float64 {
	switch r.Quantity {
	case detect.Ohms, detect.Tension:
		return 0.4 / r.step
	case detect.WaterContent:
		return 0.04 / r.step
	case detect.Celsius:
		return 2 / r.step
	default:
		return 20
	}
}

// Tick is one mark of the value axis.
type Tick struct {
	Level float64
	Text  string
}

// ticks chooses round values between two levels, at least gap levels apart: powers
// of ten first, where the axis is logarithmic, then what lies between them.
func (r Ruler) ticks(low, high, gap float64) []Tick {
	if gap <= 0 || high <= low {
		return nil
	}
	var out []Tick
	take := func(v float64) {
		at := r.Quantity.Wetness(v) / r.step
		if at < low || at > high {
			return
		}
		for _, t := range out {
			if math.Abs(t.Level-at) < gap {
				return
			}
		}
		out = append(out, Tick{at, Number(v)})
	}
	a, b := r.Value(low), r.Value(high)
	if a > b {
		a, b = b, a
	}
	if r.Quantity == detect.Ohms || r.Quantity == detect.Tension {
		take(0)
		for _, digit := range []float64{1, 5, 2, 3, 7} {
			for k := -1; k <= 7; k++ {
				take(digit * math.Pow(10, float64(k)))
			}
		}
	}
	if len(out) >= 3 {
		return out
	}
	step := math.Pow(10, math.Floor(math.Log10(b-a)))
	for _, part := range []float64{1, 0.5, 0.2, 0.1, 0.05} {
		if len(out) >= 3 {
			break
		}
		s := step * part
		for n := math.Ceil(a / s); n*s <= b; n++ {
			take(n * s)
		}
	}
	return out
}

// Number writes a value for people: four figures at most, thousands apart by a thin
// blank, no exponent below ten million.
func Number(v float64) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		if v == 0 {
			return "0"
		}
		return "–"
	}
	size := math.Abs(v)
	if size >= 1e9 || size < 1e-5 {
		return strconv.FormatFloat(v, 'g', 3, 64)
	}
	digits := max(0, 3-int(math.Floor(math.Log10(size))))
	text := strconv.FormatFloat(v, 'f', min(digits, 6), 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	sign := ""
	if text[0] == '-' {
		sign, text = "−", text[1:]
	}
	whole, rest, _ := strings.Cut(text, ".")
	if len(whole) > 4 {
		var b strings.Builder
		for i, c := range whole {
			if i > 0 && (len(whole)-i)%3 == 0 {
				b.WriteString("\u202f")
			}
			b.WriteRune(c)
		}
		whole = b.String()
	}
	if rest != "" {
		rest = "." + rest
	}
	return sign + whole + rest
}
