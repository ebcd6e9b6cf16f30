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

// strayNotes is how many strays have a note of their own.
const strayNotes = 20

// noteStrays puts the strays of all files into a note each, those of the most
// readings first, and the others into one.
func noteStrays(parts []one, files []File, reg *register.Register) []string {
	type sum struct {
		stray
		files, last int
		first       string
	}
	sums := map[stray]*sum{}
	for i := range parts {
		for _, s := range parts[i].strays {
			key := s
			key.readings = 0
			t := sums[key]
			if t == nil {
				t = &sum{stray: key, first: files[i].Path, last: -1}
				sums[key] = t
			}
			t.readings += s.readings
			if t.last != i {
				t.files++
				t.last = i
			}
		}
	}
	var all []*sum
	var others int64
	for key, t := range sums {
		if key.probe == moreStrangers {
			others += t.readings
			continue
		}
		all = append(all, t)
	}
	slices.SortFunc(all, func(a, b *sum) int {
		return cmp.Or(cmp.Compare(b.readings, a.readings), cmp.Compare(b.files, a.files), cmp.Compare(a.logger, b.logger), cmp.Compare(a.port, b.port), cmp.Compare(a.probe, b.probe))
	})
	var notes []string
	for _, t := range all[:min(len(all), strayNotes)] {
		remedy := "add a row, or leave it out"
		if near := t.near(reg); near != "" {
			remedy = fmt.Sprintf("is it %q?", near)
		}
		what := fmt.Sprintf("%d readings of %d files", t.readings, t.files)
		if t.readings == 0 {
			what = fmt.Sprintf("nothing of %d files is read", t.files)
		}
		notes = append(notes, fmt.Sprintf("%s has no row in the register: %s, the first %s; %s", t.who(), what, t.first, remedy))
	}
	for _, t := range all[min(len(all), strayNotes):] {
		others += t.readings
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
