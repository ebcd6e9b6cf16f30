package dryoutspike

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// side is the way that a sharp excursion goes.
type side float64

const (
	dry side = 1
	wet side = -1
)

// sharp finds the excursions to one side that begin from one reading to the next and
// come back within max_hours: the template of a spike, whose depth counts less the more
// often it comes. Looked for towards wet as well, it tells how often a series that only
// scatters shows it.
// Those towards wet are looked for outside of the others, whose return is none.
func (s *search) sharp(way side, others []spike) []spike {
	var out []spike
	next := 0
	for i := 1; i < len(s.w); {
		if float64(way)*(s.w[i-1]-s.w[i]) < s.small(i-1) {
			i++
			continue
		}
		known := out
		if way == wet {
			for next < len(others) && others[next].last < i {
				next++
			}
			if next < len(others) && i >= others[next].first {
				i = others[next].last + 1
				continue
			}
			known = others[:next]
		}
		c, ok := s.template(way, i, known)
		if !ok {
			i++
			continue
		}
		out = append(out, c)
		i = c.last
	}
	return out
}

// smallest is the least depth of a spike that comes again and again: in wetness, or in
// kPa of a tensiometer.
func (s *search) smallest() (least float64, inKPa bool) {
	switch {
	case s.p.Quantity() != detect.Tension:
		return s.p.Param("repeat_share") * s.leastFall, false
	case s.p.Kind() == detect.GranularMatrix:
		return s.p.Param("seam"), false
	}
	return s.p.Param("repeat_kpa"), true
}

// small is that depth at reading i, in wetness.
func (s *search) small(i int) float64 {
	if s.gauge {
		return s.least * detect.Tension.WetnessSlope(s.v[i])
	}
	return s.least
}

// template measures the excursion that begins at reading i, after those already found.
func (s *search) template(way side, i int, found []spike) (c spike, ok bool) {
	t, w, sign := s.t, s.w, float64(way)
	if s.limits.Outside(s.v[i]) || 2*(t[i]-t[i-1]) > 3*s.p.Cadence() {
		return c, false
	}
	sigma, base, good := s.around(i, found)
	if !good {
		return c, false
	}
	if sign > 0 {
		base = min(base, w[i-1])
	} else {
		base = max(base, w[i-1])
	}
	c.before, c.trough = base, w[i]
	c.depth = sign * (base - w[i])
	scale := max(sigma, s.p.Quantum()*s.p.Quantity().WetnessSlope(s.v[i-1]))
	c.need = max(s.small(i-1), s.p.Param("local_scales")*scale, s.p.Param("counts")*s.p.Quantum()*s.p.Quantity().WetnessSlope(s.v[i-1]))
	if c.depth < c.need {
		return c, false
	}
	k, j := i, i+1
	for ; j < len(w) && t[j]-t[i] <= s.stay/3; j++ {
		if s.limits.Outside(s.v[j]) {
			return c, false // another detector's
		}
		if sign*(w[k]-w[j]) > 0 {
			k = j
		}
		if sign*(base-w[j]) <= max(0.25*c.depth, 2*scale) {
			break
		}
		// Or nearly there, and at rest: the soil has dried meanwhile.
		if depth := sign * (base - w[k]); sign*(base-w[j]) <= s.p.Param("return_share")*depth && j > k && j+2 < len(w) &&
			math.Abs(w[j+1]-w[j]) < 2*scale && math.Abs(w[j+2]-w[j]) < 2*scale {
			break
		}
	}
	if j >= len(w) || t[j]-t[i] > s.stay/3 {
		return c, false
	}
	c.trough = w[k]
	c.depth = sign * (base - c.trough)
	rests := true
	for _, x := range s.scratch[:5] { // the last readings before it
		rests = rests && math.Abs(x-base) <= max(0.25*c.depth, 3*scale)
	}
	// The rest of the flank, as long as it still comes back.
	for j+1 < len(w) && sign*(base-w[j]) > 2*scale && sign*(w[j+1]-w[j]) > 0 && sign*(w[j+1]-base) < s.p.Param("return_share")*c.depth {
		j++
	}
	c.after = w[j]
	// What lands beyond where it was has answered to water, or is another level.
	beyond := s.p.Param("return_share")*c.depth + 2*scale
	if -sign*(base-w[j]) > beyond && (j+1 == len(w) || -sign*(base-w[j+1]) > beyond) {
		return c, false
	}
	c.rests = rests && s.restsAfter(j, base, s.p.Param("return_share")*c.depth+2*scale)
	c.first, c.last = i, j
	c.Span = detect.Span{Start: t[i], End: t[j]}
	c.fall, c.rise = t[i]-t[i-1], t[j]-t[k]
	return c, true
}

// around is the scatter of the readings before i outside of the spikes found, and the
// level of the last of them; not good where they are too few or too long ago.
func (s *search) around(i int, found []spike) (sigma, level float64, good bool) {
	const most = 26
	s.scratch = s.scratch[:0]
	f := len(found) - 1
	for j := i - 1; j >= 0 && len(s.scratch) < most && s.t[i]-s.t[j] <= 2*s.stay; j-- {
		if f >= 0 && j < found[f].last && j >= found[f].first {
			j = found[f].first
			f--
			continue
		}
		s.scratch = append(s.scratch, s.w[j])
	}
	n := len(s.scratch)
	if n < 5 {
		return 0, 0, false
	}
	s.bends = s.bends[:0]
	for j := 1; j < n-1; j++ {
		s.bends = append(s.bends, math.Abs(s.scratch[j-1]-2*s.scratch[j]+s.scratch[j+1]))
	}
	var scratch [most]float64
	sigma = robust.Consistency * robust.Median(s.bends, scratch[:len(s.bends)]) / math.Sqrt(6)
	if s.gauge {
		// A gauge scatters alike over its range, which is no share of the reading.
		sigma = max(sigma, s.p.Quantum()*detect.Tension.WetnessSlope(s.v[i-1]))
	} else {
		sigma = max(sigma, s.p.Noise()/2, s.p.Quantity().SensorNoise())
	}
	level = robust.Median(s.scratch[:5], scratch[:5])
	return sigma, level, true
}

// repeated adds the spikes of the template to those found singly, where there are
// enough of them and few or none like them towards wet; it says whether the excursions
// go to both sides, as those of a noisy probe do.
func (s *search) repeated() (bothWays bool) {
	all := s.sharp(dry, nil)
	if len(all)+len(s.spikes) == 0 {
		return false
	}
	up := 0
	back := s.p.ParamHours("water_hours")
	for _, c := range s.sharp(wet, all) {
		if !s.water(c.Start-back, c.End) {
			up++
		}
	}
	kept := make([]spike, 0, len(all))
	for _, c := range all {
		if s.sound(&c, all) {
			kept = append(kept, c)
		}
	}
	if up >= 2 && 2*up > max(len(kept), len(s.spikes)) {
		return true
	}
	held := int64(0)
	for _, c := range kept {
		held += c.Length()
	}
	if n := len(kept); n > 0 && 2*held > kept[n-1].End-kept[0].Start && n >= int(s.p.Param("repeats")) {
		return false // where it is most of the time is no spike but another state
	}
	total := len(kept)
	for _, o := range s.spikes {
		if !slices.ContainsFunc(kept, func(c spike) bool { return o.first < c.last && c.first < o.last }) {
			total++
		}
	}
	if total < int(s.p.Param("repeats")) || float64(up) > s.p.Param("mirrored")*float64(len(kept)) {
		return false
	}
	for _, c := range kept {
		if !slices.ContainsFunc(s.spikes, func(o spike) bool { return o.first < c.last && c.first < o.last }) {
			s.spikes = append(s.spikes, c)
			continue
		}
		for k := range s.spikes {
			o := &s.spikes[k]
			if o.first < c.last && c.first < o.last { // both flanks
				o.first, o.last = min(o.first, c.first), max(o.last, c.last)
				o.Span = detect.Span{Start: s.t[o.first], End: s.t[o.last]}
			}
		}
	}
	slices.SortFunc(s.spikes, func(a, b spike) int { return a.first - b.first })
	return false
}

// sound says whether neither frost nor water explains a spike of the template.
func (s *search) sound(c *spike, all []spike) bool {
	quick := max(s.p.ParamHours("quick_hours"), s.p.Cadence())
	if s.frozen(c) {
		return false
	}
	s.bound(c)
	if !s.logged && !c.beyond && !c.rests && c.rise > quick {
		return false
	}
	c.watered = s.water(s.t[c.first]-s.p.ParamHours("water_hours"), s.t[min(c.last, len(s.t)-1)])
	if c.watered && !c.beyond && c.depth < s.p.Param("gross_factor")*c.need {
		return false
	}
	if c.depth < s.p.Param("local_scales")*s.unrest(c, all) {
		return false
	}
	// What falls from rest and comes back to rest has not drained.
	if c.rests && (!c.watered || c.beyond && c.depth >= s.p.Param("gross_factor")*c.need) {
		return true
	}
	// What drains after a watering, or comes back from wet, is no drier than the day before.
	s.scratch = s.scratch[:0]
	for i := c.first - 1; i >= 0 && s.t[c.first]-s.t[i] <= detect.Day; i-- {
		if !slices.ContainsFunc(all, func(o spike) bool { return i >= o.first && i < o.last }) {
			s.scratch = append(s.scratch, s.w[i])
		}
	}
	return s.drierThan(c)
}

// unrest is the scatter of the readings within near_hours of a spike, outside of all: a
// probe that begins to scatter was calm before.
func (s *search) unrest(c *spike, all []spike) float64 {
	near := s.p.ParamHours("near_hours")
	k, _ := slices.BinarySearchFunc(all, s.t[c.first]-near, func(o spike, t int64) int { return cmp.Compare(o.End, t) })
	return max(s.bendsOf(from(s.t, s.t[c.first]-near), c.first, all[k:]), s.bendsOf(c.last, from(s.t, s.t[c.last]+near+1), all[k:]))
}

// bendsOf is the scatter of the readings [i, end) outside of some spikes, 0 where too
// few tell.
func (s *search) bendsOf(i, end int, spikes []spike) float64 {
	s.scratch = s.scratch[:0]
	k := 0
	for i = max(i, 1); i < min(end, len(s.w)-1); i++ {
		for k < len(spikes) && spikes[k].last < i-1 {
			k++
		}
		if k < len(spikes) && i+1 >= spikes[k].first {
			continue
		}
		s.scratch = append(s.scratch, math.Abs(s.w[i-1]-2*s.w[i]+s.w[i+1]))
	}
	n := len(s.scratch)
	if n < 3 {
		return 0
	}
	s.scratch = append(s.scratch, s.scratch...)
	return robust.Quantile(s.scratch[:n], s.scratch[n:], 0.75) / 1.1503 / math.Sqrt(6)
}

// from is the first reading at an instant or after it.
func from(t []int64, at int64) int {
	i, _ := slices.BinarySearch(t, at)
	return i
}

// restsAfter says whether most of the readings from j on stay near a level.
func (s *search) restsAfter(j int, level, tolerance float64) bool {
	n, near := 0, 0
	for i := j; i < min(j+6, len(s.w)); i++ {
		n++
		if math.Abs(s.w[i]-level) <= tolerance {
			near++
		}
	}
	return 2*near >= n
}
