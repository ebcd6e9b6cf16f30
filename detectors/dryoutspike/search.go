package dryoutspike

import (
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/detectors/soil"
)

// spike is one excursion towards dry and back.
type spike struct {
	detect.Span         // its readings
	first, last int     // their places, half-open
	before      float64 // level, in wetness
	trough      float64
	after       float64
	depth, need float64 // in wetness
	fall, rise  int64   // time of the legs between 80 % and 20 % of the depth
	least       int64   // time that the soil takes for that fall
	et0         float64 // mm/d that this is reckoned with
	beyond      bool    // the fall is faster than the soil
	watered     bool    // water in the zone near the return
	rests       bool    // the readings before and after it lie at one level
	clipped     bool    // it reaches the end of the scale
}

// search holds what one series' spikes are looked for with.
type search struct {
	p      *detect.Pass
	t      []int64
	v, w   []float64
	spikes []spike

	leastFall float64
	stay      int64
	layer     float64
	texture   soil.Texture
	known     bool // the register names the texture
	logged    bool // waterings are logged
	limits    detect.Limits

	hourly  float64   // the probe's usual change over an hour, in wetness
	asked   bool      // hourly is computed
	scratch []float64 // levels
	bends   []float64

	least float64 // depth of a small spike, in wetness, or kPa where gauge
	gauge bool
}

func newSearch(p *detect.Pass) *search {
	s := &search{
		p: p, t: p.Time(), v: p.Value(), w: p.Wetness(),
		leastFall: p.Param("min_fall"), stay: p.ParamHours("max_hours"),
		layer: p.Param("layer_m"), logged: p.Has(detect.NeedIrrigation), limits: p.Limits(),
	}
	switch p.Quantity() {
	case detect.WaterContent:
		s.leastFall = p.Param("min_fall_water")
	case detect.Ohms:
		s.leastFall = p.Param("min_fall_ohms")
	}
	s.least, s.gauge = s.smallest()
	s.texture, s.known = soil.TextureNamed(p.Texture())
	return s
}

// look judges the trough at reading k, from which the series wets again.
func (s *search) look(k int) {
	if n := len(s.spikes); n > 0 && k < s.spikes[n-1].last {
		return // the same excursion's second trough
	}
	c, ok := s.shape(k)
	if !ok || !s.fresh(&c) || s.frozen(&c) {
		return
	}
	quick := max(s.p.ParamHours("quick_hours"), s.p.Cadence())
	if !s.logged && max(c.fall, c.rise) > quick {
		return
	}
	s.bound(&c)
	c.watered = s.water(s.t[c.first]-s.p.ParamHours("water_hours"), s.t[min(c.last, len(s.t)-1)])
	switch {
	case c.watered && !c.beyond:
		return
	case c.watered || !c.beyond:
		c.need *= s.p.Param("gross_factor")
	}
	if c.depth < c.need {
		return
	}
	if c.depth < s.p.Param("local_scales")*s.scatter(&c) {
		return
	}
	limit := s.p.Param("speed_factor") * s.usualHour()
	if min(speed(c.depth, c.fall), speed(c.depth, c.rise)) < limit {
		return
	}
	if s.p.Has(detect.NeedScaleEnd) {
		c.clipped = s.v[k] >= s.p.ScaleEnd().V-s.p.Quantum()
	}
	s.spikes = append(s.spikes, c)
}

// lastLow is the lowest reading after the last wetting, if the series has risen
// from it: a wetting counts only once the series turns back from its peak, and
// after a spike a calm probe may not do so for weeks.
func (s *search) lastLow(w []detect.Wetting) (int, bool) {
	from := 0
	if n := len(w); n > 0 {
		from = s.p.From(w[n-1].Peak)
	}
	low, high := from, from
	for i := from; i < len(s.w); i++ {
		if s.w[i] <= s.w[low] {
			low, high = i, i
		} else if s.w[i] > s.w[high] {
			high = i
		}
	}
	return low, low < len(s.w) && s.w[high]-s.w[low] >= s.leastFall
}

// speed of a leg in wetness per hour: six tenths of the depth in its time.
func speed(depth float64, leg int64) float64 { return 0.6 * depth / detect.Hours(leg) }

// shape measures the excursion around the trough at k. ok is false where it is
// none: too long, too shallow, impossible, or not back where it was.
func (s *search) shape(k int) (c spike, ok bool) {
	t, w := s.t, s.w
	if s.limits.Outside(s.v[k]) {
		return c, false // another detector's
	}
	c.trough = w[k]
	high := [2]float64{c.trough, c.trough}
	for i := k; i >= 0 && t[k]-t[i] <= s.stay; i-- {
		high[0] = max(high[0], w[i])
	}
	for i := k; i < len(w) && t[i]-t[k] <= s.stay; i++ {
		high[1] = max(high[1], w[i])
	}
	rough := min(high[0], high[1]) - c.trough
	if rough < s.leastFall {
		return c, false
	}
	// From the last reading before it to the first after it above half the height.
	half := c.trough + rough/2
	e, x := k, k
	for e >= 0 && w[e] < half {
		e--
	}
	for x < len(w) && w[x] < half {
		x++
	}
	if e < 0 || x == len(w) || t[x]-t[e] > s.stay+s.p.Cadence() {
		return c, false
	}
	lead := (t[x] - t[e]) / 2
	var okBefore, okAfter bool
	c.before, okBefore = s.level(t[e]-lead, e, -1)
	c.after, okAfter = s.level(t[x]+lead, x, +1)
	if !okBefore || !okAfter {
		return c, false
	}
	base := min(c.before, c.after)
	c.depth = base - c.trough
	scale := max(s.p.Scale(s.v[k]), s.p.Scale(s.p.Quantity().Dryness(base)))
	c.need = max(s.leastFall, s.p.Param("noise_scales")*s.p.Noise(), s.p.Param("counts")*scale)
	if c.depth < c.need || math.Abs(c.after-c.before) > s.p.Param("return_share")*c.depth {
		return c, false
	}
	upper, lower := c.trough+0.8*c.depth, c.trough+0.2*c.depth
	a, b := e, e+1
	for a > 0 && w[a] < upper {
		a--
	}
	for b < k && w[b] > lower {
		b++
	}
	y, z := x-1, x
	for y > k && w[y] > lower {
		y--
	}
	for z < len(w)-1 && w[z] < upper {
		z++
	}
	c.first, c.last = a+1, z
	c.fall, c.rise = t[b]-t[a], t[z]-t[y]
	c.Span = detect.Span{Start: t[c.first], End: t[c.last]}
	return c, c.first < c.last
}

// level is the median of up to eight readings from the instant on, backwards or
// forwards from reading i. ok is false with fewer than three within half
// the longest stay.
func (s *search) level(from int64, i, way int) (float64, bool) {
	for i >= 0 && i < len(s.t) && int64(way)*(from-s.t[i]) > 0 {
		i += way
	}
	var x, scratch [8]float64
	n := 0
	for ; n < len(x) && i >= 0 && i < len(s.t) && int64(way)*(s.t[i]-from) <= s.stay/2; i += way {
		x[n] = s.w[i]
		n++
	}
	if n < 3 {
		return 0, false
	}
	return robust.Median(x[:n], scratch[:]), true
}

// fresh says whether the trough is drier than the day before the excursion was.
func (s *search) fresh(c *spike) bool {
	s.scratch = s.scratch[:0]
	known := len(s.spikes) - 1
	for i := c.first - 1; i >= 0 && s.t[c.first]-s.t[i] <= detect.Day; i-- {
		for known >= 0 && i < s.spikes[known].first {
			known--
		}
		if known >= 0 && i < s.spikes[known].last {
			continue // an earlier spike is no witness
		}
		s.scratch = append(s.scratch, s.w[i])
	}
	return s.drierThan(c)
}

// drierThan says whether a trough is drier than the readings in scratch, of the day
// before it.
func (s *search) drierThan(c *spike) bool {
	n := len(s.scratch)
	if n < 3 {
		return false
	}
	s.scratch = append(s.scratch, s.scratch...)
	driest := robust.Quantile(s.scratch[:n], s.scratch[n:], 0.1)
	return c.trough <= driest-s.p.Param("fresh_share")*c.depth
}

// scatter is the noise of the readings around a spike, in wetness: of those within
// near_hours on either side, outside of it and of the spikes before. Among readings
// that jump about, one that goes far to the dry side is noise.
func (s *search) scatter(c *spike) float64 {
	near := s.p.ParamHours("near_hours")
	s.scratch = s.scratch[:0]
	add := func(i int) {
		s.scratch = append(s.scratch, math.Abs(s.w[i-1]-2*s.w[i]+s.w[i+1]))
	}
	known := len(s.spikes) - 1
	for i := c.first - 2; i > 0 && s.t[c.first]-s.t[i] <= near; i-- {
		for known >= 0 && i < s.spikes[known].first-1 {
			known--
		}
		if known < 0 || i > s.spikes[known].last {
			add(i)
		}
	}
	for i := c.last + 1; i < len(s.w)-1 && s.t[i]-s.t[c.last] <= near; i++ {
		add(i)
	}
	n := len(s.scratch)
	if n < 6 {
		return 0
	}
	s.scratch = append(s.scratch, s.scratch...)
	// The upper quartile: half of what is around may lie before the pump began.
	return robust.Quantile(s.scratch[:n], s.scratch[n:], 0.75) / 1.1503 / math.Sqrt(6)
}

// frozen says whether the soil was as cold as ice.
func (s *search) frozen(c *spike) bool {
	if !s.p.Has(detect.NeedTemperature) {
		return false
	}
	for _, x := range s.p.Temperature()[c.first:c.last] {
		if float64(x) < s.p.Param("frost_c") {
			return true
		}
	}
	return false
}

// water says whether any is logged between two instants.
func (s *search) water(from, to int64) bool {
	if s.logged && meets(s.p.Irrigation(), from, to) {
		return true
	}
	return s.p.Has(detect.NeedRain) && meets(s.p.Rain(), from, to)
}

func meets(water []detect.Water, from, to int64) bool {
	for i := range water {
		if water[i].Start <= to && water[i].End >= from {
			return true
		}
	}
	return false
}

// usualHour is the 80 % quantile of the probe's changes over an hour (or over one
// step, if that is longer), per hour, never below what its noise makes of it.
func (s *search) usualHour() float64 {
	if s.asked {
		return s.hourly
	}
	s.asked = true
	cadence := max(s.p.Cadence(), detect.Minute)
	lag := max(1, int(detect.Hour/cadence))
	span := detect.Hours(int64(lag) * cadence)
	s.hourly = s.p.Noise() * math.Sqrt2 / span
	if n := len(s.w) - lag; n > 0 {
		x := make([]float64, 2*n)
		for i := range n {
			x[i] = math.Abs(s.w[i+lag] - s.w[i])
		}
		s.hourly = max(s.hourly, robust.Quantile(x[:n], x[n:], 0.8)/span)
	}
	return s.hourly
}
