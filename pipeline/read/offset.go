package read

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"probeward/pipeline/read/fastcsv"
	"probeward/schemas"
)

// Many exports name the offset of their stamps from UTC once, in the name of the
// column: "Time (GMT-07:00)", "Date Time, UTC+2", "timestamp_utc".

// offset is what a column's name says of its stamps.
type offset struct {
	micros int64
	known  bool
}

var (
	offsetBehind = regexp.MustCompile(`(?i)^(.+?)[\s,;_]*[(\[]?\s*(?:UTC|GMT)\s*([+-]\d{1,2}(?::?\d{2})?)?\s*[)\]]?$`)
	offsetAlone  = regexp.MustCompile(`^(.+?)\s*[(\[]\s*([+-]\d{1,2}:?\d{2})\s*[)\]]$`)
	offsetBefore = regexp.MustCompile(`(?i)^(?:UTC|GMT)[\s_]+(.+)()$`)
)

// offsetIn parts a column's name from the offset that it states. An abbreviation of
// a zone states none: several zones share it.
func offsetIn(name string) (base string, o offset) {
	text := strings.ReplaceAll(strings.TrimSpace(name), "\u2212", "-")
	for _, re := range []*regexp.Regexp{offsetBehind, offsetAlone, offsetBefore} {
		m := re.FindStringSubmatch(text)
		if m == nil {
			continue
		}
		if m[2] == "" {
			return m[1], offset{known: true}
		}
		digits := strings.ReplaceAll(m[2][1:], ":", "")
		hours, minutes := digits, "0"
		if n := len(digits); n > 2 {
			hours, minutes = digits[:n-2], digits[n-2:]
		}
		h, _ := strconv.Atoi(hours)
		min, _ := strconv.Atoi(minutes)
		if h > 14 || min > 59 {
			continue
		}
		micros := int64(h*60+min) * 60_000_000
		if m[2][0] == '-' {
			micros = -micros
		}
		return m[1], offset{micros, true}
	}
	return name, offset{}
}

// timeColumn finds the column of stamps: by its name, else by its name less the
// offset in it.
func timeColumn(names []string, src *schemas.Source) int {
	if name := src.Columns["time"]; name != "" {
		return column(names, name)
	}
	bases := basesOf(names)
	for _, known := range slices.Concat(deviceTimes, timeNames, gatewayTimes) {
		for _, among := range [][]string{names, bases} {
			if i := column(among, known); i >= 0 {
				return i
			}
		}
	}
	return -1
}

// dateColumn finds a column of days.
func dateColumn(names []string, src *schemas.Source) int {
	if name := src.Columns["date"]; name != "" {
		return column(names, name)
	}
	if i := column(names, "date"); i >= 0 {
		return i
	}
	return column(basesOf(names), "date")
}

func basesOf(names []string) []string {
	bases := make([]string, len(names))
	for i, n := range names {
		bases[i], _ = offsetIn(n)
	}
	return bases
}

var dayAlone = regexp.MustCompile(`^(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{8})$`)

// hourBeside looks for the hours of stamps that are days alone: in the only column
// that holds nothing else. r stands behind the header.
func (s *sheet) hourBeside(r *fastcsv.Reader) {
	l := s.layout
	could, seen := make([]bool, len(l.names)), make([]bool, len(l.names))
	for i := range could {
		could[i] = !l.taken(i)
	}
	for n := 0; n < sampleRows && r.Next(); n++ {
		if stamp := at(r, l.time); !starts(stamp) {
			continue
		} else if !dayAlone.Match(stamp) {
			return
		}
		for i := range could {
			if cell := at(r, i); could[i] && len(cell) > 0 {
				seen[i] = true
				could[i] = hourAlone.Match(plainly(cell))
			}
		}
	}
	hour := -1
	for i := range could {
		if could[i] && seen[i] {
			if hour >= 0 {
				return
			}
			hour = i
		}
	}
	if hour < 0 {
		return
	}
	l.date, l.time = l.time, hour
	if _, o := offsetIn(l.names[hour]); o.known {
		l.offset = o
	}
	l.say("stamps from columns %q and %q", l.names[l.date], l.names[l.time])
}
