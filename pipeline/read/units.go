package read

import "strings"

// units gives each spelling of a unit, in small letters, what it is a multiple of.
var units = map[string]struct {
	base   string
	factor float64
}{
	"ohm": {"ohm", 1}, "ohms": {"ohm", 1}, "ω": {"ohm", 1}, "kohm": {"ohm", 1000}, "kohms": {"ohm", 1000}, "kω": {"ohm", 1000},
	"kpa": {"kPa", 1}, "cbar": {"kPa", 1}, "cb": {"kPa", 1}, "centibar": {"kPa", 1}, // 1 cbar = 1 kPa, by definition of the bar
	"m3/m3": {"m3/m3", 1}, "m³/m³": {"m3/m3", 1}, "%": {"m3/m3", 0.01},
	"mv": {"mV", 1}, "count": {"count", 1}, "counts": {"count", 1},
	"degc": {"degC", 1}, "°c": {"degC", 1},
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

func whole(f float64) float64 { return float64(int(f + 0.5)) }
