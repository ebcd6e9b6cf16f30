package cabledamage

import (
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// flip is one time that contact was lost, in one state or another, and came back.
type flip struct {
	detect.Span
	readings int     // with a value that is none; 0 for blanks
	weight   float64 // half where only one of its ends was seen
	blank    bool
	coded    bool    // the logger's own word: sure whatever the share of blanks
	level    float64 // wetness of the state it fell to; the same for all open leads in ohms
	side     int8    // -1 below what sensor and soil can be, 1 above, 0 within
	strewn   bool    // its readings wander over values that no lead gives
}

// scan is one pass over a moisture series.
type scan struct {
	p      *detect.Pass
	q      detect.Quantity
	t      []int64
	v, w   []float64
	limits detect.Limits
	least  float64 // the least leap, in wetness
	hold   int64
}

func newScan(p *detect.Pass) *scan {
	s := &scan{
		p: p, q: p.Quantity(), t: p.Time(), v: p.Value(), w: p.Wetness(), limits: p.Limits(),
		least: math.Log(p.Param("leap_factor")), hold: p.ParamHours("hold_hours"),
	}
	if s.q == detect.WaterContent {
		s.least = p.Param("leap_water")
	}
	return s
}

// leap is the step from v that no soil makes. It is bounded, because flips in half
// of the readings make the series' own noise as large as they are.
func (s *scan) leap(v float64) float64 {
	return math.Min(math.Max(s.least, s.p.Leap(v)), s.least*s.p.Param("most_leaps"))
}

// valueFlips finds readings that a leap led to and a leap led away from, back to
// the level of before, and readings outside all limits entered or left by a sharp
// step. A healthy series costs one comparison a reading.
func (s *scan) valueFlips() []flip {
	var out []flip
	n, good := len(s.v), -1
	for i := 0; i < n; {
		outside := s.limits.Outside(s.v[i])
		if good < 0 || s.t[i]-s.t[i-1] > s.hold {
			good = i
			if outside {
				from := i
				good, i = -1, s.passOut(i)
				if i < n && s.sharp(i) {
					out = append(out, s.flip(from, i, 0.5))
				}
				continue
			}
			i++
			continue
		}
		step := math.Abs(s.w[i] - s.w[good])
		if !outside && (step <= s.least || step <= s.leap(s.v[good])) {
			good = i
			i++
			continue
		}
		if k, slid := s.slidesBack(i, good); slid {
			good, i = k, k+1
			continue
		}
		j, back := s.exit(i, good)
		switch {
		case back && s.sharp(i):
			// Several readings that wander within what soil can be are a spike and
			// no state of a lead: a lost contact stands still or is impossible.
			if outside || j-i == 1 || s.still(i, j) {
				out = append(out, s.flip(i, j, 1))
			}
			good, i = j, j
		case outside:
			// It wandered out, or never came back: one end at most.
			j = s.passOut(i)
			if s.sharp(i) || j < n && s.sharp(j) {
				out = append(out, s.flip(i, j, 0.5))
			}
			good, i = min(j, n-1), j
		default:
			good = i
			i++
		}
	}
	return out
}

// slidesBack says whether an excursion towards dry that began at reading i comes back
// over several readings, none of whose steps is most of the way: a spike, however dry
// it went. Contact comes back in one step, and where a logger means over its interval
// the reading between is near the dead state, because the mean of ohms is. It gives
// the reading at which it was back.
func (s *scan) slidesBack(i, good int) (back int, slid bool) {
	deepest, largest := 0.0, 0.0
	for k := i; k < len(s.w) && s.t[k]-s.t[i] <= s.hold && s.t[k]-s.t[k-1] <= s.hold; k++ {
		below := s.w[good] - s.w[k]
		if k == i && below <= 0 {
			return 0, false
		}
		deepest = math.Max(deepest, below)
		if k > i {
			largest = math.Max(largest, s.w[k]-s.w[k-1])
		}
		if below <= s.p.Param("return_wet")*deepest {
			return k, largest < s.p.Param("snap_share")*deepest
		}
	}
	return 0, false
}

// sharp says whether the step to reading i is at least half of the least leap.
func (s *scan) sharp(i int) bool {
	return i > 0 && math.Abs(s.w[i]-s.w[i-1]) >= s.least/2
}

// passOut gives the first reading after i that lies within the limits, or that a
// silence parts from those outside.
func (s *scan) passOut(i int) int {
	for i++; i < len(s.v) && s.limits.Outside(s.v[i]) && s.t[i]-s.t[i-1] <= s.hold; {
		i++
	}
	return i
}

// exit looks for the reading that takes a leap to reading i back to the level of
// the last good one.
func (s *scan) exit(i, good int) (j int, back bool) {
	leap := s.w[i] - s.w[good]
	keep := s.p.Param("return_dry")
	if leap > 0 && !s.limits.Outside(s.v[i]) {
		keep = s.p.Param("return_wet")
	}
	from, outside := s.t[i], s.limits.Outside(s.v[i])
	for j = i + 1; j < len(s.v) && s.t[j]-s.t[j-1] <= s.hold; j++ {
		outside = outside && s.limits.Outside(s.v[j])
		if outside {
			from = s.t[j] // for as long as it never came back within
			continue
		}
		if s.t[j]-from > s.hold {
			break
		}
		if s.limits.Outside(s.v[j]) {
			continue
		}
		if math.Abs(s.w[j]-s.w[good]) <= keep*math.Abs(leap) && s.sharp(j) {
			return j, true
		}
	}
	return j, false
}

func (s *scan) flip(i, j int, weight float64) flip {
	end, _ := s.p.EndOf(j)
	end = min(end, s.t[j-1]+max(s.p.Cadence(), 1))
	middle := i + (j-i)/2
	level := s.w[middle]
	if s.q == detect.Ohms && s.v[middle] > s.limits.High {
		level = s.q.Wetness(s.limits.High) // an open lead, whatever the converter makes of it
	}
	x := flip{Span: detect.Span{Start: s.t[i], End: end}, readings: j - i, weight: weight, level: level}
	switch {
	case s.v[middle] < s.limits.Low:
		x.side = -1
	case s.v[middle] > s.limits.High:
		x.side = 1
	}
	// An open lead in ohms flickers however wide the converter lets it.
	x.strewn = j-i >= 2 && !(s.q == detect.Ohms && x.side > 0) && !s.steady(i, j)
	return x
}

// steady says whether the readings i to j stand at one state: most of them lie within
// what one state of a lead spreads over.
func (s *scan) steady(i, j int) bool {
	middle := s.w[i+(j-i)/2]
	near := 0
	for _, w := range s.w[i:j] {
		if math.Abs(w-middle) <= s.sameState() {
			near++
		}
	}
	return 2*near > j-i
}

// sameState is how far apart two readings of one state of a lead may lie, in wetness.
func (s *scan) sameState() float64 {
	if s.q == detect.WaterContent {
		return s.p.Param("same_water")
	}
	return s.p.Param("same_level")
}

// still says whether the readings i to j stand at one value, within two steps of
// the resolution or two of the sensor's least scatter.
func (s *scan) still(i, j int) bool {
	low, high := s.v[i], s.v[i]
	for _, v := range s.v[i+1 : j] {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return high-low <= math.Max(2*s.p.Quantum(), 2*s.q.SensorNoise()/s.q.WetnessSlope(s.v[i]))
}

// oneState says whether the flips of an episode look like one contact that opens:
// blanks or codes among them, several that lasted, or most of them at one level, and
// nearly all of them to one side. Readings scattered over impossible values, singly
// or for hours, are a converter's or a sensor's fault, which out_of_range finds.
func (s *scan) oneState(flips []flip) bool {
	levels := make([]float64, 0, len(flips))
	lasted, strewn := 0, 0
	var sides [2]int
	for _, x := range flips {
		if x.blank {
			return true
		}
		switch {
		case x.side < 0:
			sides[0]++
		case x.side > 0:
			sides[1]++
		}
		if x.strewn {
			strewn++
			continue
		}
		if x.readings >= lastingReadings {
			lasted++
		}
		levels = append(levels, x.level)
	}
	// A lead that opens falls to one side, and one that touches to the other.
	if 2*strewn >= len(flips) || 4*min(sides[0], sides[1]) > len(flips) {
		return false
	}
	if float64(lasted) >= s.p.Param("min_flips") && 2*lasted >= len(flips) {
		return true
	}
	slices.Sort(levels)
	tolerance := s.sameState()
	most, from := 0, 0
	for to := range levels {
		for levels[to]-levels[from] > tolerance {
			from++
		}
		most = max(most, to-from+1)
	}
	return 2*most >= len(flips)
}

// same says whether all flips of an episode are of values and fall to one state that
// neither sensor nor soil can be in: a dead end that a logger writes for an open lead.
func (s *scan) same(flips []flip) bool {
	for _, x := range flips {
		if x.blank || x.strewn || x.side == 0 || x.side != flips[0].side || math.Abs(x.level-flips[0].level) > s.sameState() {
			return false
		}
	}
	return true
}

// lastingReadings is from when on a flip is a state and no slip of one reading.
const lastingReadings = 2

const week = 7 * detect.Day

// blankFlips finds runs of blanks between values while the logger spoke, in weeks
// (counted back from the end of the window) in which they come often enough. A run
// that holds a fault code is a flip whatever its week.
func (s *scan) blankFlips() []flip {
	blank, coded := s.p.Blanks(), s.p.Coded()
	if len(blank) == 0 {
		return nil
	}
	end := s.p.Period().Window.End
	type heard struct{ values, blanks, runs int }
	weeks := make([]heard, (end-s.p.Period().Lookback)/week+1)
	of := func(t int64) *heard { return &weeks[min(max((end-1-t)/week, 0), int64(len(weeks)-1))] }
	for _, t := range s.t {
		of(t).values++
	}

	var runs []flip
	i, c := 0, 0
	for k := 0; k < len(blank); {
		for i < len(s.t) && s.t[i] < blank[k] {
			i++
		}
		m := k + 1
		for m < len(blank) && (i == len(s.t) || blank[m] < s.t[i]) {
			m++
		}
		// Before the first value nothing is connected yet; after the last it is a gap.
		if i > 0 && i < len(s.t) && blank[m-1]-blank[k] <= s.hold {
			run := flip{Span: detect.Span{Start: blank[k], End: s.t[i]}, weight: s.p.Param("blank_weight"), blank: true}
			for c < len(coded) && coded[c].Time < blank[k] {
				c++
			}
			if c < len(coded) && coded[c].Time <= blank[m-1] && coded[c].Code != schemas.CodeFault {
				run.weight, run.coded = 1, true
			}
			runs = append(runs, run)
			of(blank[k]).runs++
		}
		for _, t := range blank[k:m] {
			of(t).blanks++
		}
		k = m
	}

	out := runs[:0]
	for _, run := range runs {
		in := of(run.Start)
		often := in.runs >= int(s.p.Param("min_blank_runs")) && float64(in.blanks) >= s.p.Param("blank_share")*float64(in.blanks+in.values)
		if run.coded || often {
			out = append(out, run)
		}
	}
	return out
}

// order merges two lists by start.
func order(a, b []flip) []flip {
	if len(b) == 0 {
		return a
	}
	out := make([]flip, 0, len(a)+len(b))
	for len(a) > 0 || len(b) > 0 {
		if len(b) == 0 || len(a) > 0 && a[0].Start <= b[0].Start {
			out, a = append(out, a[0]), a[1:]
		} else {
			out, b = append(out, b[0]), b[1:]
		}
	}
	return out
}
