package config

// DecimalMark gives the mark that the configuration names for the numbers of
// Readings[source], ',' or '.'; 0 when it names none.
func (r *Resolved) DecimalMark(source int) byte {
	if source < 0 || source >= len(r.Config.Readings) {
		return 0
	}
	switch r.Config.Readings[source].Decimal {
	case "comma":
		return ','
	case "point":
		return '.'
	}
	return 0
}
