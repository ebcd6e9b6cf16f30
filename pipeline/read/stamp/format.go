package stamp

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"time"
)

const (
	second = int64(1_000_000)
	minute = 60 * second
	hour   = 60 * minute
	day    = 24 * hour
)

// Format reads stamps of one layout, or of a few that differ in the time of day
// alone. It remembers which of them fitted last: one goroutine at a time.
type Format struct {
	layouts []*layout
	last    int
	epoch   int64 // microseconds a tick; 0: not an epoch
	days    bool  // a spreadsheet's day numbers
}

// layout is one layout of package time, with a faster reading of the usual ones.
type layout struct {
	text   string
	zoned  bool
	tokens []token // nil: package time alone reads it
}

type token struct {
	kind    byte // see the letters in tokenize
	literal byte
}

// Layouts names the layouts as a configuration would write them.
func (f *Format) Layouts() string {
	if f.days {
		return "day_number"
	}
	switch f.epoch {
	case second:
		return "epoch"
	case 1000:
		return "epoch_ms"
	case 1:
		return "epoch_us"
	}
	all := make([]string, len(f.layouts))
	for i, l := range f.layouts {
		all[i] = l.text
	}
	return strings.Join(all, " | ")
}

// Zoned says whether the layout that fitted last holds an offset from UTC.
func (f *Format) Zoned() bool { return f.epoch > 0 || !f.days && f.layouts[f.last].zoned }

// Clone gives a Format for another goroutine.
func (f *Format) Clone() *Format { c := *f; return &c }

// Compile reads a layout as package time writes it, or "epoch", "epoch_ms" or
// "epoch_us" for seconds, milliseconds or microseconds since 1970 in UTC, or
// "day_number" for the days and their fractions that spreadsheets count.
func Compile(text string) (*Format, error) {
	switch text {
	case "day_number":
		return &Format{days: true}, nil
	case "epoch":
		return &Format{epoch: second}, nil
	case "epoch_ms":
		return &Format{epoch: 1000}, nil
	case "epoch_us":
		return &Format{epoch: 1}, nil
	}
	l, err := compile(text)
	if err != nil {
		return nil, err
	}
	return &Format{layouts: []*layout{l}}, nil
}

var errNoDate = errors.New(`names no day; write it as the reference time would be written, like "2006-01-02 15:04:05"`)

func compile(text string) (*layout, error) {
	if strings.Contains(text, "MST") {
		return nil, fmt.Errorf("time format %q: a zone's abbreviation is ambiguous; set timezone, or export an offset", text)
	}
	// Two days that differ must be written differently, or no day is in it.
	a, b := time.Date(2006, 1, 2, 3, 4, 5, 0, time.UTC), time.Date(2017, 11, 23, 3, 4, 5, 0, time.UTC)
	if a.Format(text) == b.Format(text) {
		return nil, fmt.Errorf("time format %q %w", text, errNoDate)
	}
	l := &layout{text: text}
	here, there := time.FixedZone("", 3600), time.FixedZone("", 7200)
	l.zoned = strings.HasSuffix(text, " UTC") || strings.HasSuffix(text, " GMT") ||
		a.In(here).Format(text) != time.Date(2006, 1, 2, 4, 4, 5, 0, there).Format(text)
	l.tokens = tokenize(text)
	for _, t := range []time.Time{a, b, time.Date(1999, 12, 31, 23, 59, 58, 0, time.UTC), time.Date(2031, 10, 9, 12, 0, 0, 0, here)} {
		// What cannot be read as package time reads it is left to package time.
		s := []byte(t.Format(text))
		want, err := time.Parse(text, string(s))
		if err != nil {
			return nil, fmt.Errorf("time format %q does not read what it writes: %w", text, err)
		}
		if got, ok := l.fast(s); l.tokens != nil && (!ok || got != want.UnixMicro()) {
			l.tokens = nil
		}
	}
	return l, nil
}

// tokenize cuts a layout into tokens: Y year, y year of two digits, M m month, D d
// day, h hour, K k hour of twelve, N n minute, S s second, P "PM", p "pm", Z offset
// with a colon or Z, and literals; small letters of numbers take one digit or two.
// Nil when the layout holds anything else.
func tokenize(text string) []token {
	known := []struct {
		text string
		kind byte
	}{
		{"2006", 'Y'}, {"01", 'M'}, {"02", 'D'}, {"03", 'K'}, {"04", 'N'}, {"05", 'S'}, {"06", 'y'},
		{"15", 'h'}, {"PM", 'P'}, {"pm", 'p'}, {"Z07:00", 'Z'}, {"1", 'm'}, {"2", 'd'}, {"3", 'k'}, {"4", 'n'}, {"5", 's'},
	}
	var tokens []token
next:
	for len(text) > 0 {
		for _, k := range known {
			if strings.HasPrefix(text, k.text) {
				tokens = append(tokens, token{kind: k.kind})
				text = text[len(k.text):]
				continue next
			}
		}
		switch c := text[0]; c {
		case '-', '/', ':', '.', ' ', ',', ';', 'T', 'U', 'C', 'G', 'M':
			tokens = append(tokens, token{literal: c})
			text = text[1:]
		default:
			return nil
		}
	}
	return tokens
}

// Parse reads a stamp, without spaces around it. zoned: t is an instant, else the
// reading of a wall clock. It reads what time.Parse reads and, beside that, the hour
// 24:00 as the end of its day, and stamps with unusual blanks; see tidy.
func (f *Format) Parse(b []byte) (t int64, zoned, ok bool) {
	if t, zoned, ok = f.parse(b); !ok && len(b) <= longest && odd(b) {
		return f.parse(tidy(b))
	}
	return t, zoned, ok
}

// longest is how many bytes a stamp may have.
const longest = 64

func (f *Format) parse(b []byte) (t int64, zoned, ok bool) {
	if f.days {
		t, ok = parseDayNumber(b)
		return t, false, ok
	}
	if f.epoch > 0 {
		t, ok = parseEpoch(b, f.epoch)
		return t, true, ok
	}
	l := f.layouts[f.last]
	if l.tokens != nil {
		if t, ok = l.fast(b); ok {
			return t, l.zoned, true
		}
	}
	if len(f.layouts) == 1 {
		t, ok = l.general(b)
		return t, l.zoned, ok
	}
	for i, l := range f.layouts {
		if t, ok = l.fast(b); ok {
			f.last = i
			return t, l.zoned, true
		}
	}
	for i, l := range f.layouts {
		if t, ok = l.general(b); ok {
			f.last = i
			return t, l.zoned, true
		}
	}
	return 0, false, false
}

func (l *layout) general(b []byte) (int64, bool) {
	if len(b) == 0 || len(b) > longest || bytes.IndexByte(b, 0) >= 0 {
		return 0, false
	}
	t, err := time.Parse(l.text, string(b))
	if err != nil {
		return 0, false
	}
	return t.UnixMicro(), true
}

// Ten digits of seconds, thirteen of milliseconds and sixteen of microseconds reach
// from 2001 to 2286; fewer or more are more likely something else.
func parseEpoch(b []byte, tick int64) (int64, bool) {
	want := 10
	for k := tick; k < second; k *= 1000 {
		want += 3
	}
	whole, fraction, _ := bytes.Cut(b, []byte{'.'})
	if len(whole) != want && len(whole) != want-1 || len(fraction) > 9 {
		return 0, false
	}
	var v int64
	for _, c := range whole {
		if c-'0' > 9 {
			return 0, false
		}
		v = v*10 + int64(c-'0')
	}
	v *= tick
	unit := tick
	for _, c := range fraction {
		if c-'0' > 9 {
			return 0, false
		}
		unit /= 10
		v += int64(c-'0') * unit
	}
	return v, true
}
