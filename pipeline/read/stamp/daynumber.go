package stamp

import (
	"bytes"
	"math"
)

// Spreadsheets count days: 1 is the first of January 1900, and a day too many is
// counted, since 29 February 1900 is taken for a day. 25569 is 1970-01-01.
const (
	dayNumber1970 = 25569
	firstDay      = 36526 // 2000-01-01
	lastDay       = 73050 // 2099-12-31
)

// parseDayNumber reads a day number, with the time of day as its fraction. What is
// written to few places stands for the minute or the second that rounds to it; with
// so few that several do, it is not read.
func parseDayNumber(b []byte) (int64, bool) {
	whole, fraction, _ := bytes.Cut(b, []byte{'.'})
	if len(whole) == len(b) {
		whole, fraction, _ = bytes.Cut(b, []byte{','})
	}
	if len(whole) != 5 || len(fraction) > 17 {
		return 0, false
	}
	days, part, power := int64(0), 0.0, 1.0
	for _, c := range whole {
		if c-'0' > 9 {
			return 0, false
		}
		days = days*10 + int64(c-'0')
	}
	for _, c := range fraction {
		if c-'0' > 9 {
			return 0, false
		}
		power *= 10
		part = part*10 + float64(c-'0')
	}
	if days < firstDay || days > lastDay {
		return 0, false
	}
	micros := part / power * float64(day)
	const exact = 500 // microseconds: a float64 of so many days holds no less, some programs a little more
	tolerance := max(float64(day)/power/2, exact)
	of := (days - dayNumber1970) * day
	for _, unit := range []int64{minute, second} {
		near := math.Round(micros/float64(unit)) * float64(unit)
		off := math.Abs(micros - near)
		if off <= exact || off <= tolerance && 2*tolerance < float64(unit) {
			return of + int64(near), true
		}
	}
	return of + int64(math.Round(micros)), tolerance < float64(second)/10
}
