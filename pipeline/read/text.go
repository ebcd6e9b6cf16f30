package read

import (
	"bytes"
	"errors"
	"io"

	"probeward/pipeline/read/fastcsv"
)

// checkEvery is how many rows are read between looks at the context.
const checkEvery = 1 << 12

// readText reads a file of separated text.
func (s *sheet) readText(src io.Reader) error {
	r := fastcsv.New(src, ',')
	head := r.Peek(headBytes)
	cut := len(head) == headBytes
	if len(head) == 0 && r.Err() != nil {
		return r.Err()
	}
	sep, header, err := s.layText(head)
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
		err = s.longText(r)
	} else {
		err = s.wideText(r)
	}
	return errors.Join(err, r.Err())
}

func at(r *fastcsv.Reader, i int) []byte {
	if i < 0 || i >= r.Len() {
		return nil
	}
	return r.Cell(i)
}

// stampCell is the row's stamp; where day and hour have a column each, both joined,
// until the next call.
func (s *sheet) stampCell(r *fastcsv.Reader) []byte {
	l := s.layout
	if l.date == -1 {
		return at(r, l.time)
	}
	day := l.day
	if l.date >= 0 {
		day = at(r, l.date)
	}
	s.joined = append(append(s.joined[:0], day...), ' ')
	s.joined = append(s.joined, at(r, l.time)...)
	return bytes.TrimSpace(s.joined)
}

// fits says whether a row has no more cells than the header, empty ones aside.
func (s *sheet) fits(r *fastcsv.Reader) bool {
	for i := len(s.layout.names); i < r.Len(); i++ {
		if len(r.Cell(i)) > 0 {
			return false
		}
	}
	return true
}

func (s *sheet) wideText(r *fastcsv.Reader) error {
	l := s.layout
	if l.logger < 0 {
		s.box([]byte(l.fixed))
	}
	for r.Next() {
		if !starts(at(r, l.time)) {
			if skip, err := s.aside(r, s.file.Rows); err != nil {
				return err
			} else if skip {
				continue
			}
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
		case r.Len() <= max(l.time, l.date):
			b.row++
			s.whole(b, line, whyNoTime, at(r, 0))
			continue
		case r.Len() > len(l.names) && !s.fits(r):
			b.row++
			s.whole(b, line, whyWider, at(r, l.time))
			continue
		}
		stampText := s.stampCell(r)
		s.setStamp(stampText)
		s.setSecond(at(r, l.second))
		t, ok := s.begin(b, line, stampText)
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

func (s *sheet) longText(r *fastcsv.Reader) error {
	l := s.layout
	need := max(l.time, l.date, l.probe, l.value) + 1
	byColumn, hasUnit := l.probe >= 0, l.unit >= 0 || l.ofUnit != nil
	rows := s.file.Rows
	defer func() { s.file.Rows = rows }()
	for r.Next() {
		if !starts(at(r, l.time)) {
			if skip, err := s.aside(r, rows); err != nil {
				return err
			} else if skip {
				continue
			}
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
		stampText := s.stampCell(r)
		s.setStamp(stampText)
		s.setSecond(at(r, l.second))
		if !s.when.ok {
			s.ledger.reject(&s.long.lost, rows, line, "", s.badStamp(), stampText, 1, -1)
			continue
		}
		name := l.ofProbe
		if byColumn {
			name = r.Cell(l.probe)
		}
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
		if hasUnit {
			unit := l.ofUnit
			if l.unit >= 0 {
				unit = at(r, l.unit)
			}
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
			v, what := s.sideText(k, at(r, i))
			s.beside(k, v, what)
		}
	}
}
