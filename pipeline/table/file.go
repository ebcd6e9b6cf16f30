package table

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// File is one table as read: the rows that can be used, and what is to be said
// about the rest.
type File struct {
	Name     string // the path as given
	Rows     []Row  // in the order written
	Notes    []Note // sorted by line and column
	Rejected int    // rows that could not be used

	table   schemas.Table
	present []bool // by the table's columns: the header names it
}

// Row is one usable row: every required cell is there and can be read.
type Row struct {
	Line  int // of its first character
	file  *File
	cells []cell
}

type cell struct {
	text   string // trimmed; as written
	number float64
	time   int64 // also integers and booleans
	ok     bool  // number or time holds a value
	unread bool  // something stood there that could not be read
}

// Load reads one table. zone is where stamps without an offset are taken from.
// The error says that the file cannot be opened, or is not this table at all;
// what is wrong with single rows and cells is in Notes.
func Load(path string, t schemas.Table, zone *time.Location) (*File, error) {
	data, err := slurp(path)
	if err != nil {
		return nil, err
	}
	return Parse(path, data, t, zone)
}

// Parse reads one table from memory; name is what notes call the file.
func Parse(name string, data []byte, t schemas.Table, zone *time.Location) (*File, error) {
	f := &File{Name: name, table: t, present: make([]bool, len(t.Columns))}
	text, set := decode(data)
	if set != "" {
		f.say(1, "", Info, "the file is not UTF-8 and was read as "+set+"; save it as UTF-8", "", "")
	}
	lines := splitter{rest: text, line: 1}
	head, at, ok := lines.header(t)
	if !ok {
		return nil, fmt.Errorf("%s: the file is empty: its first line has to name the columns %s", name, required(t))
	}
	places, err := f.columns(head, at)
	if err != nil {
		return nil, err
	}
	commas := make([]int, len(t.Columns))
	for {
		rec, line, bad := lines.next()
		if bad != "" {
			f.reject(line, "", bad, clip(strings.Join(rec, ",")))
			continue
		}
		if rec == nil {
			break
		}
		if !blank(rec) {
			f.row(rec, line, places, head, zone, lines.comma != ',', commas)
		}
	}
	for i, n := range commas {
		if n > 0 {
			f.say(0, t.Columns[i].Name, Info, fmt.Sprintf("%d decimal commas were read as decimal points", n), "", "")
		}
	}
	SortNotes(f.Notes)
	return f, nil
}

// columns finds the place of each of the table's columns in the header.
func (f *File) columns(head []string, line int) ([]int, error) {
	places := make([]int, len(head))
	names := f.table.Header()
	for i, h := range head {
		key := columnKey(h)
		c := f.table.Index(key)
		switch {
		case c >= 0 && f.present[c]:
			f.say(line, key, Warning, "the column stands twice in the header; the first is used", h, "")
			c = -1
		case c >= 0:
			f.present[c] = true
		case key != "":
			if near, ok := Nearest(key, names); ok {
				f.say(line, h, Warning, fmt.Sprintf("the table has no column %q and leaves it; was %s meant?", h, near), h, near)
			} else {
				f.say(line, h, Info, fmt.Sprintf("the table has no column %q and leaves it", h), h, "")
			}
		}
		places[i] = c
	}
	var lacks []string
	for i, c := range f.table.Columns {
		if c.Required && !f.present[i] {
			lacks = append(lacks, c.Name)
		}
	}
	if len(lacks) > 0 {
		return nil, fmt.Errorf("%s:%d: the header lacks %s; a %s table needs %s and has %s", f.Name, line,
			strings.Join(lacks, ", "), f.table.Name, required(f.table), clip(strings.Join(head, ", ")))
	}
	return places, nil
}

// row takes one record, or says why it cannot.
func (f *File) row(rec []string, line int, places []int, head []string, zone *time.Location, commaIsPoint bool, commas []int) {
	for len(rec) > len(head) && strings.TrimSpace(rec[len(rec)-1]) == "" {
		rec = rec[:len(rec)-1]
	}
	if len(rec) > len(head) {
		f.reject(line, "", fmt.Sprintf("the row has %d cells and the header %d: put quotes around a text that holds the separator, and write decimals with a point",
			len(rec), len(head)), clip(strings.Join(rec, ",")))
		return
	}
	r := Row{Line: line, file: f, cells: make([]cell, len(f.table.Columns))}
	usable := true
	for i, text := range rec {
		c := places[i]
		if c < 0 {
			continue
		}
		col := f.table.Columns[c]
		cl, comma, err := readCell(text, col.Type, zone, commaIsPoint)
		if comma {
			commas[c]++
		}
		switch {
		case err != nil && col.Required:
			f.say(line, col.Name, Error, err.Error()+"; the row is left out", clip(text), "")
			usable = false
		case err != nil:
			f.say(line, col.Name, Warning, err.Error()+"; taken as missing", clip(text), "")
			cl = cell{unread: true}
		}
		r.cells[c] = cl
	}
	for c, col := range f.table.Columns {
		if col.Required && r.cells[c].text == "" && f.emptyAt(rec, places, c) {
			f.say(line, col.Name, Error, fmt.Sprintf("%s is empty and needed (%s); the row is left out", col.Name, col.Doc), "", "")
			usable = false
		}
	}
	if !usable {
		f.Rejected++
		return
	}
	f.Rows = append(f.Rows, r)
}

// emptyAt says whether the record holds nothing for the column; a cell that could
// not be read has had its note already.
func (f *File) emptyAt(rec []string, places []int, column int) bool {
	i := slices.Index(places, column)
	return i >= len(rec) || strings.TrimSpace(rec[i]) == "" || absent(strings.TrimSpace(rec[i]), f.table.Columns[column].Type)
}

func (f *File) reject(line int, column, problem, text string) {
	f.Rejected++
	f.say(line, column, Error, problem+"; the row is left out", text, "")
}

func (f *File) say(line int, column string, s Severity, problem, text, suggest string) {
	f.Notes = append(f.Notes, Note{File: f.Name, Line: line, Column: column, Severity: s, Problem: problem, Text: text, Suggest: suggest})
}

// Has says whether the header names the column.
func (f *File) Has(column string) bool {
	i := f.table.Index(column)
	return i >= 0 && f.present[i]
}

// Note makes a note about one cell of the row; column empty: about the row.
func (r Row) Note(column string, s Severity, problem string) Note {
	n := Note{File: r.file.Name, Line: r.Line, Column: column, Severity: s, Problem: problem}
	if column != "" {
		n.Text = clip(r.Text(column))
	}
	return n
}

// Text is the trimmed text of a cell; empty when there is none.
func (r Row) Text(column string) string { return r.cell(column).text }

// Number is a finite number, in the unit that the column declares.
func (r Row) Number(column string) detect.Maybe[float64] {
	c := r.cell(column)
	return detect.Maybe[float64]{V: c.number, OK: c.ok}
}

// Time is an instant.
func (r Row) Time(column string) detect.Maybe[int64] {
	c := r.cell(column)
	return detect.Maybe[int64]{V: c.time, OK: c.ok}
}

// Integer is a whole number.
func (r Row) Integer(column string) detect.Maybe[int64] { return r.Time(column) }

// Boolean is a yes or a no.
func (r Row) Boolean(column string) detect.Maybe[bool] {
	c := r.cell(column)
	return detect.Maybe[bool]{V: c.time == 1, OK: c.ok}
}

// Unread says that something stands in the cell and could not be read, so that the
// cell is not empty by intent.
func (r Row) Unread(column string) bool { return r.cell(column).unread }

func (r Row) cell(column string) cell {
	i := r.file.table.Index(column)
	if i < 0 {
		panic("the table " + r.file.table.Name + " declares no column " + column)
	}
	return r.cells[i]
}

func required(t schemas.Table) string {
	var names []string
	for _, c := range t.Columns {
		if c.Required {
			names = append(names, c.Name)
		}
	}
	return strings.Join(names, ", ")
}

func blank(rec []string) bool {
	for _, c := range rec {
		if strings.TrimSpace(c) != "" {
			return false
		}
	}
	return true
}

// clip keeps a note's text to a length that a page can show.
func clip(s string) string {
	const most = 120
	s = strings.TrimSpace(s)
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
