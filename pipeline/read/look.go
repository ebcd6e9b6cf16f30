package read

import (
	"bytes"
	"context"
	"errors"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/apache/arrow/go/v17/arrow/memory"

	"probeward/pipeline/read/fastcsv"
	"probeward/pipeline/read/stamp"
)

// Sight is how one file is laid out, found by the code that reads it: for a person,
// or for a configuration that says so once and for all.
type Sight struct {
	Path   string // as File.Path
	Source string // the file that a path of the configuration must match: without the table of an archive
	Form   string // the ending of its name, such as .csv.gz
	Rows   int64  // below the header

	Err     string   // why it cannot be read; empty when it can
	Laid    bool     // its columns are known; else it may be no table of readings at all
	Choices []string // lines of the configuration of which one settles Err
	Times   []Stamps // where no column is named as stamps are: those whose cells are

	Columns         []string
	HeaderLine      int    // 0: none
	Separator       string // in words; empty for Parquet
	Long            bool
	Time, Date      string // columns; empty: none, as below
	OtherTimes      []string
	Probe           string
	Value, Unit     string
	Temperature     string
	Battery         string
	LoggerColumn    string
	LoggerKey       string // the key of the folder KEY=NAME that names the logger
	ProbeKey        string // and the probe
	Day             string // as a folder gives it, where the stamps are hours alone
	Logger          string // of the whole file; empty: not known, or in LoggerColumn
	Ports           []SeenPort
	Left            []string // columns of no use to a reading
	DecimalComma    bool
	TimeFormat      string  // the layout that fitted; empty for a column of timestamps
	Stamp           string  // the first
	At              int64   // the instant that it is read as; the wall's reading where Zoned is false
	Zoned           bool    // the stamp says its offset
	Strangers       []Stray // of this file
	RegisterStrange bool    // nothing of the file joins the register
}

// Stamps is a column whose cells can be read as stamps.
type Stamps struct {
	Column, Format, First string
	Hour                  string // column of the hour alone, where Column is the day's; else empty
	At                    int64  // see Sight
	Zoned                 bool
}

// SeenPort is a column that is read as a port.
type SeenPort struct {
	Column, Port string
	Why          string // not empty: nothing of it is used
}

// Look lays out every file that Files would read, and says which of their names the
// register lacks. Sorted by path. The error is for a canceled context and for a ledger
// that does not balance.
func Look(ctx context.Context, in Input) ([]Sight, error) {
	if in.Allocator == nil {
		in.Allocator = memory.DefaultAllocator
	}
	if in.Workers <= 0 {
		in.Workers = runtime.GOMAXPROCS(0)
	}
	list, _, err := find(ctx, in.Config.Dir, in.Config.Tree, in.Config.Readings)
	if err != nil {
		return nil, err
	}
	r := &reader{in: in, list: list, files: make([]File, len(list)), parts: make([]one, len(list)), spare: newSpare(in.Allocator)}
	defer r.spare.release()
	err = r.pass(ctx, bySize(list))
	for i := range r.parts {
		for _, b := range r.parts[i].batches {
			b.Release()
		}
	}
	if err != nil {
		return nil, err
	}
	sights := make([]Sight, len(list))
	for i := range list {
		f := &list[i]
		s := &sheet{ctx: ctx, reg: in.Register, source: f.source, disk: f.disk, object: f.object, entry: f.entry, file: &File{Path: f.path},
			words: newCellWords(f.source, in.Config.DecimalMark(f.place))}
		if f.why == "" {
			sights[i] = s.look()
		}
		v := &sights[i]
		v.Path, v.Source, v.Form, v.Rows = f.path, strings.TrimSuffix(f.path, "/"+f.entry), ending(f.disk), r.files[i].Rows
		if f.entry == "" {
			v.Source = f.path
		}
		if v.Err == "" {
			v.Err = r.files[i].Err
			v.RegisterStrange = r.files[i].Used == 0 && v.Err != ""
		}
		for _, n := range r.parts[i].strays {
			if n.probe != moreStrangers {
				v.Strangers = append(v.Strangers, Stray{Logger: n.logger, Port: n.port, Probe: n.probe, Readings: n.readings, Files: 1, First: f.path})
			}
		}
		slices.SortFunc(v.Strangers, func(a, b Stray) int {
			return strings.Compare(a.Logger+"\x00"+a.Port+"\x00"+a.Probe, b.Logger+"\x00"+b.Port+"\x00"+b.Probe)
		})
	}
	return sights, nil
}

// Matches gives the files below dir that a path of the configuration matches, as
// Sight.Source names them.
func Matches(dir, pattern string) ([]string, error) {
	files, err := glob(dir, pattern)
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = f.path
	}
	return names, err
}

// LoggerOf gives the logger that the rule ("filename", "filename:REGEXP" or
// "name:NAME") finds for a file; empty when it finds none.
func LoggerOf(rule, file string) string {
	kind, rest, _ := strings.Cut(rule, ":")
	switch {
	case kind == "name":
		return strings.TrimSpace(rest)
	case kind == "filename" && rest == "":
		return strings.TrimSpace(stem(file))
	case kind == "filename":
		name, _, _ := firstGroup(rest, file[strings.LastIndexByte(file, '/')+1:])
		return strings.TrimSpace(name)
	}
	return ""
}

// Stem is a file's name without folder and ending: what a logger's name is looked for in.
func Stem(file string) string { return stem(file) }

// Aside says whether a column's name speaks of a thing beside a port's value, such as
// a battery or a state.
func Aside(column string) bool {
	return slices.ContainsFunc(wordsOf(column), func(w string) bool { return slices.Contains(besideWords, w) })
}

// UnitNamed gives the unit of the register that a word of a column's name is; ok is
// false when none is, or several are.
func UnitNamed(columnName string) (unit string, ok bool) {
	for _, w := range wordsOf(columnName) {
		u, known := units[w]
		if !known || w == "c" || w == "count" || w == "counts" {
			continue // words of other things too
		}
		name := u.base
		switch {
		case u.base == "ohm" && u.factor == 1000:
			name = "kohm"
		case u.base == "m3/m3" && u.factor != 1:
			name = "%"
		}
		if unit != "" && unit != name {
			return "", false
		}
		unit = name
	}
	return unit, unit != ""
}

func ending(name string) string {
	lower := strings.ToLower(name)
	for _, s := range suffixes {
		if strings.HasSuffix(lower, s.text) {
			return name[len(name)-len(s.text):]
		}
	}
	return ""
}

// look lays out one file.
func (s *sheet) look() (v Sight) {
	src, f, err := s.open(nil)
	if err != nil {
		v.Err = "cannot be opened: " + err.Error()
		return v
	}
	defer src.file.Close()
	if f == formParquet {
		err = s.lookParquet(src.file, &v)
	} else {
		err = s.lookText(src, f, &v)
	}
	if err != nil {
		v.Err = err.Error()
		v.Choices = settled.FindAllString(v.Err, -1)
	}
	if s.layout != nil {
		s.describe(&v)
	}
	return v
}

// settled finds the lines of the configuration that an error names.
var settled = regexp.MustCompile(`time_format: (?:"[^"]*"|day_number)|decimal: (?:comma|point)`)

func (s *sheet) lookText(src *raw, f fileForm, v *Sight) error {
	text, done, err := unpacked(src, f)
	if err != nil {
		return err
	}
	defer done()
	r := fastcsv.New(text, ',')
	head := slices.Clone(r.Peek(headBytes))
	cut := len(head) == headBytes
	sep, line, err := s.layText(head)
	if err != nil {
		v.Times = s.timesIn(head, cut)
		return err
	}
	v.Separator, v.HeaderLine = separatorNames[sep], line
	if err := s.settle(head, cut, sep, line); err != nil {
		return err
	}
	first := s.firstStamp(head, sep, line)
	v.Stamp, v.TimeFormat, v.At, v.Zoned = first.First, first.Format, first.At, first.Zoned
	return nil
}

// firstStamp gives the first stamp below the header's line.
func (s *sheet) firstStamp(head []byte, sep byte, line int) (first Stamps) {
	if s.format == nil {
		return first // no row has a stamp
	}
	for row := skipTo(bytes.NewReader(head), sep, line); first.First == "" && row.Next(); {
		cell := s.stampCell(row)
		if t, zoned, ok := s.format.Parse(cell); ok {
			first = Stamps{First: readable(cell), Format: s.format.Used(), At: t, Zoned: zoned}
		}
	}
	return first
}

// timesIn tries each name of the first row as the column of stamps.
func (s *sheet) timesIn(head []byte, cut bool) (all []Stamps) {
	const most = 200 // columns; a table of more is read by its stamps' name alone
	var names []string
	for _, c := range separators {
		if h := s.headerBy(head, c); len(h.first) > len(names) {
			names = columnNames(h.first)
		}
	}
	if len(names) < 2 || len(names) > most {
		return nil
	}
	for _, name := range names {
		first, ok := s.tried(head, cut, map[string]string{"time": name}, "")
		if !ok || name == "" {
			continue
		}
		first.Column = name
		hour := slices.IndexFunc(names, func(n string) bool { return sameName(n, "hour") })
		if hour >= 0 && !strings.ContainsAny(first.Format, "35") { // of the reference time's hours
			format := first.Format + " 15"
			if both, ok := s.tried(head, cut, map[string]string{"date": name, "time": names[hour]}, format); ok {
				first, first.Column, first.Format, first.Hour = both, name, format, names[hour]
			}
		}
		all = append(all, first)
	}
	return all
}

// tried lays the head out with these columns, and gives the first stamp if it has one.
func (s *sheet) tried(head []byte, cut bool, columns map[string]string, format string) (Stamps, bool) {
	src := *s.source
	src.Columns, src.TimeFormat = columns, format
	try := &sheet{ctx: s.ctx, reg: s.reg, source: &src, disk: s.disk, object: s.object, entry: s.entry, file: &File{Path: s.file.Path}, words: s.words}
	sep, line, err := try.layText(head)
	if err != nil || try.settle(head, cut, sep, line) != nil {
		return Stamps{}, false
	}
	first := try.firstStamp(head, sep, line)
	return first, first.First != ""
}

func (s *sheet) lookParquet(file handle, v *Sight) error {
	t, err := s.layParquet(file)
	if err != nil {
		return err
	}
	if err := s.openColumns(&t); err != nil {
		return err
	}
	defer t.close()
	if err := s.settleParquet(&t); err != nil {
		return err
	}
	s.clock = stamp.NewClock(time.UTC)
	if s.format != nil {
		v.TimeFormat = s.format.Used()
	}
	err = t.each(s, func(int) error {
		text := s.rowStamp(t.cursors[s.layout.time], 0)
		v.Stamp, v.Zoned, v.At = readable(text), s.when.zoned, s.when.t
		if !v.Zoned {
			v.At = s.when.wall
		}
		if v.Stamp == "" && s.when.ok {
			v.Stamp = time.UnixMicro(v.At).UTC().Format("2006-01-02 15:04:05")
		}
		return errEnough
	})
	if errors.Is(err, errEnough) {
		err = nil
	}
	return err
}

// describe takes the layout over.
func (s *sheet) describe(v *Sight) {
	l := s.layout
	name := func(i int) string {
		if i < 0 {
			return ""
		}
		return l.names[i]
	}
	v.Laid, v.Columns, v.Long = true, l.names, l.long
	v.Time, v.Date, v.LoggerColumn = name(l.time), name(l.date), name(l.logger)
	v.Temperature, v.Battery = name(l.side[0]), name(l.side[1])
	v.Logger, v.DecimalComma = l.fixed, s.words.mark == ','
	v.ProbeKey, v.Day = l.probeKey, strings.TrimSpace(string(l.day))
	if k := l.key("", loggerNames); k != nil && l.logger < 0 && l.named && k.value == l.fixed {
		v.LoggerKey = k.name
	}
	used := make([]bool, len(l.names))
	if l.long {
		v.Probe, v.Value, v.Unit = name(l.probe), name(l.value), name(l.unit)
		for _, i := range []int{l.probe, l.value, l.unit} {
			if i >= 0 {
				used[i] = true
			}
		}
	} else {
		ports := l.ports
		if l.logger < 0 {
			ports = l.portsOf(l.fixed, s.reg)
		}
		for _, p := range ports {
			used[p.column] = true
			v.Ports = append(v.Ports, SeenPort{l.names[p.column], p.name, p.why})
		}
	}
	for i, n := range l.names {
		switch known := func(k string) bool { return sameName(k, n) }; {
		case used[i] || l.taken(i) && !l.ignored[i]:
		case slices.ContainsFunc(timeNames, known), slices.ContainsFunc(deviceTimes, known), slices.ContainsFunc(gatewayTimes, known):
			v.OtherTimes = append(v.OtherTimes, n)
		default:
			v.Left = append(v.Left, n)
		}
	}
}
