package table

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"probeward/schemas"
)

// absent says whether a cell holds a word that statistics programs write for
// nothing. It never holds for text, where NA may be a name.
func absent(text string, t schemas.Type) bool {
	if t == schemas.Text {
		return false
	}
	switch strings.ToLower(text) {
	case "na", "n/a", "nan", "null", "none", "-":
		return true
	}
	return false
}

var (
	decimalComma = regexp.MustCompile(`^[+-]?[0-9]+,[0-9]+$`)
	truths       = map[string]int64{
		"true": 1, "yes": 1, "y": 1, "t": 1, "1": 1,
		"false": 0, "no": 0, "n": 0, "f": 0, "0": 0,
	}
)

// readCell reads one cell; the second result says that a decimal comma was read as
// a point.
func readCell(text string, t schemas.Type, zone *time.Location, commaIsPoint bool) (cell, bool, error) {
	text = strings.TrimSpace(text)
	if text == "" || absent(text, t) {
		return cell{}, false, nil
	}
	c, comma := cell{text: text}, false
	switch t {
	case schemas.Number:
		if commaIsPoint && decimalComma.MatchString(text) {
			text, comma = strings.Replace(text, ",", ".", 1), true
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
			return cell{}, false, fmt.Errorf("%q is no number: write it with a decimal point and no unit", clip(text))
		}
		c.number, c.ok = v, true
	case schemas.Integer:
		v, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			// A spreadsheet writes whole numbers as 22.0 at times.
			f, ferr := strconv.ParseFloat(text, 64)
			if ferr != nil || f != math.Trunc(f) || math.Abs(f) > 1<<53 {
				return cell{}, false, fmt.Errorf("%q is no whole number", clip(text))
			}
			v = int64(f)
		}
		c.time, c.ok = v, true
	case schemas.Boolean:
		v, known := truths[strings.ToLower(text)]
		if !known {
			return cell{}, false, fmt.Errorf("%q is neither true nor false", clip(text))
		}
		c.time, c.ok = v, true
	case schemas.Time:
		v, err := ParseTime(text, zone)
		if err != nil {
			return cell{}, false, err
		}
		c.time, c.ok = v.UnixMicro(), true
	}
	return c, comma, nil
}
