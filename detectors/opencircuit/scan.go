package opencircuit

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
)

// scan is one pass over a moisture series.
type scan struct {
	p    *detect.Pass
	q    detect.Quantity
	t    []int64
	v, w []float64
	temp []float32 // nil where there is none

	end    float64 // the dry end: ohms and kPa at or above it, water content at or below it
	limit  float64 // beyond it no soil gives a value
	floor  float64 // a tensiometer below it has no signal; -Inf for the others
	seen   int64   // the longest step over which an arrival counts as seen
	least  int
	rejoin int64
	farm   float64 // the dry end as the farm's data show it; +Inf where they show none
	hidden string
}

func newScan(p *detect.Pass) *scan {
	s := &scan{
		p: p, q: p.Quantity(), t: p.Time(), v: p.Value(), w: p.Wetness(),
		seen:  int64(p.Param("seen_steps") * float64(p.Cadence())),
		least: int(p.Param("min_readings")), floor: math.Inf(-1),
		rejoin: p.ParamHours("rejoin"),
	}
	if p.Has(detect.NeedTemperature) {
		s.temp = p.Temperature()
	}
	limits := p.Limits()
	switch s.q {
	case detect.Ohms:
		s.limit = p.Param("open_ohms")
		s.end = math.Min(s.limit, s.rail())
	case detect.Tension:
		s.limit = limits.High
		s.end = math.Min(s.limit, s.rail())
		if p.Kind() == detect.Tensiometer {
			s.floor = limits.Low
		}
	case detect.WaterContent:
		s.limit = limits.Low
		s.end = detect.AirWaterContent + p.Param("near_air")
	}
	return s
}

// rail is the value from which a reading stands at the dry end of its scale: the
// farm's, or this series' own greatest value where it repeats itself.
func (s *scan) rail() float64 {
	top, run, best := math.Inf(-1), 0, 0
	for _, v := range s.v {
		switch {
		case v > top:
			top, run, best = v, 1, 1
		case v == top:
			run++
			best = max(best, run)
		default:
			run = 0
		}
	}
	rail := math.Inf(1)
	// A tensiometer repeats its greatest value where its water is about to boil.
	if best >= s.least && s.p.Kind() != detect.Tensiometer {
		rail = top
	}
	s.farm = math.Inf(1)
	if s.p.Has(detect.NeedScaleEnd) {
		s.farm = s.p.ScaleEnd().V
		s.farm -= s.hold(s.farm)
	}
	return math.Min(rail-s.hold(rail), s.farm)
}

// hold is how far the readings of a dead state lie apart, in the standard unit:
// two steps of the resolution, or two of the sensor's least scatter.
func (s *scan) hold(v float64) float64 {
	if math.IsInf(v, 0) {
		return 0
	}
	return math.Max(2*s.p.Quantum(), 2*s.q.SensorNoise()/s.q.WetnessSlope(v))
}

// ended says whether a value stands at the dry end or beyond it.
func (s *scan) ended(v float64) bool {
	if s.q == detect.WaterContent {
		return v <= s.end
	}
	return v >= s.end
}

// impossible says whether no soil gives the value.
func (s *scan) impossible(v float64) bool {
	if s.q == detect.WaterContent {
		return v < s.limit
	}
	return v >= s.limit
}

func (s *scan) spells() (out []spell, hidden string) {
	n := len(s.v)
	for i := 0; i < n; {
		v := s.v[i]
		if v < s.floor {
			j := i + 1
			for j < n && s.v[j] < s.floor && s.joined(j) {
				j++
			}
			if j-i >= s.least && s.dead(i, j) {
				out = append(out, s.spell(i, j, signal, confidenceSignal, s.floor))
			}
			i = j
			continue
		}
		if !s.ended(v) {
			i++
			continue
		}
		j := i + 1
		for j < n && s.ended(s.v[j]) && s.joined(j) {
			j++
		}
		if j-i >= s.least {
			out = s.judge(out, i, j)
		}
		i = j
	}
	return out, s.hidden
}

// joined says whether reading j goes on from the one before: over a longer silence
// nobody knows what stood there.
func (s *scan) joined(j int) bool { return s.t[j]-s.t[j-1] <= s.rejoin }

// arrival says how a series came to a reading.
type arrival uint8

const (
	unseen   arrival = iota // it was there from the first, or came over a gap
	slid                    // by steps that a soil makes
	halfLeap                // by half a leap, many times the steps of the day before
	leapt
)

// arrive tells how the series came to reading i from the last good one before it.
func (s *scan) arrive(i int) arrival {
	from := s.good(i)
	if from < 0 || s.t[i]-s.t[from] > s.seen || s.installed(from, i) {
		return unseen
	}
	if s.temp != nil && float64(s.temp[i]) <= s.p.Param("frost") {
		return slid
	}
	step := math.Abs(s.w[i] - s.w[from])
	leap := s.p.Leap(s.v[from])
	// A logger that means over its interval shows the moment of the break as one
	// reading half way.
	if from == i-1 && i > 1 && step < leap && s.t[i]-s.t[i-2] <= 2*s.seen {
		if first := math.Abs(s.w[i-1] - s.w[i-2]); first >= leap/2 && (s.w[i]-s.w[i-1])*(s.w[i-1]-s.w[i-2]) > 0 {
			if from = s.good(i - 1); from < 0 {
				return unseen
			}
			step = math.Abs(s.w[i] - s.w[from])
			leap = s.p.Leap(s.v[from])
		}
	}
	switch {
	case step >= leap:
		return leapt
	case step < leap/2:
		return slid
	}
	largest, steps := 0.0, 0
	for k := from; k > 0 && s.t[from]-s.t[k] < detect.Day; k-- {
		largest = math.Max(largest, math.Abs(s.w[k]-s.w[k-1]))
		steps++
	}
	if steps >= 6 && step >= s.p.Param("rate_ratio")*largest {
		return halfLeap
	}
	return slid
}

// good is the place of the last reading before i that the soil gave; -1 where there is
// none. A way back from an impossible value, or from no resistance, says nothing of
// the soil: the probe may have dried while nobody could see it.
func (s *scan) good(i int) int {
	k := i - 1
	for k >= 0 {
		if s.p.Limits().Outside(s.v[k]) {
			k--
			continue
		}
		from := s.starved(k)
		if from == k {
			return k
		}
		k = from
	}
	return k
}

// starved gives the reading before a stretch of dead readings, in kPa, that ends with
// reading k: at or below zero, or where a conversion puts no resistance, and entered
// by half a leap towards wet. Otherwise k itself.
func (s *scan) starved(k int) int {
	if s.q != detect.Tension || s.v[k] > s.p.Param("dead_wet") {
		return k
	}
	from := k
	for from > 0 && s.v[from-1] == s.v[k] && s.joined(from) {
		from--
	}
	if from == 0 || s.v[k] > 0 && k-from+1 < s.least {
		return k
	}
	fell := func(j int) bool { return j > 0 && s.w[j]-s.w[j-1] >= s.p.Leap(s.v[j-1])/2 }
	if !fell(from) || s.v[k] > 0 && s.ended(s.v[from-1]) {
		return k // a soil that lay there, or contact for a moment between two breaks
	}
	if from--; fell(from) {
		from-- // the moment of the failure, half way
	}
	return from
}

// installed says whether the register has the probe put in, or wired, between two
// readings or within a day of them: the new one stands in other soil.
func (s *scan) installed(from, i int) bool {
	near := func(at int64) bool { return s.t[from]-detect.Day < at && at <= s.t[i]+detect.Day }
	if s.p.Has(detect.NeedInstalledOn) && near(s.p.InstalledOn().V) {
		return true
	}
	for _, w := range s.p.Wirings() {
		if near(w.Start) {
			return true
		}
	}
	return false
}

// alien says whether the series came to reading i by a step towards dry that the
// probe makes nowhere else: several times the largest of its other steps, and far
// above its noise. From a dry block the scale's end is no leap away; but drying takes
// many readings for that, and the steps of the waterings before say nothing of it.
func (s *scan) alien(i int) bool {
	from := s.good(i)
	if from < 0 || s.t[i]-s.t[from] > s.seen || s.t[i]-s.t[0] < int64(s.p.Param("own_days")*float64(detect.Day)) {
		return false
	}
	if s.temp != nil && float64(s.temp[i]) <= s.p.Param("frost") || from != i-1 || s.installed(from, i) {
		return false
	}
	step := s.w[from] - s.w[i]
	if step < s.p.Param("own_leap")*s.p.Leap(s.v[from]) || step < 12*s.p.Scale(s.v[from]) {
		return false
	}
	own := s.p.Param("own_step")
	for k := 1; k < len(s.w); k++ {
		if k != i && s.t[k]-s.t[k-1] <= s.seen && own*(s.w[k-1]-s.w[k]) > step {
			return false
		}
	}
	return true
}

// dead says whether the readings i to j stand still.
func (s *scan) dead(i, j int) bool {
	low, high := s.v[i], s.v[i]
	for _, v := range s.v[i+1 : j] {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return high-low <= s.hold(s.v[i])
}

// still says whether they are equal to the last digit.
func (s *scan) still(i, j int) bool {
	for _, v := range s.v[i+1 : j] {
		if v != s.v[i] {
			return false
		}
	}
	return true
}

// judge decides about one stretch at the dry end.
func (s *scan) judge(out []spell, i, j int) []spell {
	came := s.arrive(i)
	past := 0
	for _, v := range s.v[i:j] {
		if s.impossible(v) {
			past++
		}
	}
	// Most of the stretch must be impossible for the whole to be.
	if past >= s.least && 2*past >= j-i {
		switch {
		case s.q == detect.WaterContent && !s.dead(i, j) && detect.Hours(s.t[j-1]-s.t[i]) < s.p.Param("moving_hours"):
			// Scatter among values is a contact that comes and goes.
		case s.q != detect.WaterContent && !s.dead(i, j) && s.slidesOut(j):
			// It went past the limit and came back by the steps of a block: a spike.
		case came == leapt:
			return append(out, s.spell(i, j, beyond, confidenceBeyond, s.limit))
		case came == halfLeap:
			return append(out, s.spell(i, j, beyond, confidenceHalf, s.limit))
		case came == unseen && s.q != detect.WaterContent && !s.slidesOut(j):
			return append(out, s.spell(i, j, beyond, confidenceUnseen, s.limit))
		case s.q == detect.WaterContent && s.dead(i, j):
			return append(out, s.spell(i, j, beyond, confidenceUnseen, s.limit))
		}
		return out
	}
	if s.q == detect.WaterContent {
		switch {
		case came >= halfLeap && s.dead(i, j):
			return append(out, s.spell(i, j, landed, confidenceOf(came), s.end))
		case came == unseen && s.still(i, j) && detect.Days(s.t[j-1]-s.t[i]) >= s.p.Param("air_days"):
			return append(out, s.spell(i, j, resting, confidenceResting, s.end))
		}
		return out
	}
	switch {
	case came >= halfLeap:
		return append(out, s.spell(i, j, landed, confidenceOf(came), s.end))
	case s.alien(i) && s.still(i, j) && detect.Hours(s.t[j-1]-s.t[i]) >= s.p.Param("own_hours"):
		return append(out, s.spell(i, j, landed, confidenceHalf, s.end))
	case came == unseen && j == len(s.v) && (s.v[i] >= s.farm || s.v[i] >= s.p.Param("dry_end") || s.q == detect.Ohms && s.v[i] >= s.limit/2):
		s.hidden = fmt.Sprintf("it has stood at the scale's end, %.4g %s, since %s and nobody saw it arrive: an open lead and very dry soil read alike there; a watering that reaches it, or ohms at the post, would tell", s.v[i], s.q.Unit(), detect.Stamp(s.t[i]))
	}
	return out
}

func confidenceOf(a arrival) float64 {
	if a == leapt {
		return confidenceLanded
	}
	return confidenceHalf
}

// slidesOut says whether a stretch that ends before reading j went back into the
// range by a step that a soil makes: then it was dry and not open.
func (s *scan) slidesOut(j int) bool {
	if j == len(s.v) || s.t[j]-s.t[j-1] > s.seen {
		return false
	}
	return math.Abs(s.w[j]-s.w[j-1]) < s.p.Leap(s.v[j-1])/2
}

func (s *scan) spell(i, j int, how way, confidence, limit float64) spell {
	end, open := s.p.EndOf(j)
	if !open {
		end = min(end, s.t[j-1]+max(s.p.Cadence(), 1))
		if end-s.t[i] < detect.Day/2 {
			confidence -= shortSpell
		}
	}
	before := math.NaN()
	if i > 0 {
		before = s.v[i-1]
	}
	return spell{
		Span: detect.Span{Start: s.t[i], End: end}, open: open, readings: j - i,
		confidence: confidence, how: how, value: s.v[i+(j-i)/2], before: before, limit: limit,
	}
}
