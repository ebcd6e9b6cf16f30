package read

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"probeward/pipeline/register"
	"probeward/schemas"
)

// layout says what each column of a file is. Places are -1 where there is none.
type layout struct {
	names        []string // of the columns, by place
	long         bool
	time         int
	date         int // the day, where time holds the hour alone
	offset       offset
	probe        int
	value        int
	unit         int
	side         [2]int   // temperature, battery
	secondOffset offset   // that the name of second states
	second       int      // stamps of the other clock, which stamp no reading
	device       bool     // second is the device's clock, and time that of what received the message
	logger       int      // column that names the logger of each row
	fixed        string   // the logger of the whole file, when logger is -1
	named        bool     // fixed is known
	ports        []port   // columns that are ports whatever the logger; nil: as the register says
	matched      bool     // ports come from the configuration
	ignored      []bool   // by place: to be left
	unread       []string // by place: why a column's type is not read; nil: all are
	words        []string
	keys         []key // of the folders around the file
	// Of a reading a row, for the whole file where its folders say so and no column does.
	ofProbe, ofUnit []byte
	probeKey        string
	day             []byte // the folders', where date is dayOfFolder
	begins          bool   // that ports were guessed from the columns' beginnings was said
}

// port is a column that holds a port's readings.
type port struct {
	column int
	name   string
	why    string // not empty: every reading of the column is rejected for it
}

// What columns are called where the configuration does not say.
var (
	timeNames = []string{"time", "timestamp", "datetime", "date time", "date_time", "date/time", "date and time", "time stamp", "ts", "recorded_at", "recorded at", "date"}
	// Where the logger's own clock and that of what received its message both stand,
	// the logger's holds: messages come late, and come again.
	deviceTimes = []string{"device_time", "device time", "logger_time", "logger time", "sensor_time", "sensor time", "measurement time", "measurement_time",
		"measured_at", "measured at", "sample_time", "sample time", "sampled_at"}
	gatewayTimes = []string{"gateway_time", "gateway time", "received_at", "received at", "receive_time", "receive time", "received",
		"date_received", "date received", "server_time", "server time", "uploaded_at", "upload_time", "upload time", "ingested_at"}
	probeNames  = []string{"probe", "probe_id", "probe id", "sensor", "sensor_id", "sensor id"}
	valueNames  = []string{"value", "reading", "val"}
	loggerNames = []string{"logger", "logger_id", "logger id"}
)

func sameName(a, b string) bool {
	return strings.EqualFold(strings.TrimSpace(blanks(a)), strings.TrimSpace(blanks(b)))
}

// column finds a column by its name as written, else without regard to case and
// spaces around it.
func column(names []string, name string) int {
	if i := slices.Index(names, name); i >= 0 {
		return i
	}
	return slices.IndexFunc(names, func(n string) bool { return sameName(n, name) })
}

func anyColumn(names, known []string) int {
	for _, k := range known {
		if i := column(names, k); i >= 0 {
			return i
		}
	}
	return -1
}

// otherTimes says which columns of stamps are left, where none is configured.
func (l *layout) otherTimes(src *schemas.Source) {
	if src.Columns["time"] != "" {
		return
	}
	var left []string
	for i, n := range l.names {
		base, _ := offsetIn(n)
		known := func(k string) bool { return sameName(k, base) }
		if i != l.time && i != l.date && (slices.ContainsFunc(timeNames, known) || slices.ContainsFunc(deviceTimes, known) || slices.ContainsFunc(gatewayTimes, known)) {
			left = append(left, n)
		}
	}
	if len(left) > 0 {
		l.say("stamps from column %q (guessed; %s left; to change it, write columns: {time: ...}; to compare the two clocks, name the other as device_time or gateway_time)", l.names[l.time], list(left))
	}
}

// lay makes the layout of a file with these columns. preamble is what stands above
// its header.
func lay(names []string, src *schemas.Source, filePath string, preamble []byte, reg *register.Register) (*layout, error) {
	l := &layout{names: names, time: timeColumn(names, src), date: dateColumn(names, src), probe: -1, value: -1, unit: -1, logger: -1, second: -1, side: [2]int{-1, -1}}
	if l.time < 0 {
		return nil, fmt.Errorf("no column %s; the columns are %s; name it under columns: {time: ...}", wanted(src.Columns["time"], timeNames), list(names))
	}
	if len(names) > math.MaxUint16 {
		return nil, fmt.Errorf("%d columns are more than a table of readings has", len(names))
	}
	if l.keys = keysOf(filePath); l.date < 0 && src.Columns["date"] != "" && l.key(src.Columns["date"], nil) == nil {
		return nil, fmt.Errorf("no column %q for the day; the columns are %s", src.Columns["date"], list(names))
	}
	if l.date == l.time {
		l.date = -1
	}
	_, l.offset = offsetIn(names[l.time])
	l.secondClock(src)
	l.ignored = make([]bool, len(names))
	for i, n := range names {
		l.ignored[i] = slices.ContainsFunc(src.Ignore, func(s string) bool { return sameName(s, n) })
	}
	for k, ours := range []string{"temperature_c", "battery_v"} {
		name := src.Columns[ours]
		if l.side[k] = column(names, or(name, ours)); l.side[k] < 0 && name != "" {
			l.say("no column %q for %s", name, ours)
		}
	}
	if err := l.shape(src); err != nil {
		return nil, err
	}
	if err := l.ofLogger(src, filePath, preamble, reg); err != nil {
		return nil, err
	}
	if l.long {
		return l, nil
	}
	return l, l.portColumns(src, reg)
}

func (l *layout) say(format string, args ...any) {
	l.words = append(l.words, fmt.Sprintf(format, args...))
}

// shape decides between a reading a row and a column a port.
func (l *layout) shape(src *schemas.Source) error {
	find := func(ours string, known []string) int {
		if name := src.Columns[ours]; name != "" {
			return column(l.names, name)
		}
		return anyColumn(l.names, known)
	}
	probe, value := find("probe", probeNames), find("value", valueNames)
	lacks := probe < 0
	if src.Shape != "wide" && value >= 0 {
		byKey, err := l.keyed(src, probe)
		if err != nil {
			return err
		}
		lacks = lacks && !byKey
	}
	switch src.Shape {
	case "wide":
		l.say("wide")
		return nil
	case "long":
		l.say("long")
	default:
		switch {
		case lacks || value < 0:
			l.say("wide (guessed: no columns for probe and value)")
			return nil
		case probe < 0:
			l.say("long (guessed from its folder and its column %q)", l.names[value])
		default:
			l.say("long (guessed from its columns %q and %q)", l.names[probe], l.names[value])
		}
	}
	if lacks || value < 0 {
		missing, known := "probe", probeNames
		if !lacks {
			missing, known = "value", valueNames
		}
		return fmt.Errorf("no column %s; the columns are %s; name it under columns: {%s: ...}, or write shape: wide",
			wanted(src.Columns[missing], known), list(l.names), missing)
	}
	l.long, l.probe, l.value = true, probe, value
	l.unit = column(l.names, or(src.Columns["unit"], "unit"))
	l.keyedUnit(src)
	return nil
}

// ofLogger finds out which logger wrote the file or its rows.
func (l *layout) ofLogger(src *schemas.Source, filePath string, preamble []byte, reg *register.Register) error {
	kind, rest, _ := strings.Cut(src.Logger, ":")
	base := filePath[strings.LastIndexByte(filePath, '/')+1:]
	switch kind {
	case "":
		if !l.long {
			l.guessLogger(stem(filePath), reg)
		} else if anyColumn(l.names, loggerNames) < 0 {
			_, _ = l.keyedLogger("", loggerNames)
		}
		return nil
	case "name":
		l.fixed = rest
	case "column":
		if l.logger = column(l.names, rest); l.logger < 0 {
			if ok, err := l.keyedLogger(rest, nil); ok || err != nil {
				return err
			}
			return fmt.Errorf("no column %q for the logger; the columns are %s", rest, list(l.names))
		}
		l.say("logger from column %q", l.names[l.logger])
		return nil
	case "filename":
		if l.fixed = stem(filePath); rest != "" {
			name, ok, err := firstGroup(rest, base)
			if err != nil {
				return err
			}
			if !ok {
				return fmt.Errorf("the file's name %q does not match logger: filename:%s", base, rest)
			}
			l.fixed = name
		}
	case "header":
		name, ok := "", false
		for _, line := range strings.Split(string(preamble), "\n") {
			var err error
			if name, ok, err = firstGroup(rest, readable([]byte(strings.TrimRight(line, "\r")))); err != nil {
				return err
			}
			if ok {
				break
			}
		}
		if !ok {
			return fmt.Errorf("no line above the header matches logger: header:%s", rest)
		}
		l.fixed = name
	default:
		return fmt.Errorf("logger: %s is none of filename, name:NAME, column:NAME and header:REGEXP", src.Logger)
	}
	l.fixed = strings.TrimSpace(l.fixed)
	l.named = true
	l.say("logger %s", l.fixed)
	return nil
}

// guessLogger takes a column of that name, else the longest start of the file's
// name that the register knows as a logger.
func (l *layout) guessLogger(name string, reg *register.Register) {
	if i := anyColumn(l.names, loggerNames); i >= 0 {
		l.logger = i
		l.say("logger from column %q (guessed)", l.names[i])
		return
	}
	if k := l.key("", loggerNames); k != nil && reg.HasLogger(k.value) {
		_, _ = l.keyedLogger("", loggerNames)
		return
	}
	for end := len(name); end > 0; end-- {
		if end < len(name) && !strings.ContainsRune("_-. ", rune(name[end])) {
			continue
		}
		if reg.HasLogger(name[:end]) {
			l.fixed, l.named = name[:end], true
			l.say("logger %s (guessed from the file's name)", l.fixed)
			return
		}
	}
	if ok, _ := l.keyedLogger("", loggerNames); ok {
		return
	}
	if l.probeFile(name, reg) {
		return
	}
	l.say("logger not known: no start of the file's name is a logger of the register")
}

// firstGroup gives the first group of the expression where it matches; the whole
// match when it has none.
func firstGroup(expression, text string) (string, bool, error) {
	re, err := regexp.Compile(expression)
	if err != nil {
		return "", false, fmt.Errorf("not a regular expression: %w", err)
	}
	m := re.FindStringSubmatch(text)
	switch {
	case m == nil:
		return "", false, nil
	case len(m) > 1:
		return m[1], true, nil
	}
	return m[0], true, nil
}

// taken says whether the column has another use than a port's.
func (l *layout) taken(i int) bool {
	return i == l.time || i == l.date || i == l.second || i == l.logger || i == l.side[0] || i == l.side[1] || l.ignored[i]
}

var errNoPorts = errors.New("no column is a port that the register knows of this logger")

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func wanted(name string, known []string) string {
	if name != "" {
		return fmt.Sprintf("%q", name)
	}
	return "named " + strings.Join(known[:min(len(known), 4)], ", ") + " or alike"
}

// list writes a few names.
func list(names []string) string {
	const most = 12
	var b strings.Builder
	for i, n := range names[:min(len(names), most)] {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%q", excerpt([]byte(n)))
	}
	if len(names) > most {
		fmt.Fprintf(&b, " and %d more", len(names)-most)
	}
	return b.String()
}
