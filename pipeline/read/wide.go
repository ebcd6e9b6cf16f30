package read

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/read/stamp"
	"probeward/pipeline/register"
)

// wide is what reading a column a port must remember.
type wide struct {
	boxes   map[string]*box
	last    *box
	lost    run // rows whose stamp cannot be read
	strange run // rows beyond maxBoxes loggers
}

// box is one logger in one file.
type box struct {
	name   string
	slots  []slot
	digest digest
	lags   lags
	turn   stamp.Turn
	nights nights
	fixed  bool // its clock keeps standard time
	row    int64
}

// slot is one port of a logger in one file.
type slot struct {
	column int
	header string
	port   string
	why    string // not empty: nothing of the column is used
	claims []register.Claim
	at     int   // the claim that held last
	lost   int64 // readings rejected for why
	run    run
}

// maxBoxes bounds the loggers of one file: more are a wrong column.
const maxBoxes = 4096

// box gives the logger's state; nil when the file names too many.
func (s *sheet) box(name []byte) *box {
	w := &s.wide
	if w.last != nil && w.last.name == string(name) {
		return w.last
	}
	b, ok := w.boxes[string(name)]
	if !ok {
		if len(w.boxes) >= maxBoxes {
			return nil
		}
		b = s.newBox(string(name))
		if w.boxes == nil {
			w.boxes = map[string]*box{}
		}
		w.boxes[string(name)] = b
	}
	w.last = b
	return b
}

func (s *sheet) newBox(raw string) *box {
	b := &box{name: raw}
	name := readable([]byte(raw))
	known := s.reg.HasLogger(name)
	b.fixed = s.kept.standard(s.clockName(name))
	for _, p := range s.layout.portsOf(name, s.reg) {
		sl := slot{column: p.column, header: s.layout.names[p.column], port: p.name, why: p.why, claims: s.reg.At(name, p.name)}
		if i, ok := s.reg.Named(p.name); ok && len(sl.claims) == 0 {
			sl.claims = []register.Claim{{Probe: i, Span: detect.Span{Start: math.MinInt64, End: math.MaxInt64}}}
		}
		if sl.why == "" && s.layout.unread != nil {
			sl.why = s.layout.unread[p.column]
		}
		switch {
		case sl.why != "" || len(sl.claims) > 0:
		case name == "":
			sl.why = "nothing says which logger this is; set logger, or name the columns as the probes"
		case !known:
			sl.why = fmt.Sprintf("the register has no logger %q; add its probes, or mend logger", name)
		default:
			sl.why = fmt.Sprintf("the register has no probe at port %q of logger %q; add one, or add the column to ignore", p.name, name)
		}
		b.slots = append(b.slots, sl)
	}
	return b
}

// holder finds who holds the port at the instant; -1 when nobody does.
func (sl *slot) holder(t int64) int {
	if c := sl.claims[sl.at]; c.Holds(t) || c.End == math.MaxInt64 && t >= c.Start {
		return c.Probe
	}
	for i, c := range sl.claims {
		if c.Holds(t) || c.End == math.MaxInt64 && t >= c.Start {
			sl.at = i
			return c.Probe
		}
	}
	return -1
}

// only is the one probe that ever holds the port; -1 when there are several.
func (sl *slot) only() int {
	if len(sl.claims) == 0 {
		return -1
	}
	for _, c := range sl.claims[1:] {
		if c.Probe != sl.claims[0].Probe {
			return -1
		}
	}
	return sl.claims[0].Probe
}

// begin starts a row of the logger: the instant of its stamp; not ok when the whole
// row is rejected.
func (s *sheet) begin(b *box, line int, text []byte) (int64, bool) {
	b.row++
	w := &s.when
	if !w.ok {
		s.whole(b, line, s.badStamp(), text)
		return 0, false
	}
	t := w.t
	switch {
	case w.zoned:
	case b.fixed:
		t = w.wall - s.kept.offset
	case !w.plain:
		var ok bool
		if t, ok = s.resolve(&b.turn, &b.nights); !ok {
			s.whole(b, line, s.noHour(), text)
			return 0, false
		}
	}
	b.digest.add(t, line)
	s.compare(&b.lags, t, b.fixed)
	return t, true
}

// whole rejects a row with all its readings.
func (s *sheet) whole(b *box, line int, why string, text []byte) {
	s.ledger.reject(&s.wide.lost, b.row, line, "", why, text, int64(len(b.slots)), -1)
}

// cell takes one reading of a port that was read from its cell.
func (s *sheet) cell(b *box, sl *slot, t int64, line int, v float64, code uint8, what kind, text []byte) {
	if sl.why != "" {
		sl.lost++
		s.ledger.reject(&sl.run, b.row, line, sl.header, sl.why, nil, 1, -1)
		return
	}
	probe := sl.holder(t)
	if probe < 0 {
		why := fmt.Sprintf("outside valid_from and valid_to of port %q of logger %q in the register", sl.port, b.name)
		s.ledger.reject(&sl.run, b.row, line, sl.header, why, nil, 1, sl.only())
		return
	}
	if what == isBad {
		v, code, what = s.withUnit(text, probe)
	}
	switch what {
	case isValue:
		s.block.put(t, uint32(probe), v, uint32(line), uint16(sl.column))
	case isBlank:
		s.block.blank(t, uint32(probe), code, uint32(line), uint16(sl.column))
	default:
		s.ledger.reject(&sl.run, b.row, line, sl.header, s.badNumber(text, probe), text, 1, probe)
		return
	}
	s.reached(t)
}

// lacking rejects one reading whose cell the row does not have.
func (s *sheet) lacking(b *box, sl *slot, t int64, line int) {
	probe := -1
	if sl.why != "" {
		sl.lost++
	} else {
		probe = sl.holder(t)
	}
	s.ledger.reject(&sl.run, b.row, line, sl.header, whyShort, nil, 1, probe)
}

func (s *sheet) finishWide() []detect.Stamps {
	names := make([]string, 0, len(s.wide.boxes))
	for n := range s.wide.boxes {
		names = append(names, n)
	}
	slices.Sort(names)
	l := s.layout
	ports := make([]bool, len(l.names))
	count := 0
	var stamps []detect.Stamps
	for _, n := range names {
		b := s.wide.boxes[n]
		for _, sl := range b.slots {
			if !ports[sl.column] {
				count++
			}
			ports[sl.column] = true
		}
		if b.digest.started {
			stamps = append(stamps, s.compared(b.digest.stamps(s.file.Path, readable([]byte(n))), &b.lags))
		}
		if n != "" {
			s.file.Loggers = append(s.file.Loggers, readable([]byte(n)))
		}
	}
	for i, name := range l.names {
		if !ports[i] && (l.ignored[i] || !l.taken(i)) {
			s.file.IgnoredColumns = append(s.file.IgnoredColumns, name)
		}
	}
	if count == 0 && s.file.Err == "" && s.file.Rows > 0 {
		s.joinless = len(s.file.Loggers) > 0 && !slices.ContainsFunc(s.file.Loggers, s.reg.HasLogger)
		s.file.Err = fmt.Sprintf("%v %q; the columns are %s; mend logger and ports, or the register", errNoPorts, strings.Join(s.file.Loggers, ", "), list(l.names))
		if len(s.file.Loggers) == 0 {
			s.file.Err = l.nameless(s.file.Path)
		}
	}
	s.file.Layout += fmt.Sprintf("; %d port columns", count)
	return stamps
}
