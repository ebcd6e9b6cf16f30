package read

import (
	"bytes"
	"fmt"
	"unicode"
	"unicode/utf8"

	"probeward/pipeline/read/decimal"
	"probeward/schemas"
)

// Numbers that are written as people write them: with a decimal comma, with
// thousands apart, with the unit behind.

// marks gathers what a file's numbers show of its decimal mark. A comma with three
// digits behind it and no more than three before may be either mark, unless a zero
// leads.
type marks struct {
	comma, point int    // numbers in which the mark can only be this
	either       int    // numbers in which a comma may be either
	example      string // of these
}

func (m *marks) add(cell []byte) {
	cell = plainly(cell)
	if number, unit := parted(cell); len(unit) > 0 {
		cell = bytes.TrimSpace(number)
	}
	commas, points := bytes.Count(cell, []byte{','}), bytes.Count(cell, []byte{'.'})
	if commas+points == 0 || !numeric(cell) {
		return
	}
	c, p := bytes.LastIndexByte(cell, ','), bytes.LastIndexByte(cell, '.')
	switch {
	case commas > 0 && points > 0:
		if c > p {
			m.comma++
		} else {
			m.point++
		}
	case commas > 1:
		m.point++
	case points > 1:
		m.comma++
	case points == 1:
		m.point++
	case grouped(cell[:c], cell[c+1:]):
		if m.either++; m.either == 1 {
			m.example = string(cell)
		}
	default:
		m.comma++
	}
}

// grouped says whether what stands before and behind a mark is what stands around a
// mark of thousands.
func grouped(before, behind []byte) bool {
	before = bytes.TrimLeft(before, "+-")
	return len(behind) == 3 && len(before) >= 1 && len(before) <= 3 && before[0] != '0'
}

func numeric(cell []byte) bool {
	for _, c := range cell {
		if c-'0' > 9 && bytes.IndexByte([]byte("+-.,eE"), c) < 0 {
			return false
		}
	}
	return len(cell) > 0 && digits(cell)
}

// mark decides; the error names what to write into the configuration.
func (m *marks) mark() (byte, error) {
	switch {
	case m.point > 0:
		return '.', nil
	case m.comma > 0:
		return ',', nil
	case m.either > 0:
		plain, _ := decimal.Parse([]byte(m.example), ',')
		return 0, fmt.Errorf("numbers like %q can be %v, with a decimal comma, or %.0f, with thousands apart, and none in the file tells which; write decimal: comma or, to have them rejected, decimal: point",
			m.example, plain, 1000*plain)
	}
	return '.', nil
}

// withUnit reads a cell that is no number alone as a number with its unit behind.
func (s *sheet) withUnit(text []byte, probe int) (float64, uint8, kind) {
	number, unit := parted(plainly(text))
	if len(unit) == 0 || probe < 0 {
		return 0, schemas.CodeNone, isBad
	}
	v, ok := decimal.Parse(number, s.words.mark)
	if !ok {
		return 0, schemas.CodeNone, isBad
	}
	v, code, what := s.words.number(v)
	u := s.convert(unit, probe)
	if what == isValue && !u.ok {
		what = isBad
	}
	return v * u.times / max(u.over, 1), code, what
}

// sideUnits are those of temperature_c and battery_v.
var sideUnits = [2]string{"degC", "V"}

// sideText reads a cell of the temperature (k 0) or battery (k 1).
func (s *sheet) sideText(k int, text []byte) (float64, kind) {
	v, _, what := s.words.text(text)
	if what != isBad {
		return v, what
	}
	number, unit := parted(plainly(text))
	if v, ok := decimal.Parse(number, s.words.mark); ok {
		if times, over, ok := conversion(readable(unit), sideUnits[k]); ok && len(unit) > 0 {
			return v * times / over, isValue
		}
	}
	return 0, isBad
}

// parted cuts a text into a number's letters and what follows; the latter is empty
// where it is no word.
func parted(text []byte) (number, unit []byte) {
	i := 0
	for i < len(text) {
		c := text[i]
		exponent := (c == 'e' || c == 'E') && i > 0 && i+1 < len(text) && (text[i+1]-'0' <= 9 || text[i+1] == '-' || text[i+1] == '+')
		if c-'0' > 9 && c != '+' && c != '-' && c != '.' && c != ',' && !exponent {
			break
		}
		i++
	}
	unit = bytes.TrimSpace(text[i:])
	first, _ := utf8.DecodeRune(unit)
	if i == 0 || len(unit) == 0 || !unicode.IsLetter(first) && first != '%' && first != '°' && first != utf8.RuneError {
		return nil, nil
	}
	return text[:i], unit
}

// badNumber words the reason for a cell that is no number.
func (s *sheet) badNumber(text []byte, probe int) string {
	if number, unit := parted(text); len(unit) > 0 && probe >= 0 {
		if _, ok := decimal.Parse(number, s.words.mark); ok {
			if known, _ := unitNamed(readable(unit)); known {
				return fmt.Sprintf(whyUnit, excerpt(unit), s.reg.Probes[probe].Unit)
			}
		}
	}
	switch {
	case thousands(text, s.words.mark):
		return whyThousands
	case numeric(text) && s.words.mark == '.' && bytes.IndexByte(text, ',') >= 0:
		return whyComma
	}
	return whyNumber
}

// thousands says whether the text is a number with its thousands apart.
func thousands(text []byte, mark byte) bool {
	whole, fraction, _ := bytes.Cut(bytes.TrimLeft(text, "+-"), []byte{mark})
	for _, c := range fraction {
		if c-'0' > 9 {
			return false
		}
	}
	groups := 0
	for len(whole) > 0 {
		n := 0
		for n < len(whole) && whole[n]-'0' <= 9 {
			n++
		}
		if groups == 0 && (n < 1 || n > 3) || groups > 0 && n != 3 {
			return false
		}
		groups++
		if whole = whole[n:]; len(whole) == 0 {
			break
		}
		r, size := utf8.DecodeRune(whole)
		switch r {
		case ',', '.', '\'', '’', ' ', '\u00a0', '\u202f', '_':
		default:
			if whole[0] != 0xa0 { // the blank that does not break, in one byte
				return false
			}
		}
		if whole = whole[size:]; len(whole) == 0 {
			return false
		}
	}
	return groups > 1
}
