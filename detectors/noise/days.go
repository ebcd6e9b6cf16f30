package noise

import (
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// day is the scatter of one UTC day.
type day struct {
	from, to   int   // readings
	start, end int64 // of its readings
	step       int64 // between readings
	scatter    float64
	turns      int     // second differences of the other sign than the one before
	pairs      int     // of how many
	resolution float64 // what rounding alone shows at its level
	sound      float64 // what a sound sensor shows there
	floor      float64 // the larger of the two
	usual      float64 // the usual day before it, floored
	known      bool    // there is such a past
	noisy      bool

	peak      float64 // scatter of its noisiest quarter of a day; 0 where none has enough readings
	peakUsual float64 // that of the usual day before it, floored
	peakTurns int
	peakPairs int
	byHours   bool // noisy in a quarter of the day only
	seam      bool // it goes to and fro between two levels, with nothing between
}

// look is one look at a series.
type look struct {
	p       *detect.Pass
	t       []int64
	x       []float64 // what is differenced: wetness, or kPa of a tensiometer
	inKPa   bool
	events  []detect.Span
	diffs   []float64
	steps   []float64 // from one reading to the next, in kPa of a block
	scratch []float64
}

func newLook(p *detect.Pass) *look {
	l := &look{p: p, t: p.Time(), x: p.Wetness()}
	if p.Kind() == detect.Tensiometer && p.Quantity() == detect.Tension {
		l.x, l.inKPa = p.Value(), true
	}
	after := p.ParamHours("event_hours")
	add := func(all []detect.Water) {
		for _, w := range all {
			l.events = append(l.events, detect.Span{Start: w.Start, End: w.End + after})
		}
	}
	if p.Has(detect.NeedIrrigation) {
		add(p.Irrigation())
	}
	if p.Has(detect.NeedRain) {
		add(p.Rain())
	}
	slices.SortFunc(l.events, func(a, b detect.Span) int {
		switch {
		case a.Start < b.Start:
			return -1
		case a.Start > b.Start:
			return 1
		}
		return 0
	})
	return l
}

// days lists the days with a scatter, each held against those before it that are
// of its cadence and calm.
func (l *look) days() []day {
	var out []day
	t := l.t
	for i := 0; i < len(t); {
		first := floorDay(t[i])
		j := i + 1
		for j < len(t) && floorDay(t[j]) == first {
			j++
		}
		if d, ok := l.day(i, j); ok {
			out = append(out, d)
		}
		i = j
	}
	least := int(l.p.Param("past_days"))
	var past, peaks, scratch []float64
	// A day shortly after a noisy one may be one more that shows it less.
	near := int64(l.p.Param("days_in_row") * float64(detect.Day))
	for i := range out {
		d := &out[i]
		past, peaks = past[:0], peaks[:0]
		last := int64(math.MinInt64)
		lag := int64(l.p.Param("past_lag") * float64(detect.Day))
		for _, b := range out[:i] {
			if d.start-b.end < lag && len(past) >= least {
				break
			}
			if b.noisy {
				last = b.end
			}
			if b.noisy || last != math.MinInt64 && b.start-last < near || !noFiner(b.step, d.step) {
				continue
			}
			past = append(past, b.at(b.scatter, d.resolution))
			if b.peak > 0 {
				peaks = append(peaks, b.at(b.peak, d.resolution))
			}
		}
		if len(past) < least {
			continue
		}
		scratch = append(scratch[:0], past...)
		d.known = true
		d.usual = robust.Quantile(past, scratch, l.p.Param("usual"))
		d.noisy = d.stands(d.scatter, d.usual, l.ratio(d.scatter), l.p.Param("beyond_counts"))
		d.usual = max(d.usual, d.floor)
		if d.noisy || d.peak == 0 || len(peaks) < least {
			continue
		}
		scratch = append(scratch[:0], peaks...)
		d.peakUsual = robust.Quantile(peaks, scratch, l.p.Param("usual"))
		d.byHours = d.stands(d.peak, d.peakUsual, l.ratio(d.peak), l.p.Param("beyond_counts"))
		d.peakUsual = max(d.peakUsual, d.floor)
		d.noisy = d.byHours
	}
	return out
}

// ratio is how many times the usual a scatter must be. A conversion from ohms makes
// that of a sound block twice as large in kPa where it is wet, but never so large as a
// decision does not bear.
func (l *look) ratio(scatter float64) float64 {
	if l.p.Kind() == detect.GranularMatrix && l.p.Quantity() == detect.Tension && 2*scatter/middleOfSigma < l.p.Param("bears") {
		return l.p.Param("ratio_converted")
	}
	return l.p.Param("ratio")
}

// stands says whether a scatter is so many times the usual one, so many times that of
// a sound sensor, and beyond what rounding shows.
func (d *day) stands(scatter, usual, ratio, beyond float64) bool {
	return !d.seam && scatter > ratio*max(usual, d.sound) && scatter > beyond*d.resolution
}

// over is how many times the usual scatter a noisy day has.
func (d *day) over() float64 {
	if d.byHours {
		return d.peak / d.peakUsual
	}
	return d.scatter / d.usual
}

// at is a day's scatter as it would show where the resolution is another: what is no
// more than twice the resolution goes with it.
func (d *day) at(scatter, resolution float64) float64 {
	if scatter > 0 && scatter <= 2*d.resolution {
		return scatter * resolution / d.resolution
	}
	return scatter
}

// noFiner says whether a past day's step is that of a day or longer: over a longer
// step a curve bends no less and noise as much, so that such a past claims too much.
func noFiner(past, step int64) bool { return past >= step || sameStep(past, step) }

func sameStep(a, b int64) bool { return 5*max(a-b, b-a) <= max(a, b) }

// day measures the readings [from, to); false where too few say anything, or all
// are one value.
func (l *look) day(from, to int) (day, bool) {
	d := day{from: from, to: to, start: l.t[from], end: l.t[to-1] + 1}
	d.step = l.step(from, to)
	if d.step <= 0 {
		return d, false
	}
	v, leap := l.p.Value(), 0.0
	limits := l.p.Limits()
	l.diffs, l.steps = l.diffs[:0], l.steps[:0]
	seams := l.p.Kind() == detect.GranularMatrix && l.p.Quantity() == detect.Tension
	e, moved, before := 0, false, 0.0
	quarter, first, turns, pairs := int64(math.MinInt64), 0, 0, 0
	least := int(l.p.Param("min_triples"))
	end := func() {
		if len(l.diffs)-first < least {
			return
		}
		if x := l.middle(l.diffs[first:]); x > d.peak {
			d.peak, d.peakTurns, d.peakPairs = x, d.turns-turns, d.pairs-pairs
		}
	}
	for i := max(from, 2); i < to; i++ {
		a, b := l.t[i-1]-l.t[i-2], l.t[i]-l.t[i-1]
		if !sameStep(a, d.step) || !sameStep(b, d.step) || limits.Outside(v[i]) || limits.Outside(v[i-1]) || limits.Outside(v[i-2]) {
			continue
		}
		for e < len(l.events) && l.events[e].End <= l.t[i-2] {
			e++
		}
		if l.inEvent(e, l.t[i]) {
			continue
		}
		if leap == 0 {
			leap = l.leap(v[i-1])
		}
		moved = moved || v[i] != v[i-1] || v[i-1] != v[i-2]
		if q := l.t[i] / (6 * detect.Hour); q != quarter {
			end()
			quarter, first, turns, pairs, before = q, len(l.diffs), d.turns, d.pairs, 0
		}
		bend := l.x[i] - 2*l.x[i-1] + l.x[i-2]
		if math.Abs(bend) >= leap {
			before = 0
			continue
		}
		l.diffs = append(l.diffs, math.Abs(bend))
		if seams {
			l.steps = append(l.steps, math.Abs(l.x[i]-l.x[i-1]))
		}
		if turn := bend * before; turn != 0 {
			d.pairs++
			if turn < 0 {
				d.turns++
			}
		}
		before = bend
	}
	end()
	if len(l.diffs) < least || !moved {
		return d, false
	}
	d.scatter = l.middle(l.diffs)
	d.seam = l.twoLevels()
	l.scratch = append(l.scratch[:0], v[from:to]...)
	level := robust.Median(v[from:to], l.scratch)
	d.resolution = l.p.Param("counts") * l.p.Quantum() * l.slope(level)
	d.sound = middleOfSigma * l.p.Quantity().SensorNoise() * l.slope(level) / l.p.Quantity().WetnessSlope(level)
	d.floor = max(d.resolution, d.sound)
	return d, true
}

// middle is the mean of the lower nine tenths of some second differences: on a coarse
// export a median knows whole steps only, and a few leaps are no scatter.
func (l *look) middle(diffs []float64) float64 {
	l.scratch = append(l.scratch[:0], diffs...)
	slices.Sort(l.scratch)
	n := max(1, len(l.scratch)*9/10)
	sum := 0.0
	for _, x := range l.scratch[:n] {
		sum += x
	}
	return sum / float64(n)
}

// twoLevels says whether the steps of a day lead to and fro between two levels: those
// that are no small ones are nearly all large, where those of noise fill what lies
// between. The conversion of a logger has seams at which its kPa step by a tenth, and
// a healthy block that lies there goes over them and back.
func (l *look) twoLevels() bool {
	if len(l.steps) < 3 {
		return false
	}
	l.scratch = append(l.scratch[:0], l.steps...)
	slices.Sort(l.scratch)
	large := l.scratch[len(l.scratch)*19/20]
	small, _ := slices.BinarySearch(l.scratch, 0.3*large)
	most, _ := slices.BinarySearch(l.scratch, 0.7*large)
	return large > 0 && float64(most-small) < l.p.Param("filled")*float64(len(l.scratch)-small)
}

// inEvent says whether an event that is not over at place e has begun by t.
func (l *look) inEvent(e int, t int64) bool { return e < len(l.events) && l.events[e].Start <= t }

// step is the median step between the readings [from, to).
func (l *look) step(from, to int) int64 {
	if to-from < 3 {
		return 0
	}
	l.diffs = l.diffs[:0]
	for i := from + 1; i < to; i++ {
		l.diffs = append(l.diffs, float64(l.t[i]-l.t[i-1]))
	}
	l.scratch = append(l.scratch[:0], l.diffs...)
	return int64(robust.Median(l.diffs, l.scratch))
}

// leap is the bend from which on it is no scatter but a contact or a water.
func (l *look) leap(v float64) float64 {
	if l.inKPa {
		return 2 * l.p.Leap(v) * max(v, detect.TensionFloor)
	}
	return 2 * l.p.Leap(v)
}

// middleOfSigma is the middle of the absolute second differences of white noise of
// one: of a normal of deviation sqrt(6), cut at 1.645 deviations, the mean is 0.657 of
// that (derived).
var middleOfSigma = 0.657 * math.Sqrt(6)

// slope is how much what is differenced changes with one standard unit at v.
func (l *look) slope(v float64) float64 {
	if l.inKPa {
		return 1
	}
	return l.p.Quantity().WetnessSlope(v)
}

func floorDay(t int64) int64 {
	if t < 0 {
		return (t - detect.Day + 1) / detect.Day
	}
	return t / detect.Day
}
