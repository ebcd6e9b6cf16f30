package simulate

import (
	"math"

	"probeward/detectors/soil"
)

// The kinds of the register.
const (
	granularMatrix = "granular_matrix"
	tensiometer    = "tensiometer"
	dielectric     = "dielectric"
)

// What a logger has in place of a value. Both are far outside what any encodes.
const (
	absent int32 = math.MinInt32     // nothing came
	blank  int32 = math.MinInt32 + 1 // a record came, with an empty field
)

func isValue(v int32) bool { return v > blank }

// model is how a make of logger turns a sensor's signal into what it exports: a
// whole number of 10^-decimals of its unit.
type model struct {
	kind, unit string
	decimals   int
	conversion string  // of ohms to kPa; empty: none
	referenceC float64 // that the conversion assumes; 0: the logger's thermometer
	low, end   float64 // of the scale, in the unit
	digits     int     // significant ones of an ohm export; 0: steps of 10 ohm
	openAt     float64 // what it shows when the lead is open, in the unit
	shortAt    float64 // and when it is short
	starvedAt  float64 // and when its battery cannot feed the sensor
}

// granularModel is the n-th granular matrix logger: of three that convert, each
// in its own way, and two that export ohms.
func granularModel(n int, export string) model {
	models := [...]model{
		{unit: "kPa", conversion: "allen_2000", end: 199, openAt: 199},
		{unit: "ohm", end: 99990, openAt: 99990},
		{unit: "kPa", decimals: 1, conversion: "shock_1998", referenceC: 24, end: 239, openAt: 239},
		{unit: "ohm", digits: 3, end: 250000, openAt: 250000},
		{unit: "kPa", conversion: "allen_2000_older_wet", referenceC: 24, end: 199, openAt: 199},
	}
	m := models[n%len(models)]
	for export != "mixed" && m.unit != export {
		n++
		m = models[n%len(models)]
	}
	m.kind = granularMatrix
	if m.unit == "ohm" {
		m.shortAt, m.starvedAt = 40, 10
	}
	return m
}

func dielectricModel(n int) model {
	m := model{kind: dielectric, unit: "m3/m3", decimals: 3, low: -0.3, end: 1.2, openAt: -0.21, shortAt: 0.93, starvedAt: -0.09}
	if n%2 == 1 {
		m = model{kind: dielectric, unit: "%", decimals: 1, low: -30, end: 120, openAt: -21, shortAt: 93, starvedAt: -9}
	}
	return m
}

func tensiometerModel() model {
	return model{kind: tensiometer, unit: "kPa", decimals: 1, low: -5, end: 100, openAt: 100, shortAt: -3, starvedAt: -3.4}
}

// encode gives what the logger exports for a signal: ohms of a granular matrix
// sensor, kPa of a tensiometer, m3/m3 of a dielectric probe. tempC is what the
// logger's thermometer reads.
func (m *model) encode(signal, tempC float64) int32 {
	x := signal
	switch {
	case m.kind == granularMatrix && m.unit == "kPa":
		x = m.tension(signal, tempC)
	case m.unit == "%":
		x *= 100
	}
	return m.count(min(max(x, m.low), m.end))
}

// tension converts as the logger's maker chose to.
func (m *model) tension(ohms, tempC float64) float64 {
	if m.referenceC != 0 {
		tempC = m.referenceC
	}
	var kPa float64
	var ok bool
	switch m.conversion {
	case "shock_1998":
		kPa, ok = soil.Shock(ohms, tempC)
	case "allen_2000_older_wet":
		kPa, ok = soil.OlderGranularTension(ohms, tempC)
	default:
		kPa, ok = soil.GranularTension(ohms, tempC)
	}
	switch {
	case ok:
		return kPa
	case ohms < soil.ShortOhms:
		return 0
	default:
		return m.end
	}
}

// count rounds a value in the export's unit to the logger's resolution.
func (m *model) count(x float64) int32 {
	if m.unit != "ohm" {
		return int32(math.Round(x * math.Pow10(m.decimals)))
	}
	quantum := 10.0
	if m.digits > 0 {
		quantum = math.Pow10(max(0, 1+int(math.Floor(math.Log10(max(1, math.Abs(x)))))-m.digits))
	}
	return int32(math.Round(x/quantum) * quantum)
}

// value is an exported count in the export's unit.
func (m *model) value(v int32) float64 { return float64(v) / math.Pow10(m.decimals) }

// working maps a value in the export's unit to where its noise is about the
// same over the whole range, and gives the local width of one quantum there.
func (m *model) working(x float64) (w, quantum float64) {
	switch {
	case m.kind == dielectric && m.unit == "%":
		return x / 100, 0.001
	case m.kind == dielectric:
		return x, 0.001
	case m.unit == "ohm":
		width := 10.0
		if m.digits > 0 {
			width = 0.005 * math.Abs(x)
		}
		return math.Log(max(x, -90) + 100), width / (max(x, 0) + 100)
	default:
		floor := 5.0
		return math.Log(max(x, -4) + floor), math.Pow10(-m.decimals) / (max(x, 0) + floor)
	}
}
