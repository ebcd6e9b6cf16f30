// Package decimal reads decimal numbers out of text as fast as loggers write them,
// to the same bits as strconv.ParseFloat.
package decimal

import (
	"bytes"
	"math"
	"strconv"
)

// A mantissa below 2^53 and a power of ten up to 10^22 are both exact in a float64,
// so that one division rounds once and rightly (Clinger 1990, the fast path).
const (
	exactMantissa = 1 << 53
	exactPower    = 22
)

var powers = [exactPower + 1]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// Parse reads a whole cell as a finite decimal number with the given decimal mark
// ('.' or ','): a sign, digits, and an exponent if there is one. Anything else, and
// what no finite float64 holds, is not a number.
func Parse(b []byte, mark byte) (float64, bool) {
	i, n := 0, len(b)
	negative := false
	if n > 0 && (b[0] == '-' || b[0] == '+') {
		negative = b[0] == '-'
		i++
	}
	start := i
	var mantissa uint64
	for i < n && b[i]-'0' <= 9 {
		mantissa = mantissa*10 + uint64(b[i]-'0')
		i++
	}
	digits := i - start
	places := 0
	if i < n && b[i] == mark {
		i++
		fraction := i
		for i < n && b[i]-'0' <= 9 {
			mantissa = mantissa*10 + uint64(b[i]-'0')
			i++
		}
		places = i - fraction
		digits += places
	}
	if digits == 0 {
		return 0, false
	}
	// 19 digits cannot overflow a uint64.
	if i == n && digits <= 19 && mantissa < exactMantissa && places <= exactPower {
		v := float64(mantissa) / powers[places]
		if negative {
			v = -v
		}
		return v, true
	}
	return general(b, mark)
}

// general leaves long mantissas and exponents to strconv, without the words and
// other bases that it would take too.
func general(b []byte, mark byte) (float64, bool) {
	for _, c := range b {
		switch {
		case c-'0' <= 9, c == '-', c == '+', c == 'e', c == 'E', c == mark:
		default:
			return 0, false
		}
	}
	if mark != '.' {
		b = bytes.Replace(b, []byte{mark}, []byte{'.'}, 1)
	}
	v, err := strconv.ParseFloat(string(b), 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, false
	}
	return v, true
}
