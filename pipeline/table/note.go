package table

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
)

// Severity of a note.
type Severity string

// The severities: an error cost a row, a warning cost a cell or leaves a doubt, and
// an info says what was taken for granted.
const (
	Error   Severity = "error"
	Warning Severity = "warning"
	Info    Severity = "info"
)

// Note is one thing that a table's reader has to say to the people who keep it.
type Note struct {
	File     string
	Line     int    // from 1; 0: the file as a whole
	Column   string // the table's column; empty: the whole row
	Severity Severity
	Subject  string // probe, logger or zone; empty when it is about none
	Name     string // of the subject
	Problem  string // lower case, with the remedy
	Text     string // what stood there
	Suggest  string // what should stand there instead; empty when nothing is known
}

// SortNotes puts notes in the order in which a person mends a file.
func SortNotes(notes []Note) {
	slices.SortStableFunc(notes, func(a, b Note) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// String writes a note as file:line: column: problem.
func (n Note) String() string {
	var b strings.Builder
	b.WriteString(filepath.Base(n.File))
	if n.Line > 0 {
		fmt.Fprintf(&b, ":%d", n.Line)
	}
	if n.Column != "" {
		b.WriteString(": " + n.Column)
	}
	b.WriteString(": " + n.Problem)
	if n.Text != "" {
		fmt.Fprintf(&b, " (%q)", n.Text)
	}
	if n.Suggest != "" {
		b.WriteString("; " + n.Suggest)
	}
	return b.String()
}
