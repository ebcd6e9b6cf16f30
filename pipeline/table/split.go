package table

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"probeward/schemas"
)

// separators in the order of preference where the header does not decide.
const separators = ",;\t|"

// splitter cuts the text into records. A quote that is never closed would swallow
// the rest of the file: such a record is given back as bad, and reading goes on at
// the line after it.
type splitter struct {
	rest   string // what the current reader was made of
	line   int    // the line at which rest starts
	comma  rune
	csv    *csv.Reader
	broken int
	width  int // cells of the header
}

// maxBroken is how many broken quotes are stepped over: each costs a pass over the
// rest of the file.
const maxBroken = 100

// columnKey is what a header name is compared by.
func columnKey(h string) string {
	h = strings.ToLower(strings.Trim(strings.TrimSpace(h), "\"'\ufeff"))
	return strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return '_'
		}
		return r
	}, strings.TrimSpace(h))
}

// header reads the first line that is not blank, with the separator by which it
// holds most of the table's columns.
func (s *splitter) header(t schemas.Table) (head []string, line int, ok bool) {
	first := ""
	for s.rest != "" {
		var more bool
		first, s.rest, more = strings.Cut(s.rest, "\n")
		line = s.line
		s.line++
		trimmed := strings.TrimSpace(first)
		if trimmed != "" && !strings.HasPrefix(strings.ToLower(trimmed), "sep=") {
			break
		}
		first = ""
		if !more {
			break
		}
	}
	if first == "" {
		return nil, 0, false
	}
	best := -1
	for _, comma := range separators {
		cells := split(first, comma)
		score := 0
		for _, c := range cells {
			if t.Index(columnKey(c)) >= 0 {
				score++
			}
		}
		if score > best {
			best, head, s.comma = score, cells, comma
		}
	}
	s.width = len(head)
	s.restart()
	return head, line, true
}

func split(line string, comma rune) []string {
	r := reader(line, comma)
	r.LazyQuotes = true
	rec, err := r.Read()
	if err != nil {
		return []string{line}
	}
	for i := range rec {
		rec[i] = strings.TrimSpace(rec[i])
	}
	return rec
}

func reader(text string, comma rune) *csv.Reader {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma = comma
	r.FieldsPerRecord = -1
	return r
}

func (s *splitter) restart() { s.csv = reader(s.rest, s.comma) }

// next gives a record and the line on which it starts. rec is nil at the end; bad
// says why a record cannot be used.
func (s *splitter) next() (rec []string, line int, bad string) {
	rec, err := s.csv.Read()
	if err == io.EOF {
		return nil, 0, ""
	}
	var parse *csv.ParseError
	switch {
	case errors.As(err, &parse):
		line, bad = s.line+parse.StartLine-1, "a quote in it is not closed, or stands in the middle of a cell: double it or take it out"
		if errors.Is(parse.Err, csv.ErrQuote) || parse.Line > parse.StartLine {
			return s.skipTo(parse.StartLine, line, bad)
		}
		return []string{s.text(parse.StartLine)}, line, bad
	case err != nil:
		return s.skipTo(1<<30, s.line, "it cannot be read: "+err.Error())
	}
	at, _ := s.csv.FieldPos(0)
	line = s.line + at - 1
	last, _ := s.csv.FieldPos(len(rec) - 1)
	if (last > at || strings.Contains(rec[len(rec)-1], "\n")) && len(rec) != s.width {
		return s.skipTo(at, line, "a quote in it is not closed, and would swallow the lines after it")
	}
	return rec, line, ""
}

// skipTo goes on at the line after the given one (counted in rest, from 1).
func (s *splitter) skipTo(at, line int, bad string) ([]string, int, string) {
	text := s.text(at)
	if s.broken++; s.broken >= maxBroken {
		left := strings.Count(s.rest, "\n") + 2 - at
		s.rest = ""
		s.restart()
		return []string{text}, line, fmt.Sprintf("%s; the file has %d such lines and more: this one and the %d lines from it on were not read", bad, maxBroken, max(1, left))
	}
	for range at {
		_, s.rest, _ = strings.Cut(s.rest, "\n")
	}
	s.line += at
	s.restart()
	return []string{text}, line, bad
}

// text is one line of rest, from 1.
func (s *splitter) text(at int) string {
	rest := s.rest
	for range at - 1 {
		_, rest, _ = strings.Cut(rest, "\n")
		if rest == "" {
			break
		}
	}
	line, _, _ := strings.Cut(rest, "\n")
	return line
}
