package read

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"probeward/schemas"
)

// Cells as programs of offices write them: with blanks that do not break, with a
// minus of its own, with other words and marks for no value.

// unusual reads a cell that is neither a plain number nor a word as it stands: words
// in other letters, cells of no letter and no digit, blanks and signs that programs of
// offices put.
func (w *cellWords) unusual(b []byte) (v float64, code uint8, k kind) {
	if empty(b) {
		return 0, schemas.CodeNone, isBlank
	}
	if len(b) <= longestWord {
		var small [longestWord]byte
		for i, c := range b {
			if c-'A' <= 'Z'-'A' {
				c += 'a' - 'A'
			}
			small[i] = c
		}
		if code, ok := w.texts[string(small[:len(b)])]; ok {
			return 0, code, isBlank
		}
	}
	if foreign(b) {
		return w.text(plainly(b))
	}
	return 0, schemas.CodeNone, isBad
}

const longestWord = 12

// empty says whether the cell is made of marks that stand for nothing: ***, --, ?.
func empty(b []byte) bool {
	for _, c := range b {
		if bytes.IndexByte([]byte("*-_?.#~"), c) < 0 {
			return false
		}
	}
	return true
}

// foreign says whether plainly would change the cell.
func foreign(b []byte) bool {
	for i := 0; i < len(b); {
		r, size := utf8.DecodeRune(b[i:])
		if _, changes := plainRune(r, b[i]); changes {
			return true
		}
		i += size
	}
	return false
}

// plainly writes a cell with the blank and the minus of a keyboard, and without the
// blanks around it.
func plainly(b []byte) []byte {
	if !foreign(b) {
		return b
	}
	out := make([]byte, 0, len(b))
	for i := 0; i < len(b); {
		r, size := utf8.DecodeRune(b[i:])
		if c, changes := plainRune(r, b[i]); changes {
			out = append(out, c)
		} else {
			out = append(out, b[i:i+size]...)
		}
		i += size
	}
	return bytes.TrimSpace(out)
}

func plainRune(r rune, first byte) (byte, bool) {
	switch r {
	case '\u00a0', '\u2007', '\u2009', '\u202f', '\ufeff':
		return ' ', true
	case '\u2212', '\u2013', '\u2014':
		return '-', true
	case utf8.RuneError:
		switch first {
		case 0xa0: // as Windows-1252 has them
			return ' ', true
		case 0x96, 0x97:
			return '-', true
		}
	}
	return 0, false
}

// blanks writes a name with the blanks of a keyboard.
func blanks(name string) string {
	return strings.Map(func(r rune) rune {
		if c, changes := plainRune(r, 0); changes && c == ' ' {
			return ' '
		}
		return r
	}, name)
}
