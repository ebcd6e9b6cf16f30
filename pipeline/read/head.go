package read

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"probeward/pipeline/read/fastcsv"
	"probeward/pipeline/read/stamp"
)

// What the head of a text shows: its separator and header, its time format and its
// decimal mark.

const (
	headBytes   = 64 << 10 // looked at before the layout is settled
	headerLines = 50       // within which a header must stand
	sampleRows  = 500
)

var separators = []byte{',', ';', '\t', '|'}

var separatorNames = map[byte]string{',': "comma", ';': "semicolon", '\t': "tab", '|': "bar"}

// header is where one way to separate the head finds the names of the columns.
type header struct {
	names []string
	line  int             // 0: the configuration names them
	above map[string]bool // rows before it, cells joined
	score int
	first []string // cells of the first row
}

// layText finds the separator and the line of the header, 0 when there is none, and
// lays the columns out.
func (s *sheet) layText(head []byte) (sep byte, line int, err error) {
	if len(bytes.Trim(head, " \t\r\n\v\f\x00")) == 0 {
		return 0, 0, errors.New("the file is empty")
	}
	var best header
	var longest []string
	for _, c := range separators {
		h := s.headerBy(head, c)
		if len(h.first) > len(longest) {
			longest = h.first
		}
		if h.names != nil && (best.names == nil || h.score > best.score) {
			best, sep = h, c
		}
	}
	if best.names == nil {
		return 0, 0, fmt.Errorf("no header in the first %d lines: none has a column %s; the first line is %s; name the column under columns: {time: ...}, or give names; where day and hour have a column each, columns: {date: ..., time: ...}",
			headerLines, wanted(s.source.Columns["time"], timeNames), list(longest))
	}
	var preamble []byte
	rest := head
	for i := 1; i < best.line; i++ {
		n := bytes.IndexByte(rest, '\n')
		if n < 0 {
			break
		}
		preamble, rest = head[:len(head)-len(rest)+n], rest[n+1:]
	}
	s.layout, err = lay(best.names, s.source, s.file.Path, preamble, s.reg)
	if err != nil {
		return 0, 0, err
	}
	s.top.line, s.top.above = best.line, best.above
	s.layout.say("%s-separated", separatorNames[sep])
	if best.line > 1 {
		s.layout.say("header on line %d", best.line)
	}
	return sep, best.line, nil
}

// headerBy looks for the header with one separator.
func (s *sheet) headerBy(head []byte, sep byte) (h header) {
	r := fastcsv.New(bytes.NewReader(head), sep)
	h.above = map[string]bool{}
	if len(s.source.Names) > 0 {
		h.names = s.source.Names
	}
	for n := 0; n < headerLines && r.Next(); n++ {
		if len(s.source.Names) > 0 {
			if r.Len() == len(s.source.Names) {
				h.score++
			}
			continue
		}
		cells := cellsOf(r)
		if n == 0 {
			h.first = cells
		}
		names := columnNames(cells)
		if len(names) > 1 && timeColumn(names, s.source) >= 0 && !keyAndStamp(names) {
			h.names, h.line, h.score = names, r.Line(), len(names)
			return h
		}
		h.above[strings.Join(cells, "\x1f")] = true
	}
	return h
}

// columnNames are the cells of a header without a comment's mark before the first
// and without the empty ones that separators at the line's end make.
func columnNames(cells []string) []string {
	names := append([]string(nil), cells...)
	names[0] = string(uncommented([]byte(names[0])))
	for len(names) > 0 && names[len(names)-1] == "" {
		names = names[:len(names)-1]
	}
	return names
}

var stampLike = regexp.MustCompile(`^(\d{1,4}[-/. ](\d{1,2}|[A-Za-z]{3,9})[-/. ]\d|\d{1,2}:\d{2})`)

// keyAndStamp says whether the row is a line like "Date, 2026-05-02 10:00" above a
// header rather than one.
func keyAndStamp(names []string) bool { return len(names) == 2 && stampLike.MatchString(names[1]) }

// settle finds the time format and the decimal mark, by sample.
func (s *sheet) settle(head []byte, cut bool, sep byte, line int) error {
	if n := bytes.LastIndexByte(head, '\n'); cut && n > 0 {
		head = head[:n+1]
	}
	s.settleDate(head, sep, line)
	guess, numbers, counted := stamp.NewGuess(), marks{}, s.numberColumns()
	other := stamp.NewGuess()
	r := skipTo(bytes.NewReader(head), sep, line)
	rows, seen := 0, 0
	for ; rows < sampleRows && r.Next(); rows++ {
		if cell := s.stampCell(r); digits(cell) {
			guess.Add(cell)
			seen++
		}
		if cell := at(r, s.layout.second); digits(cell) {
			other.Add(cell)
		}
		s.compareKeys(r)
		for i := range min(r.Len(), len(counted)) {
			if counted[i] {
				numbers.add(r.Cell(i))
			}
		}
	}
	if err := s.settleMark(&numbers); err != nil {
		return err
	}
	s.settleSecond(other)
	if s.source.TimeFormat != "" {
		f, err := stamp.Compile(s.source.TimeFormat)
		if err != nil {
			return err
		}
		s.format = f
		s.layout.say("times as %s", s.source.TimeFormat)
		return nil
	}
	if seen == 0 && !cut && rows < sampleRows {
		return nil // each row says that it has no stamp
	}
	if guess.Open() && (cut || rows == sampleRows) {
		if err := s.throughout(sep, line, guess); err != nil {
			return err
		}
	}
	f, err := guess.Format()
	if err != nil {
		return err
	}
	s.format = f
	s.layout.say("times as %s (guessed)", f.Used())
	return nil
}

// skipTo gives a reader behind the header's line.
func skipTo(src *bytes.Reader, sep byte, line int) *fastcsv.Reader {
	r := fastcsv.New(src, sep)
	for r.Line() < line && r.Next() {
	}
	return r
}

var hourAlone = regexp.MustCompile(`^\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?( ?[AaPp][Mm])?$`)

// settleDate decides whether a column of days belongs to the stamps: where all of
// them are hours alone.
func (s *sheet) settleDate(head []byte, sep byte, line int) {
	l := s.layout
	switch {
	case l.date >= 0 && s.source.Columns["date"] != "":
		l.say("stamps from columns %q and %q", l.names[l.date], l.names[l.time])
	case l.date >= 0:
		r := skipTo(bytes.NewReader(head), sep, line)
		seen := false
		for n := 0; n < sampleRows && r.Next(); n++ {
			if cell := at(r, l.time); starts(cell) {
				if seen = hourAlone.Match(cell); !seen {
					break
				}
			}
		}
		if seen {
			l.say("stamps from columns %q and %q", l.names[l.date], l.names[l.time])
		} else {
			l.date = -1
		}
	case s.source.Columns["time"] == "":
		s.hourBeside(skipTo(bytes.NewReader(head), sep, line))
	}
	s.settleDay(head, sep, line)
	l.otherTimes(s.source)
}

// numberColumns says which columns hold numbers that are read.
func (s *sheet) numberColumns() []bool {
	l := s.layout
	counted := make([]bool, len(l.names))
	set := func(i int) {
		if i >= 0 {
			counted[i] = true
		}
	}
	set(l.side[0])
	set(l.side[1])
	if l.long {
		set(l.value)
		return counted
	}
	ports := l.ports
	if l.logger < 0 {
		ports = l.portsOf(l.fixed, s.reg)
	}
	for _, p := range ports {
		set(p.column)
	}
	return counted
}

// settleMark takes the decimal mark from the configuration, else from the numbers.
func (s *sheet) settleMark(numbers *marks) error {
	guessed := ""
	if s.words.mark == 0 {
		mark, err := numbers.mark()
		if err != nil {
			return err
		}
		s.words.mark = mark
		guessed = " (guessed)"
	}
	if s.words.mark == ',' {
		s.layout.say("decimal comma%s", guessed)
	}
	return nil
}

// throughout shows the guess every stamp of the file, until the day is told from
// the month.
func (s *sheet) throughout(sep byte, line int, guess *stamp.Guess) error {
	f, kind, err := s.open(nil)
	if err != nil {
		return err
	}
	defer f.file.Close()
	src, done, err := unpacked(f, kind)
	if err != nil {
		return err
	}
	defer done()
	r := fastcsv.New(src, sep)
	for r.Line() < line && r.Next() {
	}
	var last []byte
	for n := 0; guess.Open() && r.Next(); n++ {
		if n%checkEvery == 0 && s.ctx.Err() != nil {
			return s.ctx.Err()
		}
		if cell := s.stampCell(r); !bytes.Equal(cell, last) && digits(cell) {
			guess.Add(cell)
			last = append(last[:0], cell...)
		}
	}
	return nil
}
