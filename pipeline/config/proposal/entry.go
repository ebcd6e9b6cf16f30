package proposal

import (
	"fmt"
	"slices"
	"strings"

	"probeward/pipeline/read"
)

type sight = read.Sight

// readings writes an entry for each group.
func (d *draft) readings(p *page) {
	if len(d.groups) == 0 {
		p.say(0, "No file here holds readings that can be read as they are. What stands below says why.")
		p.line(0, "# readings:")
		return
	}
	p.line(0, "readings:")
	for _, g := range d.groups {
		g.evidence(p)
		for _, path := range g.paths_ {
			p.line(2, "- path: %s", quoted(path))
			if g.plain < barest {
				g.entry(p)
			} else if !g.mixed && len(g.sights) > 0 {
				p.say(4, "nothing else: with more written here, other readings came out than the reader finds file by file")
			}
		}
	}
}

// evidence says what the group's entry rests on.
func (g *group) evidence(p *page) {
	s := g.first()
	files := g.paths()
	switch {
	case g.mixed:
		p.say(2, "%s: %d tables, laid out in several ways; each is read as its content shows.", files[0], len(g.sights))
		return
	case len(files) == 1 && len(g.sights) == 1:
		p.say(2, "%s, %s.", s.Path, amount(s.Rows, "row"))
	default:
		rows := int64(0)
		for _, s := range g.sights {
			rows += s.Rows
		}
		p.say(2, "%d files, such as %s; %s together.", len(g.sights), s.Path, amount(rows, "row"))
	}
	how := strings.ToUpper(s.Separator[:min(1, len(s.Separator))]) + s.Separator[min(1, len(s.Separator)):] + "-separated"
	if s.Separator == "" {
		how = "Parquet"
	}
	if s.HeaderLine > 1 {
		how += fmt.Sprintf(", header on line %d", s.HeaderLine)
	}
	if s.Day != "" {
		how += fmt.Sprintf("; the stamps are hours alone, and their folder gives the day, such as %s", s.Day)
	}
	if s.ProbeKey != "" {
		p.say(2, "%s. A reading a row: the folder %s=... names the probe, and there is a column %q.", how, s.ProbeKey, s.Value)
	} else if s.Long {
		p.say(2, "%s. A reading a row: there are columns %q and %q.", how, s.Probe, s.Value)
	} else {
		p.say(2, "%s. A column a port: no pair of columns is named as a probe and its value.", how)
	}
	if !s.Long {
		ports, _ := most(g, func(s *read.Sight) (all []string) {
			for _, q := range s.Ports {
				switch {
				case q.Why != "":
					all = append(all, fmt.Sprintf("%q not used: %s", q.Column, q.Why))
				case q.Column == q.Port:
					all = append(all, fmt.Sprintf("%q", q.Column))
				default:
					all = append(all, fmt.Sprintf("%q for %s", q.Column, q.Port))
				}
			}
			return all
		})
		p.say(2, "Ports, as the register knows them: %s.", listed(ports))
	}
	beside := []string{}
	if s.Temperature != "" {
		beside = append(beside, fmt.Sprintf("temperature in %q", s.Temperature))
	}
	if s.Battery != "" {
		beside = append(beside, fmt.Sprintf("battery in %q", s.Battery))
	}
	if len(beside) > 0 {
		p.say(2, "Beside them: %s.", strings.Join(beside, ", "))
	}
	if left, _ := most(g, func(s *read.Sight) []string { return s.Left }); len(left) > 0 {
		for i := range left {
			left[i] = fmt.Sprintf("%q", left[i])
		}
		p.say(2, "Columns left: %s.", listed(left))
	}
}

// entry writes the lines below the path.
func (g *group) entry(p *page) {
	s := g.first()
	if s.Long {
		p.line(4, "shape: long")
	} else {
		p.line(4, "shape: wide")
	}
	g.logger(p)
	g.columns(p)
	g.stamps(p)
	g.mark(p)
	g.errors(p)
}

// logger writes how the logger's name is found.
func (g *group) logger(p *page) {
	s := g.first()
	if s.Long {
		return // the register knows where each probe is
	}
	if s.LoggerColumn != "" {
		p.line(4, "logger: %s", quoted("column:"+s.LoggerColumn))
		return
	}
	if s.LoggerKey != "" {
		p.line(4, "logger: %s    # the name of its folder: %s is of logger %s", quoted("column:"+s.LoggerKey), s.Path, s.Logger)
		return
	}
	rule, loggers := g.rule()
	var without *read.Sight
	for i := range g.sights {
		if g.sights[i].Logger == "" {
			without = &g.sights[i]
			break
		}
	}
	switch {
	case len(loggers) == 0 && len(s.Ports) == 1 && s.Ports[0].Column != s.Ports[0].Port && strings.HasPrefix(read.Stem(s.Path), s.Ports[0].Port):
		p.say(4, "logger: none is named; the start of its file's name is the probe, as %s is of %s", s.Path, s.Ports[0].Port)
	case len(loggers) == 0:
		p.say(4, "logger: not known: no start of the file's name is a logger of the register; the columns are named as its probes or ports")
	case rule != "" && g.plain < theLogger:
		p.line(4, "logger: %s    # %s is of logger %s; %s", quoted(rule), s.Path, s.Logger, amount(int64(len(loggers)), "logger"))
	default:
		p.say(4, "logger: the longest start of a file's name that is a logger of the register, as %s is of %s; %s", s.Path, or(s.Logger, "none"), amount(int64(len(loggers)), "logger"))
	}
	if without != nil && len(loggers) > 0 {
		p.say(4, "of no logger that the register has: %s", without.Path)
	}
}

// columns writes which columns are ours.
func (g *group) columns(p *page) {
	s := g.first()
	var pairs []string
	add := func(ours, theirs string) {
		if theirs != "" {
			pairs = append(pairs, ours+": "+quoted(theirs))
		}
	}
	add("time", s.Time)
	add("date", s.Date)
	add("probe", s.Probe)
	add("value", s.Value)
	add("unit", s.Unit)
	add("temperature_c", s.Temperature)
	add("battery_v", s.Battery)
	p.line(4, "columns: {%s}", strings.Join(pairs, ", "))
	known := len(pairs)
	left, _ := most(g, func(s *read.Sight) []string { return s.Left })
	for _, c := range left {
		w := words(c)
		switch {
		case s.Battery == "" && hasAny(w, "battery", "batt", "bat", "vbat", "vbatt"):
			add("battery_v", c)
		case s.Temperature == "" && hasAny(w, "soil") && hasAny(w, "temp", "temperature"):
			add("temperature_c", c)
		default:
			continue
		}
		if s.Battery != "" || s.Temperature != "" || len(pairs) == known+2 {
			break
		}
	}
	if len(pairs) > known {
		p.say(4, "choose: columns that may be the battery in volts or the soil's temperature in Celsius, and of which none is named as ours; if they are:")
		p.line(4, "# columns: {%s}", strings.Join(pairs, ", "))
	}
	if len(s.OtherTimes) > 0 {
		other := s.OtherTimes[0]
		p.say(4, "choose: %q could be the stamp too. The logger's own clock is best, if it is right. To compare the two, name the other as well, as device_time or gateway_time:", other)
		p.line(4, "# columns: {time: %s, gateway_time: %s}", quoted(s.Time), quoted(other))
	}
}

// stamps writes how stamps are read, with one of them.
func (g *group) stamps(p *page) {
	formats, _ := most(g, func(s *read.Sight) []string { return []string{s.TimeFormat} })
	var example *read.Sight
	for i := range g.sights {
		if g.sights[i].Stamp != "" {
			example = &g.sights[i]
			break
		}
	}
	if example == nil {
		return
	}
	reads := moment(example.At)
	if example.Zoned {
		reads += " UTC"
	}
	switch {
	case formats[0] == "" && len(formats) == 1:
		p.say(4, "stamps by their type: the first is %s", reads)
	case len(formats) == 1 && g.plain < theStamps:
		p.line(4, "time_format: %s    # %q reads as %s", stringed(formats[0]), clean(example.Stamp), reads)
	default:
		p.say(4, "time_format: found file by file, since not all write alike (%s); %q reads as %s", listed(formats), example.Stamp, reads)
	}
}

// stringed quotes a layout as the messages do.
func stringed(format string) string {
	if plainWord.MatchString(format) {
		return format
	}
	return fmt.Sprintf("%q", format)
}

// mark writes the decimal mark, where it is the comma.
func (g *group) mark(p *page) {
	commas, files := 0, 0
	for _, s := range g.sights {
		if s.Err != "" || s.Separator == "" {
			continue
		}
		if files++; s.DecimalComma {
			commas++
		}
	}
	switch {
	case commas == 0:
	case commas == files && commas == len(g.sights) && g.plain < theStamps:
		p.line(4, "decimal: comma    # numbers are written like 12,5")
	default:
		p.say(4, "decimal: found file by file: %d of %d files write 12,5, the others 12.5 or no fraction", commas, files)
	}
}

// errors writes what keeps files of the group from being read, and the lines of which
// one settles it.
func (g *group) errors(p *page) {
	for _, line := range g.refusals() {
		p.say(4, "%s", line)
	}
	if len(g.choices) == 0 {
		return
	}
	p.say(4, "choose one of these lines, and take its # away:")
	for _, c := range g.choices {
		p.line(4, "# %s", c)
	}
}

// refusals says once what is wrong, with its files.
func (g *group) refusals() (lines []string) {
	whys, files := most(g, func(s *read.Sight) []string {
		if s.Err == "" {
			return nil
		}
		return []string{s.Err}
	})
	for _, why := range whys {
		for _, s := range g.sights {
			if s.Err == why {
				lines = append(lines, fmt.Sprintf("not read, or not to the end: %s, the first %s: %s", amount(int64(files[why]), "file"), s.Path, why))
				break
			}
		}
	}
	return lines
}

// others names the files that hold no readings, with what to write if they do.
func (d *draft) others(p *page) {
	if len(d.left) == 0 {
		return
	}
	p.line(0, "")
	p.say(2, "Left out, since no readings were found in them:")
	const shown = 12
	for _, s := range d.left[:min(shown, len(d.left))] {
		p.say(2, "- %s: %s", s.Path, s.Err)
		d.maybe(p, &s)
	}
	if more := len(d.left) - shown; more > 0 {
		p.say(2, "- and %d more, such as %s", more, d.left[shown].Path)
	}
}

// maybe writes an entry for a file in which some column can be read as stamps.
func (d *draft) maybe(p *page, s *read.Sight) {
	if len(s.Times) == 0 {
		return
	}
	p.say(4, "If it holds readings, put this under readings:, without the #, with one line of columns:")
	p.line(2, "# - path: %s", quoted(s.Path))
	if len(d.reg.Loggers) == 0 {
		p.line(2, "#   logger: %s    # the name that the register has for it, or is to have", quoted("name:"+read.Stem(s.Path)))
	}
	for _, t := range s.Times {
		at := moment(t.At)
		if t.Zoned {
			at += " UTC"
		}
		if t.Hour != "" {
			p.line(2, "#   columns: {date: %s, time: %s}    # %q reads as %s", quoted(t.Column), quoted(t.Hour), clean(t.First), at)
			p.line(2, "#   time_format: %s", stringed(t.Format))
			continue
		}
		p.line(2, "#   columns: {time: %s}    # %q reads as %s", quoted(t.Column), clean(t.First), at)
	}
}

// listed writes a few names.
func listed(names []string) string {
	const most = 12
	if len(names) == 0 {
		return "none"
	}
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
}

func hasAny(words []string, among ...string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(among, w) })
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
