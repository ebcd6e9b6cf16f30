package read

import (
	"bytes"
	"fmt"
	"strings"

	"probeward/pipeline/read/decimal"
	"probeward/pipeline/read/fastcsv"
)

// Rows that are no readings and cost none: comments, rows of empty cells, the
// header and what stands around it, once more where downloads were joined into one
// file.

// top is what stands at the top of a text, and whatever of it comes again.
type top struct {
	line     int             // of the header that holds; 0: there is none
	rows     int64           // read when that header came
	above    map[string]bool // rows above the first header, cells joined
	comments int
	repeats  int // headers that came again
}

// headerTail is how many lines below a header may hold units and the like.
const headerTail = 3

// aside says whether the row belongs to none of the readings. Called for rows whose
// stamp does not start with a digit. The error says that another table begins.
func (s *sheet) aside(r *fastcsv.Reader, rows int64) (bool, error) {
	if first := r.Cell(0); len(first) > 0 && first[0] == '#' {
		if s.top.line > 0 && s.again(r) {
			s.repeated(r, rows)
			return true, nil
		}
		s.top.comments++
		return true, nil
	}
	empty := true
	for i := 0; i < r.Len() && empty; i++ {
		empty = len(r.Cell(i)) == 0
	}
	if empty {
		return true, nil
	}
	if s.top.line == 0 {
		return false, nil
	}
	if s.again(r) {
		s.repeated(r, rows)
		return true, nil
	}
	if rows == s.top.rows && r.Line() <= s.top.line+headerTail && s.unitsOnly(r) {
		return true, nil
	}
	if len(s.top.above) > 0 && s.top.above[strings.Join(cellsOf(r), "\x1f")] {
		return true, nil
	}
	if digits(at(r, s.layout.time)) {
		return false, nil // a stamp that starts with a month's name, or a bad one
	}
	if cells := cellsOf(r); len(cells) > 1 && timeColumn(cells, s.source) >= 0 && !s.anyNumber(r) {
		return false, fmt.Errorf("line %d: a header with other columns than on line %d: two exports in one file; part them there", r.Line(), s.top.line)
	}
	return false, nil
}

func (s *sheet) repeated(r *fastcsv.Reader, rows int64) {
	s.top.repeats++
	s.top.line, s.top.rows = r.Line(), rows
}

// again says whether the row is the header once more.
func (s *sheet) again(r *fastcsv.Reader) bool {
	names := s.layout.names
	for i := range max(r.Len(), len(names)) {
		switch {
		case i >= len(names):
			if len(r.Cell(i)) > 0 {
				return false
			}
		case i >= r.Len():
			if names[i] != "" {
				return false
			}
		default:
			cell := r.Cell(i)
			if i == 0 {
				cell = uncommented(cell)
			}
			if string(cell) != names[i] && !sameName(readable(cell), names[i]) {
				return false
			}
		}
	}
	return true
}

// unitsOnly says whether the row holds words alone, as below a header.
func (s *sheet) unitsOnly(r *fastcsv.Reader) bool {
	return !digits(at(r, s.layout.time)) && !s.anyNumber(r)
}

func (s *sheet) anyNumber(r *fastcsv.Reader) bool {
	for i := range r.Len() {
		if _, ok := decimal.Parse(r.Cell(i), s.words.mark); ok {
			return true
		}
	}
	return false
}

// sayAside puts into the layout what was passed over.
func (s *sheet) sayAside() {
	if s.top.comments > 0 {
		s.layout.say("%d comment lines", s.top.comments)
	}
	if s.top.repeats > 0 {
		s.layout.say("the header again %d times", s.top.repeats)
	}
}

// uncommented takes the mark of a comment off the first name of a header.
func uncommented(cell []byte) []byte { return bytes.TrimLeft(cell, "# \t") }

func cellsOf(r *fastcsv.Reader) []string {
	cells := make([]string, r.Len())
	for i := range cells {
		cells[i] = strings.TrimSpace(blanks(readable(r.Cell(i))))
	}
	return cells
}

func digits(b []byte) bool { return bytes.ContainsAny(b, "0123456789") }

// starts says whether a digit starts the text, as one starts nearly every stamp.
func starts(b []byte) bool { return len(b) > 0 && b[0]-'0' <= 9 }
