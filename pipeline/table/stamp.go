package table

import (
	"fmt"
	"strings"
	"time"
)

// The forms of a stamp. Go's parser takes a fraction after the seconds unasked.
var (
	offsetForms = []string{
		"2006-01-02T15:04:05Z07:00", "2006-01-02T15:04Z07:00", "2006-01-02T15:04:05Z0700", "2006-01-02T15:04Z0700",
	}
	localForms = []string{"2006-01-02", "2006-01-02T15:04", "2006-01-02T15:04:05"}
)

// ParseTime reads a stamp with an offset (RFC 3339), or a local stamp or plain date
// in zone, year first, with - or / between. A plain date is its midnight there.
// Forms that start with the day or the month are refused: nobody can tell which of
// the two is which.
func ParseTime(text string, zone *time.Location) (time.Time, error) {
	if zone == nil {
		zone = time.UTC
	}
	s := strings.TrimSpace(text)
	if len(s) >= 10 && s[4] == '/' && s[7] == '/' {
		s = s[:4] + "-" + s[5:7] + "-" + s[8:]
	}
	if len(s) > 11 && (s[10] == ' ' || s[10] == 't') {
		s = s[:10] + "T" + strings.Replace(strings.TrimSpace(s[11:]), " ", "", 1)
	}
	if n := len(s); n > 0 && s[n-1] == 'z' {
		s = s[:n-1] + "Z"
	}
	for _, form := range localForms {
		if t, err := time.ParseInLocation(form, s, zone); err == nil {
			return t, nil
		}
	}
	for _, form := range offsetForms {
		if t, err := time.Parse(form, s); err == nil {
			return t, nil
		}
	}
	if yearLast(s) {
		return time.Time{}, fmt.Errorf("%q does not say which number is the day: write the year first, as in 2026-05-31 or 2026-05-31 14:00", clip(text))
	}
	return time.Time{}, fmt.Errorf("%q is no time: write 2026-05-31, 2026-05-31 14:00 or 2026-05-31T14:00:00-07:00", clip(text))
}

// yearLast recognises 5/31/2026, 31.5.26 and the like.
func yearLast(s string) bool {
	if i := strings.IndexAny(s, " T"); i >= 0 {
		s = s[:i]
	}
	parts := strings.FieldsFunc(s, func(r rune) bool { return r == '/' || r == '.' || r == '-' })
	if len(parts) != 3 || len(parts[0]) > 2 {
		return false
	}
	for _, p := range parts {
		if strings.Trim(p, "0123456789") != "" {
			return false
		}
	}
	return true
}
