package read

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"probeward/pipeline/read/stamp"
	"probeward/schemas"
)

// Many loggers never change their clocks. A stamp in the hour that the zone leaves
// out in spring proves it: no clock that is changed can write one. An hour skipped
// or doubled without a break in the cadence proves the contrary. What the first
// reading of the files proves is put together here, by source and by logger, and
// decides how files are read again.

// nights is what the nights on which clocks are changed showed of one logger in one
// file.
type nights struct {
	rows    int64 // stamps in the hour left out
	inside  []int64
	crossed []crossing
	offset  int64 // in force before the first such hour
}

// crossing is one night that was gone through without a stamp in the hour left out.
type crossing struct {
	day  int64 // wall days since 1970
	step int64 // time over the change, if the clock was changed
	wall int64 // and if it was not
}

// maxNights bounds what is kept of one logger in one file: a shuffled file crosses
// a night many times.
const maxNights = 64

// resolve gives the instant of the row's wall reading, and notes what it proves.
func (s *sheet) resolve(turn *stamp.Turn, n *nights) (int64, bool) {
	wall := s.when.wall
	day := floorDay(wall)
	t, ok := s.clock.Resolve(wall, turn)
	if !ok {
		if n.rows == 0 || len(n.inside) > 0 && day < slices.Min(n.inside) {
			n.offset = s.clock.Before(wall)
		}
		n.rows++
		if len(n.inside) < maxNights && !slices.Contains(n.inside, day) {
			n.inside = append(n.inside, day)
		}
		return 0, false
	}
	if step, shown, over := turn.Over(); over && len(n.crossed) < maxNights {
		if c := (crossing{day, step, shown}); !slices.Contains(n.crossed, c) {
			n.crossed = append(n.crossed, c)
		}
	}
	return t, true
}

func floorDay(wall int64) int64 {
	const day = 24 * 3600 * 1_000_000
	d := wall / day
	if wall < d*day {
		d--
	}
	return d
}

// changed counts the nights through which the logger kept its cadence only if its
// clock was changed with the zone's.
func (n *nights) changed(cadence int64) int {
	var days []int64
	for _, c := range n.crossed {
		if abs(c.step-cadence) <= cadence/4 && abs(c.step-cadence) < abs(c.wall-cadence) &&
			!slices.Contains(n.inside, c.day) && !slices.Contains(days, c.day) {
			days = append(days, c.day)
		}
	}
	return len(days)
}

func abs(v int64) int64 { return max(v, -v) }

// clockOf is what one file shows of one logger's clock.
type clockOf struct {
	name    string // see clockName
	rows    int64  // in an hour left out
	nights  int    // on which such rows stand
	changed int    // nights gone through by a clock that was changed
	first   int64  // the earliest of the nights, in days, and the offset before it
	offset  int64
}

// clockName is what a logger's clock goes by; a logger without a name is one file's.
func (s *sheet) clockName(logger string) string {
	if logger == "" {
		return "\x00" + s.file.Path
	}
	return logger
}

// clocks gives what the file shows of its loggers' clocks, sorted by name; none
// when its stamps need no clock.
func (s *sheet) clocks() []clockOf {
	if !s.walls {
		return nil
	}
	var all []clockOf
	add := func(name string, n *nights, d *digest) {
		c := clockOf{name: s.clockName(name), rows: n.rows, nights: len(n.inside), changed: n.changed(d.cadence()), offset: n.offset}
		if c.nights > 0 {
			c.first = slices.Min(n.inside)
		}
		all = append(all, c)
	}
	for name, b := range s.wide.boxes {
		add(readable([]byte(name)), &b.nights, &b.digest)
	}
	for name, b := range s.long.boxes {
		add(name, &b.nights, &b.digest)
	}
	slices.SortFunc(all, func(a, b clockOf) int { return strings.Compare(a.name, b.name) })
	return all
}

// inside counts the file's rows in an hour left out.
func (o *one) inside() (rows int64) {
	for _, c := range o.clocks {
		rows += c.rows
	}
	return rows
}

// kept says how the stamps of a source are read, some or all of whose loggers keep
// standard time.
type kept struct {
	all     bool            // loggers that show nothing follow those that do
	loggers map[string]bool // what loggers show of their own: true standard time
	offset  int64           // from UTC, microseconds
	rows    int64           // in an hour left out, of loggers read so
	files   int             // that hold them
	first   string          // the first of these
}

// standard says whether a logger's stamps are read in standard time.
func (k *kept) standard(logger string) bool {
	if k == nil {
		return false
	}
	if own, ok := k.loggers[logger]; ok {
		return own
	}
	return k.all
}

// groups gives each source the place of the first that its files are judged with:
// itself, but for sources that name nothing but a path, such as those that are
// guessed, one a file. They are one.
func groups(sources []schemas.Source) []int {
	places, first := make([]int, len(sources)), -1
	for i := range sources {
		places[i] = i
		if bare(&sources[i]) {
			if first < 0 {
				first = i
			}
			places[i] = first
		}
	}
	return places
}

func bare(s *schemas.Source) bool {
	return reflect.DeepEqual(*s, schemas.Source{Path: s.Path})
}

// decide finds the sources with loggers in standard time. A logger's own nights
// decide about it. The others follow the source's files: standard time if more of
// them stand in an hour left out than were changed with the zone's clocks.
func decide(list []found, parts []one, zone *time.Location) map[int]*kept {
	type sum struct {
		nights, changed map[string]int
		still, moved    int // files
	}
	sums := map[int]*sum{}
	for i := range parts {
		src := list[i].group
		t := sums[src]
		if t == nil {
			t = &sum{nights: map[string]int{}, changed: map[string]int{}}
			sums[src] = t
		}
		inside, changed := 0, 0
		for _, c := range parts[i].clocks {
			t.nights[c.name] += c.nights
			t.changed[c.name] += c.changed
			inside += c.nights
			changed += c.changed
		}
		switch {
		case inside > 0:
			t.still++
		case changed > 0:
			t.moved++
		}
	}
	all := map[int]*kept{}
	for src, t := range sums {
		if t.still == 0 {
			continue
		}
		k := &kept{all: t.still > t.moved, loggers: map[string]bool{}}
		some := false
		for name := range t.nights {
			if t.nights[name] > 0 || t.changed[name] > 0 {
				k.loggers[name] = t.nights[name] > t.changed[name]
				some = some || k.loggers[name]
			}
		}
		if some {
			all[src] = k
		}
	}
	earliest := map[int]int64{}
	for i := range parts {
		k, here := all[list[i].group], false
		for _, c := range parts[i].clocks {
			if c.nights == 0 || !k.standard(c.name) {
				continue
			}
			if first, ok := earliest[list[i].group]; !ok || c.first < first {
				earliest[list[i].group], k.offset = c.first, c.offset
			}
			k.rows += c.rows
			here = true
		}
		if here {
			if k.files++; k.files == 1 {
				k.first = list[i].path
			}
		}
	}
	return all
}

// again lists the files that must be read a second time, the largest first.
func (r *reader) again() []int {
	var places []int
	for _, i := range bySize(r.list) {
		k := r.kept[r.list[i].group]
		if slices.ContainsFunc(r.parts[i].clocks, func(c clockOf) bool { return k.standard(c.name) }) {
			places = append(places, i)
		}
	}
	return places
}

// sayClock puts into the layout by which clock the stamps were read.
func (s *sheet) sayClock() {
	if !s.walls {
		return
	}
	var still, moved []string
	for _, c := range s.clocks() {
		if s.kept.standard(c.name) {
			still = append(still, strings.TrimPrefix(c.name, "\x00"))
		} else {
			moved = append(moved, c.name)
		}
	}
	if len(still) == 0 {
		s.layout.say("in %s", s.clock.Zone())
		return
	}
	whose := ""
	if len(moved) > 0 {
		s.layout.say("in %s", s.clock.Zone())
		whose = " of loggers " + list(still)
	}
	why := "as other files show"
	if s.proof > 0 {
		why = fmt.Sprintf("%d rows stand in the hour that %s leaves out in spring", s.proof, s.clock.Zone())
	}
	s.layout.say("stamps%s kept in standard time, %s: %s", whose, offsetName(s.kept.offset), why)
}

// keptNotes says of which sources the stamps are read in standard time.
func keptNotes(all map[int]*kept, sources []schemas.Source, zone *time.Location) []string {
	var notes []string
	for i := range sources {
		k := all[i]
		if k == nil {
			continue
		}
		path := sources[i].Path
		if bare(&sources[i]) && len(sources) > 1 {
			path = "files found by their names"
		}
		whose := "all its stamps are"
		var still, moved []string
		for name, standard := range k.loggers {
			if name = strings.TrimPrefix(name, "\x00"); standard {
				still = append(still, name)
			} else {
				moved = append(moved, name)
			}
		}
		slices.Sort(still)
		slices.Sort(moved)
		switch {
		case !k.all:
			whose = fmt.Sprintf("the clocks of others are changed, so only the stamps of loggers %s are", list(still))
		case len(moved) > 0:
			whose = fmt.Sprintf("all its stamps but those of loggers %s, whose clocks are changed, are", list(moved))
		}
		notes = append(notes, fmt.Sprintf("%s: stamps kept in standard time: %d rows of %d files, the first %s, stand in the hour that %s leaves out in spring; %s read at %s",
			path, k.rows, k.files, k.first, zone, whose, offsetName(k.offset)))
	}
	return notes
}

// leftOut notes the rows that stay rejected for standing in an hour left out.
func leftOut(parts []one, files []File, zone *time.Location) (string, bool) {
	first, n, rows := "", 0, int64(0)
	for i := range parts {
		if inside := parts[i].inside(); inside > 0 {
			if n == 0 {
				first = files[i].Path
			}
			n++
			rows += inside
		}
	}
	if n == 0 {
		return "", false
	}
	_, january := time.Date(2026, 1, 1, 0, 0, 0, 0, zone).Zone()
	_, july := time.Date(2026, 7, 1, 0, 0, 0, 0, zone).Zone()
	remedy := "a zone without summer time"
	if standard := min(january, july); standard%3600 == 0 {
		remedy = fmt.Sprintf("Etc/GMT%+d", -standard/3600) // these names count hours west as positive
	}
	return fmt.Sprintf("%d rows of %d files, the first %s, stand in the hour that %s leaves out in spring, though the same loggers were changed with its clocks on other nights: they are rejected; if all loggers keep standard time, set timezone: %s",
		rows, n, first, zone, remedy), true
}

// offsetName writes an offset from UTC in microseconds: UTC-7, UTC+5:30.
func offsetName(offset int64) string {
	minutes := offset / 60_000_000
	if minutes == 0 {
		return "UTC"
	}
	if minutes%60 == 0 {
		return fmt.Sprintf("UTC%+d", minutes/60)
	}
	sign := "+"
	if minutes < 0 {
		sign = "-"
	}
	return fmt.Sprintf("UTC%s%d:%02d", sign, abs(minutes)/60, abs(minutes)%60)
}
