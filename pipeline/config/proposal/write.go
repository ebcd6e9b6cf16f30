package proposal

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// page is the configuration as it is written: YAML with comments.
type page struct{ strings.Builder }

// width is where comments are broken.
const width = 88

// line writes one line of YAML.
func (p *page) line(indent int, format string, args ...any) {
	p.WriteString(strings.Repeat(" ", indent) + fmt.Sprintf(format, args...) + "\n")
}

// say writes a comment, broken into lines.
func (p *page) say(indent int, format string, args ...any) {
	start := strings.Repeat(" ", indent) + "# "
	at := 0
	for _, word := range strings.Fields(clean(fmt.Sprintf(format, args...))) {
		switch {
		case at == 0:
			p.WriteString(start)
			at = len(start)
		case at+1+len(word) > width:
			p.WriteString("\n" + start + "  ")
			at = len(start) + 2
		default:
			p.WriteString(" ")
			at++
		}
		p.WriteString(word)
		at += len([]rune(word))
	}
	p.WriteString("\n")
}

// clean keeps what would end a comment or spoil a terminal out of it.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == 0x85 || r == 0x2028 || r == 0x2029 {
			return ' '
		}
		return r
	}, text)
}

var plainWord = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_./*-]*$`)

// quoted writes a text as a value of YAML.
func quoted(text string) string {
	if clean(text) != text {
		return fmt.Sprintf("%q", text)
	}
	switch strings.ToLower(text) {
	case "true", "false", "yes", "no", "on", "off", "null", "y", "n":
	default:
		if plainWord.MatchString(text) {
			return text
		}
	}
	return "'" + strings.ReplaceAll(text, "'", "''") + "'"
}

// write writes the whole configuration.
func (d *draft) write() []byte {
	p := &page{}
	same := "Until a choice below is made, nothing in it can be used."
	if d.seen.total > 0 {
		same = fmt.Sprintf("Read by it, the %s of today's files %s used, as without it.", amount(d.seen.total, "reading"), isAre(d.seen.total))
	}
	p.say(0, "A proposal for scan.yaml, by probeward config init. It says what a scan of this folder finds out by itself, so that the next export is read the same way. %s", same)
	p.say(0, "Look at the lines marked \"choose\". Lines behind a # are not in force.")
	p.line(0, "")
	d.zone(p)
	p.line(0, "")
	d.spans(p)
	p.line(0, "")
	d.readings(p)
	d.others(p)
	p.line(0, "")
	d.tables(p)
	d.units(p)
	d.joins(p)
	return []byte(p.String())
}

// zone writes the zone, with a stamp that needs it.
func (d *draft) zone(p *page) {
	wall, all, example := 0, 0, ""
	for _, g := range d.groups {
		for i := range g.sights {
			s := &g.sights[i]
			if s.Stamp == "" {
				continue
			}
			if all++; !s.Zoned {
				if wall++; wall == 1 {
					example = fmt.Sprintf("%q in %s is taken for %s", s.Stamp, s.Path, moment(s.At))
				}
			}
		}
	}
	switch {
	case all > 0 && wall == 0:
		p.say(0, "Every stamp says its own offset from UTC: this zone is for days and pages alone.")
	case d.Zone != "":
		p.say(0, "Stamps of %d of %d files say no offset: %s in this zone, as you said.", wall, all, example)
	case wall > 0:
		p.say(0, "choose: stamps of %d of %d files say no offset: %s UTC. If the loggers keep the farm's time, put its zone here. Wrong by hours is wrong by as much in every comparison with water and rain.", wall, all, example)
	}
	if all == 0 && d.Zone == "" {
		p.say(0, "choose: the zone of the farm, if the stamps say no offset from UTC.")
	}
	p.line(0, "timezone: %s", quoted(d.conf.ZoneName))
	if wall > 0 && d.Zone == "" {
		p.line(0, "# timezone: America/Los_Angeles    # an example: names of this form, never PST or +8")
	}
}

// spans writes the window and the look-back.
func (d *draft) spans(p *page) {
	p.line(0, "window: 7d      # what is judged: these days before the newest on which most loggers report")
	p.line(0, "lookback: 8w    # what a scan may look at before them")
	if d.seen.newest != 0 {
		p.say(0, "The newest reading is of %s.", time.UnixMicro(d.seen.newest).In(d.conf.Zone).Format("2 January 2006, 15:04"))
	}
}

// moment writes a stamp's day and hour in words.
func moment(at int64) string { return time.UnixMicro(at).UTC().Format("2 January 2006, 15:04") }

// tables writes the paths of the tables that lie beside the exports.
func (d *draft) tables(p *page) {
	c := d.conf.Config
	p.say(0, "The tables beside the exports, by their names.")
	if c.Probes != "" {
		p.line(0, "probes: %s    # the register: %s", quoted(c.Probes), amount(int64(len(d.reg.Probes)), "probe"))
	} else if len(d.rows) == 0 {
		p.say(0, "choose: there is no register, and no scan without one. When scan.yaml says how the files are read, probeward config init --register proposes one.")
		p.line(0, "# probes: probes.csv")
	} else {
		p.say(0, "choose: there is no register, and no scan without one. probeward config init --register prints one with a row for each of the %s heard here; fill in what it leaves empty, and put it here as probes.csv.", amount(int64(len(d.rows)), "probe"))
		p.line(0, "# probes: probes.csv")
	}
	for _, t := range []struct{ key, name, words string }{
		{"loggers", c.Loggers, "where each logger stands"}, {"irrigation", c.Irrig, "without it no probe is asked for its answer to water"},
		{"weather", c.Weather, "without it rain cannot be told from a leak"}, {"visits", c.Visits, "what the crew found"}, {"overrides", c.Overrides, "a person's word on a probe"},
	} {
		if t.name != "" {
			p.line(0, "%s: %s", t.key, quoted(t.name))
		} else {
			p.line(0, "# %s: %s.csv    # none here; %s", t.key, t.key, t.words)
		}
	}
}

// units writes the sizes of the values by unit, and what each could be mistaken for.
func (d *draft) units(p *page) {
	if d.rows != nil || len(d.seen.spread) == 0 {
		return
	}
	p.line(0, "")
	p.say(0, "Units are the register's, a probe at a time. Nine in ten values of each, as exported:")
	keys := make([]string, 0, len(d.seen.spread))
	for k := range d.seen.spread {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		v := d.seen.spread[k]
		_, unit, _ := strings.Cut(k, " in ")
		p.say(2, "%s: %s to %s%s", k, number(v[len(v)/20]), number(v[len(v)-1-len(v)/20]), mistaken[unit])
	}
}

// mistaken says what a unit is mistaken for, and how the register says which it is.
var mistaken = map[string]string{
	"kPa":   " (1 kPa is 1 cbar: the same numbers; negative numbers need scale -1 in the register)",
	"cbar":  " (1 cbar is 1 kPa: the same numbers; negative numbers need scale -1 in the register)",
	"m3/m3": " (a share of 1; if these are percents, the unit is %)",
	"%":     " (percents; if these are shares of 1, the unit is m3/m3)",
	"ohm":   " (a working sensor has hundreds to some 30,000; smaller numbers are kohm)",
	"kohm":  " (a working sensor has 0.5 to some 30; larger numbers are ohm)",
}

// joins writes what the reader has to say: names that the register and the files do
// not share, values that deny their unit, clocks, what could not be opened.
func (d *draft) joins(p *page) {
	if d.rows != nil {
		return // every name heard has a row in the register that is proposed
	}
	var notes []string
	for _, n := range d.notes {
		if !slices.ContainsFunc(d.left, func(s sight) bool { return strings.HasPrefix(n, s.Path+": ") }) {
			notes = append(notes, n)
		}
	}
	if len(notes) == 0 {
		p.line(0, "")
		p.say(0, "Every name in the files has a row in the register, and every row is heard.")
		return
	}
	p.line(0, "")
	p.say(0, "What to look at, in the files or in the register:")
	const shown = 30
	for _, n := range notes[:min(shown, len(notes))] {
		p.say(2, "- %s", n)
	}
	if more := len(notes) - shown; more > 0 {
		p.say(2, "- and %d more: probeward scan --dry-run lists them", more)
	}
}

// number writes a value with four digits, and no power of ten.
func number(v float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 4, 64), 64)
	if err != nil {
		return "none"
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

func amount(n int64, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

func isAre(n int64) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// some names the first few of a list.
func some(names []string) string {
	const few = 3
	if len(names) <= few {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:few], ", "), len(names)-few)
}
