package detecttest

import (
	"fmt"
	"math"
	"regexp"
	"strconv"

	"probeward/detectors/detect"
	"probeward/schemas"
)

var termForm = regexp.MustCompile(`^(_|\.|!open|!short|!fault|-?[0-9.]+(?:e-?[0-9]+)?)(?:([+*-])([0-9.]+))?(?:\^([0-9.]+)@([0-9.]+))?(?:x([0-9]+))?(?:~([0-9.]+))?$`)

// swing adds a daily sine of an amplitude that is highest at an hour (UTC).
func swing(amplitude, hour float64, t int64) float64 {
	return amplitude * math.Cos(2*math.Pi*(float64(t%detect.Day)/float64(detect.Day)-hour/24))
}

var codes = map[string]uint8{"!open": schemas.CodeOpen, "!short": schemas.CodeShort, "!fault": schemas.CodeFault}

func (p *parser) term(s *section, text string) error {
	m := termForm.FindStringSubmatch(text)
	if m == nil {
		return fmt.Errorf("%q is no term: see the package comment for the forms", text)
	}
	n := 1
	if m[6] != "" {
		n, _ = strconv.Atoi(m[6])
	}
	v, step, scatter := 0.0, 0.0, 0.0
	if m[1] != "_" && m[1] != "." && m[1][0] != '!' {
		var err error
		if v, err = strconv.ParseFloat(m[1], 64); err != nil {
			return err
		}
	}
	if m[3] != "" {
		step, _ = strconv.ParseFloat(m[3], 64)
	}
	if m[7] != "" {
		scatter, _ = strconv.ParseFloat(m[7], 64)
	}
	amplitude, hour := 0.0, 0.0
	if m[4] != "" {
		amplitude, _ = strconv.ParseFloat(m[4], 64)
		hour, _ = strconv.ParseFloat(m[5], 64)
	}
	for i := 0; i < n; i++ {
		switch {
		case m[1] == ".":
		case m[1] == "_":
			s.series.Blank = append(s.series.Blank, p.next)
		case m[1][0] == '!':
			s.series.Blank = append(s.series.Blank, p.next)
			s.series.Coded = append(s.series.Coded, detect.Coded{Time: p.next, Code: codes[m[1]]})
		default:
			s.series.Time = append(s.series.Time, p.next)
			s.series.Value = append(s.series.Value, v+swing(amplitude, hour, p.next)+scatter*p.scatter())
		}
		switch m[2] {
		case "+":
			v += step
		case "-":
			v -= step
		case "*":
			v *= step
		}
		p.next += p.cadence
	}
	return nil
}

// scatter gives fixed numbers in -1 to 1 without a pattern (SplitMix64).
func (p *parser) scatter() float64 {
	p.counter += 0x9e3779b97f4a7c15
	z := p.counter
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return float64(int64(z^z>>31)>>11) / (1 << 52)
}

// fill gives the readings of one row a temperature or a battery: a number, or one with
// a daily swing. A column that no row fills stays nil: absent.
func fill(column *[]float32, times []int64, from int, text string) error {
	if text == "" && *column == nil {
		return nil
	}
	v, amplitude, hour := math.NaN(), 0.0, 0.0
	if text != "" {
		m := termForm.FindStringSubmatch(text)
		if m == nil || m[3] != "" || m[6] != "" || m[7] != "" {
			return fmt.Errorf("%q: temperature and battery are a number, or one with a daily swing", text)
		}
		var err error
		if v, err = strconv.ParseFloat(m[1], 32); err != nil {
			return err
		}
		if m[4] != "" {
			amplitude, _ = strconv.ParseFloat(m[4], 64)
			hour, _ = strconv.ParseFloat(m[5], 64)
		}
	}
	for len(*column) < from {
		*column = append(*column, float32(math.NaN()))
	}
	for _, t := range times[len(*column):] {
		*column = append(*column, float32(v+swing(amplitude, hour, t)))
	}
	return nil
}
