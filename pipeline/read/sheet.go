package read

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/read/decimal"
	"probeward/pipeline/read/stamp"
	"probeward/pipeline/register"
	"probeward/pipeline/store"
	"probeward/schemas"
)

// sheet is one file while it is read.
type sheet struct {
	ctx    context.Context
	reg    *register.Register
	source *schemas.Source
	disk   string
	object *store.Object // nil: the file is on disk
	entry  string        // see found
	file   *File
	ledger ledger
	block  *block
	layout *layout
	top    top
	words  cellWords
	notes  []string

	joined []byte // see stampCell
	format *stamp.Format
	clock  *stamp.Clock
	when   when
	second second

	wide  wide
	long  long
	units map[[2]string]unitOf // from the first to the second; see convert

	kept  *kept // how the source's clocks turned out to run; nil: as the zone's
	walls bool  // some stamps are a wall's readings
	proof int64 // rows that stood in an hour left out when the file was read by the zone's clock

	joinless    bool // no column is a port of a logger that the register lacks
	used        int64
	first, last int64
	besideBad   [2]int64 // cells of temperature and battery that are no numbers
}

// when is the stamp of the row at hand. Rows often repeat the stamp of the row
// before: it is read once.
type when struct {
	text  []byte // of the stamp; nil before the first
	ok    bool
	zoned bool  // t is the instant, whatever the clock
	plain bool  // t is the instant by the zone's clock; else wall must be resolved
	t     int64 // instant
	wall  int64
}

// cellWords is what a source's cells may hold beside numbers.
type cellWords struct {
	mark  byte             // decimal mark; 0 until it is known
	texts map[string]uint8 // text to code
	codes []numericCode
}

type numericCode struct {
	value float64
	code  uint8
}

// blankWords are what loggers commonly write for no value, in small letters. So are
// cells of no letter and no digit; see empty.
var blankWords = []string{"", "nan", "na", "n/a", "#n/a", "n.a.", "nil", "null", "none", "missing", "no data", "nodata", "no value"}

func newCellWords(src *schemas.Source, mark byte) cellWords {
	w := cellWords{mark: mark, texts: map[string]uint8{}}
	for _, s := range blankWords {
		w.texts[s] = schemas.CodeNone
	}
	add := func(text string, code uint8) {
		text = strings.TrimSpace(text)
		w.texts[text] = code
		if v, ok := decimal.Parse([]byte(text), '.'); ok {
			w.codes = append(w.codes, numericCode{v, code})
		}
	}
	for _, s := range src.Missing {
		add(s, schemas.CodeNone)
	}
	words := make([]string, 0, len(src.FaultCodes))
	for s := range src.FaultCodes {
		words = append(words, s)
	}
	slices.Sort(words)
	for _, s := range words {
		switch src.FaultCodes[s] {
		case "open_circuit":
			add(s, schemas.CodeOpen)
		case "short_circuit":
			add(s, schemas.CodeShort)
		default:
			add(s, schemas.CodeFault)
		}
	}
	return w
}

// kind is what a cell turned out to be.
type kind uint8

const (
	isValue kind = iota
	isBlank      // a code may say why
	isBad
)

// text reads a cell of text.
func (w *cellWords) text(b []byte) (v float64, code uint8, k kind) {
	if v, ok := decimal.Parse(b, w.mark); ok {
		if len(w.codes) > 0 {
			return w.number(v)
		}
		if v == 0 {
			v = 0 // of no sign
		}
		return v, schemas.CodeNone, isValue
	}
	if code, ok := w.texts[string(b)]; ok {
		return 0, code, isBlank
	}
	return w.unusual(b)
}

// number reads a cell that is a number already.
func (w *cellWords) number(v float64) (float64, uint8, kind) {
	for _, c := range w.codes {
		if c.value == v {
			return 0, c.code, isBlank
		}
	}
	switch {
	case math.IsNaN(v):
		return 0, schemas.CodeNone, isBlank
	case math.IsInf(v, 0):
		return 0, schemas.CodeNone, isBad
	case v == 0:
		v = 0 // of no sign
	}
	return v, schemas.CodeNone, isValue
}

// Reasons for rejects, with what to do.
const (
	whyNumber    = "not a number; if the logger writes this for a missing value, add it to missing"
	whyThousands = "a number with its thousands apart, which is not read: a separator misplaced would be a value a thousand times off; export numbers without them"
	whyComma     = "a decimal comma among decimal points; if all numbers of the file have commas, write decimal: comma"
	whyUnit      = "unit %q is not a multiple of %q, which the register gives this probe; mend the register's unit or the export's"
	whyStamp     = "the stamp cannot be read as %s; mend it, or set time_format"
	whyNoHour    = "this hour does not exist in %s, where clocks go forward; if the logger keeps standard time, set timezone to a zone without summer time"
	whyShort     = "the row ends before this column; the export was cut or a separator is missing"
	whyCut       = "the file ends within this row; export it again"
	whyWider     = "the row has more cells than the header; a value may hold the separator or a decimal comma"
	whyNoTime    = "the row ends before its stamp and value; the export was cut or a separator is missing"
	whyLoggers   = "more loggers in one file than can be; is this the column that names them?"
	whyEmpty     = "the row has no stamp"
	whyStranger  = "the register has no probe of this name"
)

// setStamp reads the stamp of a row.
func (s *sheet) setStamp(b []byte) {
	w := &s.when
	if w.text != nil && bytes.Equal(w.text, b) {
		return
	}
	w.text = append(w.text[:0], b...)
	if w.text == nil {
		w.text = []byte{}
	}
	if s.format == nil { // no row near the top has a stamp
		s.setInstant(0, false, false)
		return
	}
	t, zoned, ok := s.format.Parse(b)
	s.setInstant(t, zoned, ok)
}

// setInstant takes a stamp that has been read: an instant, or the wall's reading.
func (s *sheet) setInstant(t int64, zoned, ok bool) {
	w := &s.when
	if o := s.layout.offset; o.known && !zoned {
		t, zoned = t-o.micros, true
	}
	w.ok, w.zoned = ok, zoned
	if zoned {
		w.t, w.plain = t, true
		return
	}
	w.wall, s.walls = t, true
	w.t, w.plain = s.clock.Plain(t)
}

// reached notes the stamp of a reading that is used.
func (s *sheet) reached(t int64) {
	if s.used == 0 {
		s.first, s.last = t, t
	}
	s.used++
	s.first, s.last = min(s.first, t), max(s.last, t)
}

// badStamp words the reason for a stamp that cannot be read.
func (s *sheet) badStamp() string {
	if s.format == nil {
		return whyEmpty
	}
	return fmt.Sprintf(whyStamp, s.format.Layouts())
}

func (s *sheet) noHour() string {
	return fmt.Sprintf(whyNoHour, s.clock.Zone())
}

// beside keeps the row's temperature (k 0) or battery (k 1) for its readings.
func (s *sheet) beside(k int, v float64, what kind) {
	s.block.beside(k, float32(v), what == isValue)
	if what == isBad {
		s.besideBad[k]++
	}
}

// finish closes the ledger of the file.
func (s *sheet) finish() []detect.Stamps {
	f := s.file
	f.Used += s.used
	f.Read += s.used
	if s.used > 0 {
		f.First, f.Last = s.first, s.last
	}
	if s.layout == nil {
		return nil
	}
	f.Columns = s.layout.names
	s.sayAside()
	s.sayKeys()
	s.sayClock()
	if o := s.layout.offset; o.known {
		s.layout.say("stamps at %s, as %q says", offsetName(o.micros), s.layout.names[s.layout.time])
	}
	f.Layout = strings.Join(s.layout.words, "; ")
	for k, n := range s.besideBad {
		if n > 0 {
			s.note("%d cells of %q are not numbers and are left empty", n, s.layout.names[s.layout.side[k]])
		}
	}
	if len(s.ledger.rejects) > singles {
		s.note("more than %d rejects: later ones are summed up by column and reason", singles)
	}
	if s.layout.long {
		return s.finishLong()
	}
	return s.finishWide()
}

func (s *sheet) note(format string, args ...any) {
	s.notes = append(s.notes, s.file.Path+": "+fmt.Sprintf(format, args...))
}
