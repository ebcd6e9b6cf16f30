// Package terminal lays words out for a terminal of 80 columns. No line is wider,
// whatever the names in it: long words are broken, long cells cut in the middle, and
// what would steer a terminal (escapes, line feeds in a name) is shown as a mark.
package terminal

import (
	"fmt"
	"io"
	"strings"
	"unicode"

	"github.com/jedib0t/go-pretty/v6/text"
)

// Width is the widest line, in columns.
const Width = 80

// Clean gives words on one line: blanks for white space, and a mark for whatever a
// terminal would obey instead of showing.
func Clean(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	return strings.Map(func(r rune) rune {
		if r != ' ' && !unicode.IsPrint(r) {
			return '\uFFFD'
		}
		return r
	}, s)
}

// Columns is how many columns the words take; letters of East Asia take two.
func Columns(s string) int { return text.StringWidthWithoutEscSequences(s) }

// Cut shortens a cell to at most width columns. What goes is the middle: names of one
// farm begin alike and differ at their ends.
func Cut(s string, width int) string {
	s = Clean(s)
	if Columns(s) <= width {
		return s
	}
	if width < 3 {
		return take(s, width)
	}
	runes := []rune(s)
	head := take(s, (width-1)/2)
	tail, room := "", width-1-Columns(head)
	for i := len(runes) - 1; i >= 0 && Columns(string(runes[i])+tail) <= room; i-- {
		tail = string(runes[i]) + tail
	}
	return head + "…" + tail
}

// take gives the start of s that fits.
func take(s string, width int) string {
	used := 0
	for i, r := range s {
		if used += Columns(string(r)); used > width {
			return s[:i]
		}
	}
	return s
}

// Pad cuts or fills a cell to exactly width columns.
func Pad(s string, width int) string {
	s = Cut(s, width)
	return s + strings.Repeat(" ", width-Columns(s))
}

// Wrap breaks words into lines of at most width columns; a word that is wider alone
// is broken within.
func Wrap(words string, width int) (lines []string) {
	line := ""
	for _, word := range strings.Fields(Clean(words)) {
		if line != "" && Columns(line)+1+Columns(word) > width {
			lines, line = append(lines, line), ""
		}
		for Columns(word) > width {
			head := take(word, width)
			if head == "" {
				break
			}
			lines, word = append(lines, head), word[len(head):]
		}
		line = strings.TrimSpace(line + " " + word)
	}
	return append(lines, line)
}

// Item writes words behind a head, further lines indented by as much. No line is
// wider than Width.
func Item(w io.Writer, head, words string) {
	indent := Columns(head)
	for i, line := range Wrap(words, Width-indent) {
		if i > 0 {
			head = strings.Repeat(" ", indent)
		}
		fmt.Fprintln(w, strings.TrimRight(head+line, " "))
	}
}
