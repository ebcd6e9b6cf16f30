package stamp

import (
	"bytes"
	"unicode/utf8"
)

// odd says whether a text holds what tidy takes out: few do.
func odd(b []byte) bool {
	for i, c := range b {
		if c >= utf8.RuneSelf || c == ' ' && i > 0 && b[i-1] == ' ' || c == '.' && i > 0 && (b[i-1] == 'm' || b[i-1] == 'M') {
			return true
		}
	}
	return false
}

// tidy writes a stamp with plain blanks, one at a time, where programs of offices
// and browsers put others; without the marks of the direction of writing; and with
// "AM" for "a.m.".
func tidy(b []byte) []byte {
	out := make([]byte, 0, len(b))
	for i := 0; i < len(b); {
		r, size := utf8.DecodeRune(b[i:])
		c := b[i]
		switch {
		case r == utf8.RuneError && c == 0xa0, // of Windows-1252
			r == '\u00a0', r == '\u2007', r == '\u2009', r == '\u202f', r == '\t':
			c = ' '
		case r == '\u200e', r == '\u200f', r == '\ufeff':
			i += size
			continue
		case r == '\u2212':
			c = '-'
		case size > 1:
			out = append(out, b[i:i+size]...)
			i += size
			continue
		}
		i += size
		if c != ' ' || len(out) > 0 && out[len(out)-1] != ' ' {
			out = append(out, c)
		}
	}
	out = bytes.TrimRight(out, " ")
	for _, long := range []string{"a.m.", "p.m.", "a. m.", "p. m."} {
		if n := len(out) - len(long); n >= 0 && bytes.EqualFold(out[n:], []byte(long)) {
			return append(out[:n], long[0]-'a'+'A', 'M')
		}
	}
	return out
}
