package read

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"probeward/pipeline/read/decimal"
	"probeward/pipeline/read/fastcsv"
	"probeward/pipeline/read/stamp"
)

const (
	headBytes   = 64 << 10 // looked at before the layout is settled
	headerLines = 50       // within which a header must stand
	sampleRows  = 500
	headerTail  = 3       // lines below a header that may hold units and the like
	checkEvery  = 1 << 12 // rows between looks at the context
)

var separators = []byte{',', ';', '\t', '|'}

var separatorNames = map[byte]string{',': "comma", ';': "semicolon", '\t': "tab", '|': "bar"}

// readText reads a file of separated text.
func (s *sheet) readText(src io.Reader) error {
	r := fastcsv.New(src, ',')
	head := r.Peek(headBytes)
	cut := len(head) == headBytes
	sep, header, err := s.layText(head, cut)
	if err != nil {
		return err
	}
	if err := s.settle(head, cut, sep, header); err != nil {
		return err
	}
	r.SetSeparator(sep)
	for r.Line() < header && r.Next() {
	}
	if s.layout.long {
		s.startLong()
		err = s.longText(r, header)
	} else {
		err = s.wideText(r, header)
	}
	return errors.Join(err, r.Err())
}

// layText finds the separator and the line of the header, 0 when there is none, and
// lays the columns out.
func (s *sheet) layText(head []byte, cut bool) (sep byte, header int, err error) {
	if len(bytes.TrimSpace(head)) == 0 {
		return 0, 0, errors.New("the file is empty")
	}
	var names, longest []string
	best := -1
	for _, c := range separators {
		r := fastcsv.New(bytes.NewReader(head), c)
		score := 0
		var found []string
		line := 0
		for n := 0; n < headerLines && r.Next(); n++ {
			cells := make([]string, r.Len())
			for i := range cells {
				cells[i] = readable(r.Cell(i))
			}
			if len(s.source.Names) > 0 {
				if len(cells) == len(s.source.Names) {
					score++
				}
				continue
			}
			if n == 0 && len(cells) > len(longest) {
				longest = cells
			}
			if timeColumn(cells, s.source) >= 0 {
				found, line, score = cells, r.Line(), len(cells)
				break
			}
		}
		if len(s.source.Names) > 0 {
			found = s.source.Names
		}
		if found != nil && score > best {
			best, sep, header, names = score, c, line, found
		}
	}
	if names == nil {
		return 0, 0, fmt.Errorf("no header in the first %d lines: none has a column %s; the first line is %s; name the column under columns: {time: ...}, or give names",
			headerLines, wanted(s.source.Columns["time"], timeNames), list(longest))
	}
	var preamble []byte
	rest := head
	for i := 1; i < header; i++ {
		n := bytes.IndexByte(rest, '\n')
		if n < 0 {
			break
		}
		preamble, rest = head[:len(head)-len(rest)+n], rest[n+1:]
	}
	s.layout, err = lay(names, s.source, s.file.Path, preamble, s.reg)
	if err != nil {
		return 0, 0, err
	}
	s.layout.say("%s-separated", separatorNames[sep])
	if header > 1 {
		s.layout.say("header on line %d", header)
	}
	return sep, header, nil
}

// settle finds the time format and the decimal mark, by sample.
func (s *sheet) settle(head []byte, cut bool, sep byte, header int) error {
	guess := stamp.NewGuess()
	commas, points := 0, 0
	sample := func(r *fastcsv.Reader, rows int) {
		for r.Line() < header && r.Next() {
		}
		for n := 0; n < rows && r.Next(); n++ {
			if cell := at(r, s.layout.time); digits(cell) {
				guess.Add(cell)
			}
			for i := range r.Len() {
				if i == s.layout.time {
					continue
				}
				cell := r.Cell(i)
				if _, ok := decimal.Parse(cell, ','); ok && bytes.IndexByte(cell, ',') >= 0 {
					commas++
				} else if _, ok := decimal.Parse(cell, '.'); ok && bytes.IndexByte(cell, '.') >= 0 {
					points++
				}
			}
		}
	}
	if n := bytes.LastIndexByte(head, '\n'); cut && n > 0 {
		head = head[:n+1]
	}
	sample(fastcsv.New(bytes.NewReader(head), sep), sampleRows)
	if sep != ',' && commas > 0 && points == 0 {
		s.words.mark = ','
		s.layout.say("decimal comma (guessed)")
	}
	if s.source.TimeFormat != "" {
		f, err := stamp.Compile(s.source.TimeFormat)
		if err != nil {
			return err
		}
		s.format = f
		s.layout.say("times as %s", s.source.TimeFormat)
	} else {
		if guess.Open() && cut {
			if err := s.throughout(sep, header, guess); err != nil {
				return err
			}
		}
		f, err := guess.Format()
		if err != nil {
			return err
		}
		s.format = f
		s.layout.say("times as %s (guessed)", f.Used())
	}
	if !s.format.Zoned() {
		s.layout.say("in %s", s.clock.Zone())
	}
	return nil
}

// throughout shows the guess every stamp of the file, until the day is told from
// the month.
func (s *sheet) throughout(sep byte, header int, guess *stamp.Guess) error {
	f, err := openRaw(s.disk, nil)
	if err != nil {
		return err
	}
	defer f.file.Close()
	src, done, err := unpacked(f, form(s.disk))
	if err != nil {
		return err
	}
	defer done()
	r := fastcsv.New(src, sep)
	for r.Line() < header && r.Next() {
	}
	var last []byte
	for n := 0; guess.Open() && r.Next(); n++ {
		if n%checkEvery == 0 && s.ctx.Err() != nil {
			return s.ctx.Err()
		}
		if cell := at(r, s.layout.time); !bytes.Equal(cell, last) && digits(cell) {
			guess.Add(cell)
			last = append(last[:0], cell...)
		}
	}
	return nil
}

func at(r *fastcsv.Reader, i int) []byte {
	if i < 0 || i >= r.Len() {
		return nil
	}
	return r.Cell(i)
}

func digits(b []byte) bool { return bytes.ContainsAny(b, "0123456789") }

// fits says whether a row has no more cells than the header, empty ones aside.
func (s *sheet) fits(r *fastcsv.Reader) bool {
	for i := len(s.layout.names); i < r.Len(); i++ {
		if len(r.Cell(i)) > 0 {
			return false
		}
	}
	return true
}

// belowHeader says whether the row belongs to the header: units and the like.
func (s *sheet) belowHeader(r *fastcsv.Reader, header int) bool {
	if header == 0 || s.file.Rows > 0 || r.Line() > header+headerTail || digits(at(r, s.layout.time)) {
		return false
	}
	for i := range r.Len() {
		if _, ok := decimal.Parse(r.Cell(i), s.words.mark); ok {
			return false
		}
	}
	return true
}

func (s *sheet) wideText(r *fastcsv.Reader, header int) error {
	l := s.layout
	if l.logger < 0 {
		s.box([]byte(l.fixed))
	}
	for r.Next() {
		if s.belowHeader(r, header) {
			continue
		}
		if s.file.Rows%checkEvery == 0 && s.ctx.Err() != nil {
			return s.ctx.Err()
		}
		s.file.Rows++
		line := r.Line()
		b := s.wide.last
		if l.logger >= 0 {
			if b = s.box(at(r, l.logger)); b == nil {
				s.ledger.reject(&s.wide.strange, 0, line, l.names[l.logger], whyLoggers, at(r, l.logger), int64(len(l.ports)), -1)
				continue
			}
		}
		short := r.Len() < len(l.names)
		switch {
		case short && r.Unended():
			b.row++
			s.whole(b, line, whyCut, at(r, l.time))
			continue
		case r.Len() <= l.time:
			b.row++
			s.whole(b, line, whyNoTime, at(r, 0))
			continue
		case r.Len() > len(l.names) && !s.fits(r):
			b.row++
			s.whole(b, line, whyWider, at(r, l.time))
			continue
		}
		stampText := r.Cell(l.time)
		s.setStamp(stampText)
		t, ok := s.open(b, line, stampText)
		if !ok {
			continue
		}
		s.besideText(r)
		for i := range b.slots {
			sl := &b.slots[i]
			if short && sl.column >= r.Len() {
				s.lacking(b, sl, t, line)
				continue
			}
			text := r.Cell(sl.column)
			v, code, what := s.words.text(text)
			s.cell(b, sl, t, line, v, code, what, text)
		}
	}
	return nil
}

func (s *sheet) longText(r *fastcsv.Reader, header int) error {
	l := s.layout
	need := max(l.time, l.probe, l.value) + 1
	rows := s.file.Rows
	defer func() { s.file.Rows = rows }()
	for r.Next() {
		if rows == 0 && s.belowHeader(r, header) {
			continue
		}
		if rows%checkEvery == 0 && s.ctx.Err() != nil {
			return s.ctx.Err()
		}
		rows++
		line := r.Line()
		if n := r.Len(); n != len(l.names) {
			why := ""
			switch {
			case n < len(l.names) && r.Unended():
				why = whyCut
			case n < need:
				why = whyNoTime
			case n > len(l.names) && !s.fits(r):
				why = whyWider
			}
			if why != "" {
				s.ledger.reject(&s.long.lost, rows, line, "", why, at(r, 0), 1, -1)
				continue
			}
		}
		stampText := r.Cell(l.time)
		s.setStamp(stampText)
		if !s.when.ok {
			s.ledger.reject(&s.long.lost, rows, line, "", s.badStamp(), stampText, 1, -1)
			continue
		}
		name := r.Cell(l.probe)
		probe := s.probeOf(name)
		if probe < 0 {
			s.stranger(name, line)
			continue
		}
		t, ok := s.instant(probe)
		if !ok {
			s.ledger.reject(&s.long.lost, rows, line, "", s.noHour(), stampText, 1, probe)
			continue
		}
		text := r.Cell(l.value)
		v, code, what := s.words.text(text)
		if l.unit >= 0 {
			unit := at(r, l.unit)
			u := s.convert(unit, probe)
			if !u.ok {
				s.wrongUnit(unit, probe, line)
				continue
			}
			v = v * u.times / u.over
		}
		s.besideText(r)
		s.reading(probe, t, line, v, code, what, text)
	}
	return nil
}

// besideText reads the row's temperature and battery.
func (s *sheet) besideText(r *fastcsv.Reader) {
	for k, i := range s.layout.side {
		if i >= 0 {
			v, _, what := s.words.text(at(r, i))
			s.beside(k, v, what)
		}
	}
}
