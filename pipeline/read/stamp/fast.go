package stamp

// fast reads a stamp by its tokens: digits at their places and nothing else. What
// it refuses, package time may still read.
func (l *layout) fast(b []byte) (int64, bool) {
	year, month, dayOfMonth := 0, 1, 1
	h, m, s := 0, 0, 0
	half := -1 // of the day: 0 before noon, 1 after
	twelve := false
	var micros, offset int64
	i, n := 0, len(b)
	if l.tokens == nil {
		return 0, false
	}
	for _, t := range l.tokens {
		var v, width int
		switch t.kind {
		case 0:
			if i >= n || b[i] != t.literal {
				return 0, false
			}
			i++
			continue
		case 'Y':
			if n-i < 4 {
				return 0, false
			}
			a, c := pair(b[i], b[i+1]), pair(b[i+2], b[i+3])
			if a < 0 || c < 0 {
				return 0, false
			}
			year = a*100 + c
			i += 4
			continue
		case 'P', 'p':
			small := t.kind - 'P' // what makes a letter a small one
			if n-i < 2 || b[i+1] != 'M'+small || b[i] != 'A'+small && b[i] != 'P'+small {
				return 0, false
			}
			half = 0
			if b[i] == 'P'+small {
				half = 1
			}
			i += 2
			continue
		case 'Z':
			var ok bool
			if offset, i, ok = zone(b, i); !ok {
				return 0, false
			}
			continue
		case 'M', 'D', 'K', 'N', 'S', 'y':
			if n-i < 2 {
				return 0, false
			}
			v, width = pair(b[i], b[i+1]), 2
		default: // one digit or two
			if i >= n || b[i]-'0' > 9 {
				return 0, false
			}
			v, width = int(b[i]-'0'), 1
			if i+1 < n && b[i+1]-'0' <= 9 {
				v, width = v*10+int(b[i+1]-'0'), 2
			}
		}
		if v < 0 {
			return 0, false
		}
		i += width
		switch t.kind {
		case 'y':
			year = 1900 + v
			if v < 69 {
				year = 2000 + v
			}
		case 'M', 'm':
			month = v
		case 'D', 'd':
			dayOfMonth = v
		case 'h':
			h = v
		case 'K', 'k':
			h, twelve = v, true
		case 'N', 'n':
			m = v
		case 'S', 's':
			s = v
			micros, i = fraction(b, i)
		}
	}
	if i != n || month < 1 || month > 12 || dayOfMonth < 1 || dayOfMonth > daysIn(year, month) ||
		h > 24 || m > 59 || s > 59 || twelve && h > 12 || micros < 0 {
		return 0, false
	}
	if h == 24 && (m > 0 || s > 0 || micros > 0 || half >= 0) { // ISO 8601: 24:00 alone, the end of the day
		return 0, false
	}
	// As package time has it: 12 AM is midnight, and an hour beyond twelve stays.
	if half == 1 && h < 12 {
		h += 12
	} else if half == 0 && h == 12 {
		h = 0
	}
	t := int64(daysFromCivil(year, month, dayOfMonth))*day +
		int64(h)*hour + int64(m)*minute + int64(s)*second + micros - offset
	return t, true
}

// pair reads two digits; negative when they are none.
func pair(a, b byte) int {
	a, b = a-'0', b-'0'
	if a > 9 || b > 9 {
		return -1
	}
	return int(a)*10 + int(b)
}

// fraction reads what follows the second, to the microsecond. Commas are left to
// the general path, by a negative answer.
func fraction(b []byte, i int) (int64, int) {
	if i+1 >= len(b) || b[i] != '.' && b[i] != ',' || b[i+1]-'0' > 9 {
		return 0, i
	}
	if b[i] == ',' {
		return -1, i
	}
	i++
	var v int64
	unit := second
	for i < len(b) && b[i]-'0' <= 9 {
		unit /= 10
		v += int64(b[i]-'0') * unit
		i++
	}
	return v, i
}

// zone reads Z or ±hh:mm.
func zone(b []byte, i int) (int64, int, bool) {
	if i < len(b) && b[i] == 'Z' {
		return 0, i + 1, true
	}
	if len(b)-i < 6 || b[i] != '+' && b[i] != '-' || b[i+3] != ':' {
		return 0, i, false
	}
	h, m := pair(b[i+1], b[i+2]), pair(b[i+4], b[i+5])
	if h < 0 || m < 0 || h > 23 || m > 59 {
		return 0, i, false
	}
	offset := int64(h)*hour + int64(m)*minute
	if b[i] == '-' {
		offset = -offset
	}
	return offset, i + 6, true
}

func daysIn(year, month int) int {
	switch month {
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// daysFromCivil counts days since 1970-01-01 in the Gregorian calendar, with years
// that start in March so that the leap day comes last (Hinnant, "chrono-compatible
// low-level date algorithms").
func daysFromCivil(year, month, dayOfMonth int) int {
	if month <= 2 {
		year--
		month += 12
	}
	era := year / 400
	if year < 0 {
		era = (year - 399) / 400
	}
	ofEra := year - era*400
	ofYear := (153*(month-3)+2)/5 + dayOfMonth - 1
	return era*146097 + ofEra*365 + ofEra/4 - ofEra/100 + ofYear - 719468
}
