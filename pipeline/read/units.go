package read

import "strings"

// units gives each spelling of a unit, in small letters, what it is a multiple of.
var units = map[string]struct {
	base   string
	factor float64
}{
	"ohm": {"ohm", 1}, "ohms": {"ohm", 1}, "ω": {"ohm", 1}, "kohm": {"ohm", 1000}, "kohms": {"ohm", 1000}, "kω": {"ohm", 1000},
	"kpa": {"kPa", 1}, "cbar": {"kPa", 1}, "cb": {"kPa", 1}, "centibar": {"kPa", 1}, // 1 cbar = 1 kPa, by definition of the bar
	"centibars": {"kPa", 1},
	"m3/m3":     {"m3/m3", 1}, "m³/m³": {"m3/m3", 1}, "m3m-3": {"m3/m3", 1}, "m^3/m^3": {"m3/m3", 1}, "cm3/cm3": {"m3/m3", 1}, "cm³/cm³": {"m3/m3", 1},
	"%": {"m3/m3", 0.01}, "%vwc": {"m3/m3", 0.01}, "percent": {"m3/m3", 0.01}, "pct": {"m3/m3", 0.01},
	"mv": {"mV", 1}, "count": {"count", 1}, "counts": {"count", 1},
	"degc": {"degC", 1}, "°c": {"degC", 1}, "c": {"degC", 1}, "celsius": {"degC", 1},
}

// conversion gives what a value of one unit is multiplied and divided by to be of
// the other. Two numbers, because thousands and hundreds are exact and their
// inverses are not.
func conversion(from, to string) (times, over float64, ok bool) {
	a, known := units[strings.ToLower(strings.TrimSpace(from))]
	b, both := units[strings.ToLower(strings.TrimSpace(to))]
	if strings.EqualFold(strings.TrimSpace(from), strings.TrimSpace(to)) {
		return 1, 1, true
	}
	if !known || !both || a.base != b.base {
		return 0, 0, false
	}
	switch {
	case a.factor == b.factor:
		return 1, 1, true
	case a.factor > b.factor:
		return whole(a.factor / b.factor), 1, true
	default:
		return 1, whole(b.factor / a.factor), true
	}
}

// unitOf is what a unit's text does to values of one register unit.
type unitOf struct {
	times, over float64
	ok          bool
}

// convert gives the factor from the unit of a row or a cell to the register's; not ok
// when they are not of one quantity.
func (s *sheet) convert(unit []byte, probe int) unitOf {
	own := s.reg.Probes[probe].Unit
	if len(unit) == 0 || own == string(unit) {
		return unitOf{1, 1, true}
	}
	u, known := s.units[[2]string{string(unit), own}]
	if !known {
		u.times, u.over, u.ok = conversion(readable(unit), own)
		if s.units == nil {
			s.units = map[[2]string]unitOf{}
		}
		if len(s.units) < maxUnits {
			s.units[[2]string{string(unit), own}] = u
		}
	}
	return u
}

// maxUnits bounds the spellings that are remembered: more are a column of text.
const maxUnits = 1000

// unitNamed says whether the text is a unit, and of which it is a multiple.
func unitNamed(text string) (ok bool, base string) {
	u, ok := units[strings.ToLower(strings.TrimSpace(text))]
	return ok, u.base
}

func whole(f float64) float64 { return float64(int(f + 0.5)) }
