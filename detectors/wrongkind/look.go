package wrongkind

import (
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// look is one look at the newest values of a series.
type look struct {
	p    *detect.Pass
	t    []int64
	v    []float64
	from int // the first judged

	low, high              float64 // 5 and 95 % of the foreign values
	quarter, threeQuarters float64
	middle                 float64
	step                   float64 // median step from reading to reading
	distinct               int     // up to many
	moved                  int     // days with more than one value
}

// many distinct values are enough to stop counting.
const many = 64

func newLook(p *detect.Pass, from int) *look {
	return &look{p: p, t: p.Time(), v: p.Value(), from: from}
}

// measure takes what the values from a place on do.
func (l *look) measure(from int) {
	l.distinct, l.moved = 0, 0
	v := l.v[from:]
	scratch := make([]float64, len(v))
	at := func(q float64) float64 { return robust.Quantile(v, scratch, q) }
	l.low, l.quarter, l.middle, l.threeQuarters, l.high = at(0.05), at(0.25), at(0.5), at(0.75), at(0.95)
	steps := make([]float64, 0, len(v))
	var seen [many]float64
	day, of := int64(math.MinInt64), false
	for i := range v {
		if i > 0 {
			steps = append(steps, math.Abs(v[i]-v[i-1]))
		}
		k := 0
		for k < l.distinct && seen[k] != v[i] {
			k++
		}
		if k == l.distinct && l.distinct < many {
			seen[k] = v[i]
			l.distinct++
		}
		if d := (l.t[from+i] - l.t[from]) / detect.Day; d != day {
			day, of = d, false
		} else if v[i] != v[i-1] && !of {
			of = true
			l.moved++
		}
	}
	if len(steps) > 0 {
		l.step = robust.Median(steps, scratch)
	}
}

// foreign holds the series against one rule.
func (l *look) foreign(r rule) (detect.Finding, bool) {
	p := l.p
	in := func(v float64) bool { return v >= r.low && v < r.high }
	n := 0
	for _, v := range l.v[l.from:] {
		if in(v) {
			n++
		}
	}
	share := float64(n) / float64(len(l.v)-l.from)
	if share < p.Param("share") {
		return detect.Finding{}, false
	}
	from := l.from
	for from > 0 && (in(l.v[from-1]) || from > 1 && in(l.v[from-2])) {
		from--
	}
	if from > 0 && r.whole {
		return detect.Finding{}, false
	}
	if from > 0 {
		a, b := math.Abs(l.v[from-1]), math.Abs(l.v[from])
		if math.Max(a, b) < p.Param("leap")*math.Min(a, b) {
			return detect.Finding{}, false
		}
	}
	l.measure(from)
	switch {
	case l.distinct < int(p.Param("distinct")) || l.moved < int(p.Param("move_days")),
		l.high < r.spread*l.low,
		l.step > p.Param("smooth")*(l.high-l.low),
		r.step > 0 && (p.Quantum() <= 0 || p.Quantum() > r.step) && !fine(l.v[from:], r.step):
		return detect.Finding{}, false
	}
	f := l.finding(from, r.like(l), share)
	if r.amends != nil {
		f.Amends = r.amends(l)
	}
	f.Threshold = r.low
	if l.p.Quantity() == detect.Ohms || r.step > 0 {
		f.Threshold = r.high
	}
	return f, true
}

// fine says whether values that show no resolution are closer to each other than a
// step: real numbers, written in full.
func fine(v []float64, step float64) bool {
	close := 0
	for i := 1; i < len(v); i++ {
		if d := math.Abs(v[i] - v[i-1]); d > 0 && d < step {
			close++
		}
	}
	return 4*close >= len(v)
}

// falls says whether the large steps go down, as a tension does when water comes.
func (l *look) falls() bool {
	cubes := 0.0
	for i := l.from + 1; i < len(l.v); i++ {
		d := l.v[i] - l.v[i-1]
		cubes += d * d * d
	}
	return cubes < 0
}
