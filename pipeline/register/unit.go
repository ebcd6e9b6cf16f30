package register

import (
	"fmt"
	"math"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
)

var kinds = []string{
	string(detect.GranularMatrix), string(detect.Tensiometer), string(detect.Dielectric),
	string(detect.SoilTemperature), string(detect.Other),
}

// kindWords are other words of the trade for a kind; they are suggested, not taken.
var kindWords = map[string]string{
	"gypsum": "granular_matrix", "gypsum_block": "granular_matrix", "resistance": "granular_matrix",
	"granular": "granular_matrix", "matrix": "granular_matrix",
	"capacitance": "dielectric", "capacitive": "dielectric", "tdr": "dielectric", "fdr": "dielectric",
	"vwc": "dielectric", "moisture": "dielectric",
	"thermistor": "soil_temperature", "temperature": "soil_temperature", "thermometer": "soil_temperature",
}

// readKind reads a kind as written. problem and suggest are empty when it is one.
func readKind(text string) (kind detect.Kind, problem, suggest string) {
	key := strings.ToLower(strings.NewReplacer(" ", "_", "-", "_").Replace(text))
	for _, k := range kinds {
		if key == k {
			return detect.Kind(k), "", ""
		}
	}
	suggest = kindWords[key]
	if suggest == "" {
		suggest, _ = table.Nearest(key, kinds)
	}
	return detect.Other, fmt.Sprintf("%q is no kind: write one of %s; taken as other, which no moisture detector looks at",
		text, strings.Join(kinds, ", ")), suggest
}

// The units of the contract.
const (
	ohm, kohm, kPa, cbar = "ohm", "kohm", "kPa", "cbar"
	m3m3, percent        = "m3/m3", "%"
	mV, count, degC      = "mV", "count", "degC"
)

var units = []string{ohm, kohm, kPa, cbar, m3m3, percent, mV, count, degC}

// spellings of the units, folded to lower case without blanks.
var spellings = map[string]string{
	"ohm": ohm, "ohms": ohm, "ω": ohm, "kohm": kohm, "kohms": kohm, "kω": kohm,
	"kpa": kPa, "cbar": cbar, "cb": cbar, "centibar": cbar, "centibars": cbar,
	"m3/m3": m3m3, "m³/m³": m3m3, "m3m-3": m3m3, "m^3/m^3": m3m3, "cm3/cm3": m3m3, "cm³/cm³": m3m3,
	"%": percent, "percent": percent, "pct": percent, "%vwc": percent,
	"mv": mV, "millivolt": mV, "millivolts": mV, "count": count, "counts": count, "raw": count,
	"degc": degC, "°c": degC, "c": degC, "celsius": degC, "deg_c": degC,
}

// unitRemedies say how a unit outside the contract is written within it.
var unitRemedies = map[string]string{
	"degf": "unit count with scale 0.5555556 and offset 32", "°f": "unit count with scale 0.5555556 and offset 32",
	"f": "unit count with scale 0.5555556 and offset 32", "fahrenheit": "unit count with scale 0.5555556 and offset 32",
	"bar": "unit kPa with scale 100", "mbar": "unit kPa with scale 0.1", "hpa": "unit kPa with scale 0.1",
	"mpa": "unit kPa with scale 1000", "pa": "unit kPa with scale 0.001", "psi": "unit kPa with scale 6.894757",
	"v": "unit mV with scale and offset in volts", "volt": "unit mV with scale and offset in volts",
}

// readUnit reads a unit as written; problem is empty when it is one.
func readUnit(text string) (unit, problem, suggest string) {
	key := strings.ToLower(strings.Join(strings.Fields(text), ""))
	key = strings.NewReplacer("Ω", "ω", "µ", "u").Replace(key)
	if u, ok := spellings[key]; ok {
		return u, "", ""
	}
	suggest = unitRemedies[key]
	if suggest == "" {
		suggest, _ = table.Nearest(text, units)
	}
	return text, fmt.Sprintf("%q is no unit of the register: write one of %s; its values stay raw",
		text, strings.Join(units, ", ")), suggest
}

// conversion says what an export becomes: standard = scale × (exported − offset).
type conversion struct {
	quantity      detect.Quantity
	scale, offset float64
	severity      table.Severity // of the problem
	problem       string         // empty when all is well
}

// factor of a unit whose values are physical already.
func factor(unit string) (q detect.Quantity, f float64, ok bool) {
	switch unit {
	case ohm:
		return detect.Ohms, 1, true
	case kohm:
		return detect.Ohms, 1000, true
	case kPa, cbar:
		return detect.Tension, 1, true
	case m3m3:
		return detect.WaterContent, 1, true
	case percent:
		return detect.WaterContent, 0.01, true
	case degC:
		return detect.Celsius, 1, true
	}
	return detect.Raw, 1, false
}

// gives says which quantities a kind of sensor can export. A dielectric sensor in
// a ceramic of known retention exports tension.
func gives(k detect.Kind, q detect.Quantity) bool {
	switch k {
	case detect.GranularMatrix:
		return q == detect.Ohms || q == detect.Tension
	case detect.Tensiometer:
		return q == detect.Tension
	case detect.Dielectric:
		return q == detect.WaterContent || q == detect.Tension
	case detect.SoilTemperature:
		return q == detect.Celsius
	}
	return true
}

// own is the quantity that a kind's counts or volts stand for once scaled.
func own(k detect.Kind) detect.Quantity {
	switch k {
	case detect.GranularMatrix, detect.Tensiometer:
		return detect.Tension
	case detect.Dielectric:
		return detect.WaterContent
	case detect.SoilTemperature:
		return detect.Celsius
	}
	return detect.Raw
}

// convert settles kind, unit, scale and offset. The register's scale and offset work
// on the exported unit, and the unit's own factor comes on top: kPa with scale −1 is
// a negative potential, kohm with scale 1.02 a kohm export that reads 2 % low.
func convert(kind detect.Kind, unit string, scale, offset detect.Maybe[float64]) conversion {
	c := conversion{scale: 1, offset: offset.V}
	if scale.OK && scale.V == 0 {
		c.severity, c.problem = table.Warning, "a scale of 0 would make every reading 0; taken as missing"
		scale = detect.Maybe[float64]{}
	}
	if scale.OK {
		c.scale = scale.V
	}
	q, f, physical := factor(unit)
	switch {
	case !physical && scale.OK && (unit == mV || unit == count):
		c.quantity = own(kind)
	case !physical:
		if !scale.OK {
			c.offset = 0 // raw is as exported
		}
		if unit == mV || unit == count {
			c.severity = table.Warning
			c.problem = fmt.Sprintf("a %s in %s without a scale stays raw, and only what needs no physical unit is judged: give scale and offset (standard value = scale × (value − offset))", kind, unit)
		}
	case kind == detect.Other && unit == percent:
		// Relative humidity as well as water content: nobody can tell.
	case !gives(kind, q):
		c.severity = table.Warning
		c.problem = fmt.Sprintf("a %s does not export %s: its values stay raw; check kind and unit", kind, unit)
	default:
		c.quantity = q
		if f != 1 && scale.OK && math.Abs(scale.V/f-1) < 1e-9 {
			c.severity = table.Info
			c.problem = fmt.Sprintf("scale %g is what the unit %s means already; it is used once", scale.V, unit)
		} else {
			c.scale *= f
		}
	}
	return c
}
