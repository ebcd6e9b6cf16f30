package read

import (
	"fmt"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// portColumns finds the columns that are ports whatever the logger. Where the rows
// name their logger and no expressions are given, these are counted for rows that
// cannot be read; what is read goes by the row's logger.
func (l *layout) portColumns(src *schemas.Source, reg *register.Register) error {
	for i, name := range l.names {
		if l.taken(i) {
			continue
		}
		if len(src.Ports) == 0 {
			if reg.KnowsPort(name) {
				l.ports = append(l.ports, port{column: i, name: name})
			} else if trimmed := strings.TrimSpace(name); reg.KnowsPort(trimmed) {
				l.ports = append(l.ports, port{column: i, name: trimmed})
			} else if _, ok := reg.Named(trimmed); ok {
				l.ports = append(l.ports, port{column: i, name: trimmed})
			}
			continue
		}
		l.matched = true
		for _, expression := range src.Ports {
			p, ok, err := firstGroup(expression, name)
			if err != nil {
				return err
			}
			if ok {
				l.ports = append(l.ports, port{column: i, name: p})
				break
			}
		}
	}
	if l.matched && len(l.ports) == 0 {
		return fmt.Errorf("no column matches ports; the columns are %s", list(l.names))
	}
	if l.matched {
		l.ports = l.single(l.ports, reg)
	}
	return nil
}

// portsOf gives the columns that are ports of the logger.
func (l *layout) portsOf(logger string, reg *register.Register) []port {
	if l.matched {
		return l.ports
	}
	known := reg.PortsOf(logger)
	var ports []port
	for i, name := range l.names {
		if l.taken(i) {
			continue
		}
		at := slices.Index(known, name)
		if at < 0 {
			at = slices.IndexFunc(known, func(k string) bool { return sameName(k, name) })
		}
		if at >= 0 {
			ports = append(ports, port{column: i, name: known[at]})
			continue
		}
		if _, ok := reg.Named(strings.TrimSpace(name)); ok {
			ports = append(ports, port{column: i, name: strings.TrimSpace(name)})
		}
	}
	if len(ports) == 0 {
		ports = l.beginning(known)
	}
	if len(ports) == 0 && l.logger >= 0 {
		return l.ports // of no logger that the register knows: to be rejected, not overlooked
	}
	return l.single(ports, reg)
}

// beginning guesses ports from columns whose names begin with a port of the logger and
// go on with a unit or a word of their own ("P1_kPa" for P1): where no column is named
// as a port. Of ports that are each other's beginning the longest holds.
func (l *layout) beginning(known []string) []port {
	var ports []port
	for i, name := range l.names {
		if l.taken(i) {
			continue
		}
		best := ""
		for _, k := range known {
			if len(k) > len(best) && len(name) > len(k) && strings.EqualFold(name[:len(k)], k) && strings.ContainsRune(" _-()[],;:./", rune(name[len(k)])) {
				best = k
			}
		}
		if best != "" {
			ports = append(ports, port{column: i, name: best})
		}
	}
	if len(ports) > 0 && !l.begins {
		l.begins = true
		l.say("ports from the beginnings of the columns' names, as %q for %q (guessed)", l.names[ports[0].column], ports[0].name)
	}
	return ports
}

// single leaves each port one column. A logger may export a port's temperature or
// state beside its value; of the columns that give the same port, the one named as
// the port holds, else the only one whose name holds a unit that the register gives
// the port, else the only one that does not speak of something else. Where that does
// not tell, none is read: the readings of all are rejected, with what to write.
func (l *layout) single(ports []port, reg *register.Register) []port {
	byName := map[string][]port{}
	for _, p := range ports {
		byName[p.name] = append(byName[p.name], p)
	}
	var kept []port
	for _, p := range ports {
		rivals := byName[p.name]
		if len(rivals) == 1 {
			kept = append(kept, p)
			continue
		}
		switch best := l.best(rivals, reg); best {
		case p.column:
			kept = append(kept, p)
		case -1:
			names := make([]string, len(rivals))
			for i, q := range rivals {
				names[i] = l.names[q.column]
			}
			p.why = fmt.Sprintf("columns %s all give port %q, and nothing tells which is its value; write ignore: with all but one of them", list(names), p.name)
			kept = append(kept, p)
		}
	}
	return kept
}

// besideWords stand in the names of columns that are beside a port's value.
var besideWords = []string{"temp", "temperature", "degc", "°c", "status", "state", "quality", "qc", "flag", "battery", "batt", "rssi", "snr", "error", "count"}

// best gives the column that holds the port's value; -1 when nothing tells.
func (l *layout) best(rivals []port, reg *register.Register) int {
	only := func(holds func(name string) bool) int {
		found := -1
		for _, q := range rivals {
			if !holds(l.names[q.column]) {
				continue
			}
			if found >= 0 {
				return -1
			}
			found = q.column
		}
		return found
	}
	name := rivals[0].name
	if i := slices.IndexFunc(rivals, func(q port) bool { return l.names[q.column] == name }); i >= 0 {
		return rivals[i].column
	}
	if i := only(func(column string) bool { return sameName(column, name) }); i >= 0 {
		return i
	}
	units := unitsAt(reg, name)
	if i := only(func(name string) bool {
		return slices.ContainsFunc(wordsOf(name), func(w string) bool {
			return slices.ContainsFunc(units, func(u string) bool { _, _, ok := conversion(w, u); return ok })
		})
	}); i >= 0 {
		return i
	}
	return only(func(name string) bool {
		return !slices.ContainsFunc(wordsOf(name), func(w string) bool { return slices.Contains(besideWords, w) })
	})
}

// wordsOf cuts a column's name into small words; a unit such as m3/m3 is one.
func wordsOf(name string) []string {
	return strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return strings.ContainsRune(" _-()[],;:", r) })
}

// unitsAt lists the units of the probes that hold a port of this name at any logger.
func unitsAt(reg *register.Register, port string) []string {
	var units []string
	for i := range reg.Probes {
		p := &reg.Probes[i]
		if p.Unit != "" && !slices.Contains(units, p.Unit) && slices.ContainsFunc(p.Wirings, func(w detect.Wiring) bool { return w.Port == port }) {
			units = append(units, p.Unit)
		}
	}
	return units
}
