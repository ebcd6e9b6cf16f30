package read

import (
	"errors"
	"fmt"

	"github.com/parquet-go/parquet-go"

	"probeward/pipeline/read/stamp"
	"probeward/schemas"
)

// parquetTable is an open Parquet file.
type parquetTable struct {
	file    *parquet.File
	leaves  []*parquet.Column
	cursors []*cursor // by column; nil where the column is not needed
}

// layParquet opens a file and finds its layout. Stamps are whole there: no column
// holds their day alone.
func (s *sheet) layParquet(f handle) (t parquetTable, err error) {
	info, err := f.Stat()
	if err != nil {
		return t, err
	}
	if t.file, err = openParquet(f, info.Size()); err != nil {
		return t, err
	}
	t.leaves = t.file.Root().Columns()
	names := make([]string, len(t.leaves))
	for i, c := range t.leaves {
		names[i] = c.Name()
	}
	if s.layout, err = lay(names, s.source, s.file.Path, nil, s.reg); err != nil {
		return t, err
	}
	s.layout.date = -1
	return t, nil
}

// readParquet reads a Parquet file by its column pages.
func (s *sheet) readParquet(f handle) error {
	t, err := s.layParquet(f)
	if err != nil {
		return err
	}
	s.layout.say("Parquet")
	if s.words.mark == 0 {
		s.words.mark = '.'
	}
	if err := s.openColumns(&t); err != nil {
		return err
	}
	defer t.close()
	if err := t.codecs(); err != nil {
		return err
	}
	if t.file.NumRows() == 0 {
		return nil
	}
	if err := s.settleParquet(&t); err != nil {
		return err
	}
	if s.layout.long {
		s.startLong()
	} else if s.layout.logger < 0 {
		s.box([]byte(s.layout.fixed))
	}
	return t.each(s, func(n int) error {
		if s.layout.long {
			s.longRows(&t, n)
			return nil
		}
		s.wideRows(&t, n)
		return nil
	})
}

// guarded calls f; the decoder may panic over damaged files, and one bad file must
// not end the run. Nothing of ours is called within that could.
func guarded(f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("damaged: its decoder stopped with: %v", p)
		}
	}()
	return f()
}

func (t *parquetTable) close() {
	for _, c := range t.cursors {
		if c != nil {
			c.close()
		}
	}
}

// each goes through the file in stretches of rows that all needed columns have at
// hand, and counts them.
func (t *parquetTable) each(s *sheet, rows func(n int) error) error {
	for _, group := range t.file.RowGroups() {
		left := int(group.NumRows())
		if err := t.start(group); err != nil {
			return err
		}
		for left > 0 {
			if err := s.ctx.Err(); err != nil {
				return err
			}
			n, err := t.ready(left)
			if err != nil {
				return err
			}
			if err := rows(n); err != nil {
				return err
			}
			left -= n
			for _, c := range t.cursors {
				if c != nil {
					c.at += n
				}
			}
		}
	}
	return nil
}

func (t *parquetTable) start(group parquet.RowGroup) error {
	return guarded(func() error {
		for _, c := range t.cursors {
			if c != nil {
				if err := c.start(group); err != nil {
					return err
				}
			}
		}
		return nil
	})
}

func (t *parquetTable) ready(n int) (int, error) {
	err := guarded(func() error {
		for _, c := range t.cursors {
			if c == nil {
				continue
			}
			have, err := c.ready()
			if err != nil {
				return err
			}
			n = min(n, have)
		}
		return nil
	})
	return n, err
}

// settleParquet finds out what the stamps are.
func (s *sheet) settleParquet(t *parquetTable) error {
	s.parquetSecond(t)
	c := t.cursors[s.layout.time]
	kind := c.leaf.Type().Kind()
	switch {
	case c.nanos > 0 && c.zoned:
		s.layout.say("stamps in UTC by their type")
		return nil
	case c.nanos > 0 || c.day:
		return nil
	case kind != parquet.ByteArray && kind != parquet.Int64 && kind != parquet.Int32:
		return fmt.Errorf("the time column %q is neither a timestamp, text nor an integer", c.leaf.Name())
	}
	if s.source.TimeFormat != "" {
		f, err := stamp.Compile(s.source.TimeFormat)
		if err != nil {
			return err
		}
		s.format = f
		s.layout.say("times as %s", s.source.TimeFormat)
		return nil
	}
	guess, seen, err := s.sample(t, s.layout.time)
	if err != nil {
		return err
	}
	if seen == 0 {
		return errors.New("no row has a stamp")
	}
	if s.format, err = guess.Format(); err != nil {
		return err
	}
	s.layout.say("times as %s (guessed)", s.format.Used())
	return nil
}

// sample shows a guess the stamps of a column, until it knows.
func (s *sheet) sample(t *parquetTable, place int) (guess *stamp.Guess, seen int, err error) {
	guess = stamp.NewGuess()
	c := t.cursors[place]
	alone := parquetTable{file: t.file, leaves: t.leaves, cursors: make([]*cursor, len(t.cursors))}
	alone.cursors[place] = c
	err = alone.each(s, func(n int) error {
		for i := range n {
			if cell := c.text(i); digits(cell) {
				guess.Add(cell)
				seen++
			}
			if seen >= sampleRows && !guess.Open() {
				return errEnough
			}
		}
		return nil
	})
	if errors.Is(err, errEnough) {
		err = nil
	}
	return guess, seen, err
}

var errEnough = errors.New("enough")

// parquetSecond settles how the other clock is written.
func (s *sheet) parquetSecond(t *parquetTable) {
	l := s.layout
	if l.second < 0 {
		return
	}
	if c := t.cursors[l.second]; c.nanos > 0 {
		l.say("compared with the other clock, %q", l.names[l.second])
		return
	}
	guess, _, err := s.sample(t, l.second)
	if err != nil {
		l.second = -1
		return
	}
	s.settleSecond(guess)
}

// rowStamp reads the stamp of row i of the stretch, and gives its text where it is
// text.
func (s *sheet) rowStamp(c *cursor, i int) []byte {
	if s.format != nil {
		text := c.text(i)
		s.setStamp(text)
		return text
	}
	t, ok := c.stamp(i)
	s.setInstant(t, c.zoned, ok)
	return nil
}

func (s *sheet) longRows(t *parquetTable, n int) {
	l := s.layout
	for i := range n {
		s.file.Rows++
		line := int(s.file.Rows)
		text := s.rowStamp(t.cursors[l.time], i)
		s.rowSecond(t, i)
		if !s.when.ok {
			s.ledger.reject(&s.long.lost, s.file.Rows, line, "", s.badStamp(), text, 1, -1)
			continue
		}
		probe := s.parquetProbe(t, i)
		if probe < 0 {
			s.stranger(s.parquetName(t, i), line)
			continue
		}
		at, ok := s.instant(probe)
		if !ok {
			s.ledger.reject(&s.long.lost, s.file.Rows, line, "", s.noHour(), text, 1, probe)
			continue
		}
		v, code, what := t.cursors[l.value].number(i, &s.words)
		if l.unit >= 0 || l.ofUnit != nil {
			unit := l.ofUnit
			if l.unit >= 0 {
				unit = t.cursors[l.unit].text(i)
			}
			u := s.convert(unit, probe)
			if !u.ok {
				s.wrongUnit(unit, probe, line)
				continue
			}
			v = v * u.times / u.over
		}
		s.besideRow(t, i)
		var bad []byte
		if what == isBad {
			bad = t.cursors[l.value].text(i)
		}
		s.reading(probe, at, line, v, code, what, bad)
	}
}

// rowProbe finds the probe of row i, once for each entry of the dictionary.
func (s *sheet) rowProbe(c *cursor, i int) int {
	ids := c.page.ids
	if ids == nil || c.page.there != nil {
		return s.probeOf(c.text(i))
	}
	for len(c.probes) < c.table.n {
		c.probes = append(c.probes, -2)
	}
	p := &c.probes[ids[c.at+i]]
	if *p == -2 {
		*p = int32(s.probeOf(c.text(i)))
	}
	return int(*p)
}

func (s *sheet) wideRows(t *parquetTable, n int) {
	l := s.layout
	for i := range n {
		s.file.Rows++
		line := int(s.file.Rows)
		b := s.wide.last
		if l.logger >= 0 {
			name := t.cursors[l.logger].text(i)
			if b = s.box(name); b == nil {
				s.ledger.reject(&s.wide.strange, 0, line, l.names[l.logger], whyLoggers, name, int64(len(l.ports)), -1)
				continue
			}
		}
		text := s.rowStamp(t.cursors[l.time], i)
		s.rowSecond(t, i)
		at, ok := s.begin(b, line, text)
		if !ok {
			continue
		}
		s.besideRow(t, i)
		for k := range b.slots {
			sl := &b.slots[k]
			c := t.cursors[sl.column]
			if c == nil {
				s.cell(b, sl, at, line, 0, schemas.CodeNone, isBad, nil)
				continue
			}
			v, code, what := c.number(i, &s.words)
			var bad []byte
			if what == isBad {
				bad = c.text(i)
			}
			s.cell(b, sl, at, line, v, code, what, bad)
		}
	}
}

// besideRow reads the row's temperature and battery.
func (s *sheet) besideRow(t *parquetTable, i int) {
	for k, at := range s.layout.side {
		if at >= 0 {
			v, _, what := t.cursors[at].number(i, &s.words)
			s.beside(k, v, what)
		}
	}
}
