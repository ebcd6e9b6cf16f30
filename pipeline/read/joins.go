package read

import (
	"cmp"
	"fmt"
	"slices"

	"probeward/pipeline/register"
	"probeward/pipeline/table"
)

// Names that the exports and the register do not share.

// stray is what is heard in one file of a name without a register row: a probe, a
// port of a logger, or a logger as a whole.
type stray struct {
	logger, port, probe string
	readings            int64
}

// who names the stray in words.
func (s stray) who() string {
	switch {
	case s.probe != "":
		return fmt.Sprintf("probe %q", s.probe)
	case s.port != "":
		return fmt.Sprintf("port %q of logger %q", s.port, s.logger)
	}
	return fmt.Sprintf("logger %q", s.logger)
}

// near is the name of the register that differs from the stray's in case, blanks,
// hyphens, underscores and points alone; empty when none does, or several do.
func (s stray) near(reg *register.Register) string {
	switch {
	case s.probe != "":
		name, _ := reg.Nearest(s.probe)
		return name
	case s.port != "":
		return sameFolded(s.port, reg.PortsOf(s.logger))
	}
	names := make([]string, len(reg.Loggers))
	for i, l := range reg.Loggers {
		names[i] = l.Name
	}
	return sameFolded(s.logger, names)
}

func sameFolded(name string, among []string) string {
	found, key := "", table.Fold(name)
	for _, a := range among {
		if a != name && table.Fold(a) == key {
			if found != "" {
				return ""
			}
			found = a
		}
	}
	return found
}

// strays lists what the file holds of names without a register row.
func (s *sheet) strays() []stray {
	var all []stray
	for name, n := range s.long.unknown {
		if name != moreStrangers {
			name = readable([]byte(name))
		}
		all = append(all, stray{probe: name, readings: n.readings})
	}
	for name, b := range s.wide.boxes {
		logger := readable([]byte(name))
		if logger == "" {
			continue // the file's own note says that nothing names its logger
		}
		known := s.reg.HasLogger(logger)
		if !known && len(b.slots) == 0 {
			all = append(all, stray{logger: logger})
		}
		for _, sl := range b.slots {
			switch {
			case len(sl.claims) > 0 || sl.lost == 0:
			case known:
				all = append(all, stray{logger: logger, port: sl.port, readings: sl.lost})
			default:
				all = append(all, stray{logger: logger, readings: sl.lost})
			}
		}
	}
	return all
}

// moreStrangers stands for all names beyond those that are counted apart.
const moreStrangers = "\x00more"

// Stray is a name that files hold and the register does not: a probe, a port of a
// logger, or a logger as a whole.
type Stray struct {
	Logger, Port, Probe string
	Near                string // the register's name that was probably meant; empty: none
	Readings            int64
	Files               int
	First               string // the first of these files
}

// gatherStrays adds the strays of all files up, those of the most readings first.
// others counts the readings of names beyond those that are kept apart.
func gatherStrays(parts []one, files []File, reg *register.Register) (all []Stray, others int64) {
	type sum struct {
		Stray
		last int
	}
	sums := map[stray]*sum{}
	var order []*sum
	for i := range parts {
		for _, s := range parts[i].strays {
			if s.probe == moreStrangers {
				others += s.readings
				continue
			}
			key := s
			key.readings = 0
			t := sums[key]
			if t == nil {
				t = &sum{Stray: Stray{Logger: s.logger, Port: s.port, Probe: s.probe, Near: s.near(reg), First: files[i].Path}, last: -1}
				sums[key] = t
				order = append(order, t)
			}
			t.Readings += s.readings
			if t.last != i {
				t.Files++
				t.last = i
			}
		}
	}
	for _, t := range order {
		all = append(all, t.Stray)
	}
	slices.SortFunc(all, func(a, b Stray) int {
		return cmp.Or(cmp.Compare(b.Readings, a.Readings), cmp.Compare(b.Files, a.Files), cmp.Compare(a.Logger, b.Logger), cmp.Compare(a.Port, b.Port), cmp.Compare(a.Probe, b.Probe))
	})
	return all, others
}

// strayNotes is how many strays have a note of their own.
const strayNotes = 20

// noteStrays gives the first strays a note each, and the others one.
func noteStrays(all []Stray, others int64) []string {
	var notes []string
	for _, t := range all[:min(len(all), strayNotes)] {
		remedy := "add a row, or leave it out"
		if t.Near != "" {
			remedy = fmt.Sprintf("is it %q?", t.Near)
		}
		what := fmt.Sprintf("%d readings of %d files", t.Readings, t.Files)
		if t.Readings == 0 {
			what = fmt.Sprintf("nothing of %d files is read", t.Files)
		}
		who := stray{logger: t.Logger, port: t.Port, probe: t.Probe}.who()
		notes = append(notes, fmt.Sprintf("%s has no row in the register: %s, the first %s; %s", who, what, t.First, remedy))
	}
	for _, t := range all[min(len(all), strayNotes):] {
		others += t.Readings
	}
	if n := len(all) - strayNotes; n > 0 || others > 0 {
		notes = append(notes, fmt.Sprintf("%d or more other names have no row in the register: %d readings; the rejects list them", max(n, 1), others))
	}
	return notes
}

// noteUnheard counts the probes of the register that no file holds, and names a few.
func noteUnheard(unheard []string, probes int) (string, bool) {
	if len(unheard) == 0 {
		return "", false
	}
	const most = 10
	names := ""
	for i, n := range unheard[:min(len(unheard), most)] {
		if i > 0 {
			names += ", "
		}
		names += n
	}
	if n := len(unheard) - most; n > 0 {
		names += fmt.Sprintf(" and %d more", n)
	}
	return fmt.Sprintf("%d of %d probes of the register have no reading in any file: %s", len(unheard), probes, names), true
}
