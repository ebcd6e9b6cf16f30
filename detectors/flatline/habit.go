package flatline

import (
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/detectors/soil"
)

// perBlock is how many readings a day must have, to show what a day does; of slower
// series, so many readings are taken for a day: the range and the turns of fewer say
// nothing (common practice, no source).
const perBlock = 12

// block is one day of readings and how it moved.
type block struct {
	from, to int // readings, half-open
	pairs    int
	counts   float64 // how far it moved, in counts of the resolution, less the one that flickers
	turns    float64 // to and fro
	repeats  int     // pairs of equal readings
	slope    float64 // wetness of one standard unit at its level
	dead     bool    // it lies in the dead zone
	mm       float64 // demand in it, mm a day; NaN when unknown
}

// habit is how one series moves when it does not stand.
type habit struct {
	p      *detect.Pass
	t      []int64
	v      []float64
	q      detect.Quantity
	limits detect.Limits
	span   int64 // of a block
	stands []stand
	found  []stand // those that are no habit

	low, high     float64 // of the series
	driest        float64 // the highest value within the limits: of ohms and kPa
	blocks        []block
	events, moved int // waterings outside a stand, and those at which it moved
	rates         []float64
}

func newHabit(p *detect.Pass, stands []stand) *habit {
	h := &habit{p: p, t: p.Time(), v: p.Value(), q: p.Quantity(), limits: p.Limits(), stands: stands, span: max(detect.Day, perBlock*p.Cadence())}
	h.low, h.high = h.v[0], h.v[0]
	for _, v := range h.v {
		h.low, h.high = min(h.low, v), max(h.high, v)
		if !h.limits.Outside(v) {
			h.driest = max(h.driest, v)
		}
	}
	for from := 0; from < len(h.t); {
		to := from
		for to < len(h.t) && h.t[to]-h.t[from] < h.span {
			to++
		}
		h.blocks = append(h.blocks, h.day(from, to))
		from = to
	}
	return h
}

// day counts how one day moved.
func (h *habit) day(from, to int) block {
	b := block{from: from, to: to, mm: h.demand(h.t[from], h.t[from]+h.span) / detect.Days(h.span)}
	v := h.v[(from+to)/2]
	b.slope, b.dead = h.q.WetnessSlope(v), h.dead(v)
	way, low, high := 0.0, h.v[from], h.v[from]
	for i := from + 1; i < to; i++ {
		b.pairs++
		low, high = min(low, h.v[i]), max(high, h.v[i])
		d := h.v[i] - h.v[i-1]
		if d == 0 {
			b.repeats++
			continue
		}
		if d*way < 0 {
			b.turns++
		}
		way = d
	}
	if q := h.p.Quantum(); q > 0 {
		b.counts = max(0, (high-low)/q-1)
	}
	return b
}

// ofTension is a tension in kPa as a standard value of the quantity.
func (h *habit) ofTension(kPa float64) float64 {
	if h.q == detect.Ohms {
		ohms, _ := soil.GranularOhms(kPa, soil.ReferenceTempC)
		return ohms
	}
	return kPa
}

// dead says whether a value is so wet that the sensor does not respond.
func (h *habit) dead(v float64) bool {
	return h.q != detect.WaterContent && v <= h.ofTension(h.p.Param("dead_kpa"))
}

// explained says whether a stand is one that needs no evidence.
func (h *habit) explained(s *stand) bool {
	v := h.v[s.from]
	if h.q == detect.Tension && v == 0 && h.p.Kind() == detect.GranularMatrix {
		return true
	}
	if h.atScaleEnd(s) {
		return true
	}
	if v != h.low && v != h.high {
		return false
	}
	same := 0
	for _, o := range h.stands {
		if h.v[o.from] == v {
			same++
		}
	}
	return same >= int(h.p.Param("rail_stands")) && h.low != h.high
}

// atScaleEnd says whether a stand is at the dry end of the exported scale.
func (h *habit) atScaleEnd(s *stand) bool {
	return h.q != detect.WaterContent && h.p.Has(detect.NeedScaleEnd) && h.v[s.from] >= h.p.ScaleEnd().V-h.p.Quantum()
}

// ownEnd says whether a stand may be at the end of a scale that too few other probes
// show: at the driest value of the whole period, beyond never_dry_kpa, into which
// the series slid and from which it did not leap.
func (h *habit) ownEnd(s *stand) bool {
	v := h.v[s.from]
	if h.q == detect.WaterContent || v < h.ofTension(h.p.Param("never_dry_kpa")) || v < h.driest-h.p.Quantum() {
		return false
	}
	w := h.p.Wetness()
	if s.from > 0 {
		limit := max(h.p.Param("move_noise")*h.p.Noise(), h.p.Param("move_counts")*h.p.Quantum()*h.q.WetnessSlope(v))
		// Over a hole it may have slid on unheard.
		missed := float64(h.t[s.from]-h.t[s.from-1]) / float64(max(detect.Second, h.p.Cadence()))
		if math.Abs(w[s.from]-w[s.from-1]) > limit*max(1, missed) {
			return false
		}
	}
	return s.to == len(w) || math.Abs(w[s.to]-w[s.to-1]) < h.p.Leap(v)
}

// weigh adds up what speaks against a stand.
func (h *habit) weigh(s *stand) {
	s.record = 0
	dead := h.dead(h.v[s.from])
	readings := float64(s.to - s.from - 1)
	turns := h.expect(s, false, func(b *block) float64 { return b.turns / float64(b.pairs) })
	if turns < h.p.Param("flicker_share") || dead && h.q == detect.Tension && h.p.Kind() == detect.GranularMatrix {
		turns = 0
	}
	counts := 0.0
	if !dead {
		counts = h.slower(s) * h.expect(s, true, func(b *block) float64 { return b.counts / float64(b.pairs) })
	}
	if h.span > detect.Day {
		// Over hours the soil moves by counts between two readings, whatever it moved
		// by, and what one that repeats the last is worth is how rarely one does.
		most := h.surprise(s)
		turns, counts = min(turns, most), min(counts, most)
		if q := h.p.Quantum(); s.to < len(h.v) && q > 0 {
			// What hung comes back to where the soil has gone meanwhile.
			counts = min(counts, math.Abs(h.v[s.to]-h.v[s.from])/q/readings)
		}
	}
	s.nats, s.expected, s.turns = readings*turns*h.p.Param("turn_weight"), readings*turns, true
	if x := readings * counts * h.p.Param("count_weight"); x > s.nats {
		s.nats, s.expected, s.turns = x, readings*counts, false
	}
	if !dead {
		times := h.record(s)
		if x := min(h.p.Param("record_most"), h.p.Param("record_weight")*(times-1)); x > s.nats {
			s.nats, s.record = x, times
		}
	}
	s.nats += h.sleep(s)
}

// surprise is minus the logarithm of the share of readings that repeat the one before,
// in the blocks in which most do.
func (h *habit) surprise(s *stand) float64 {
	dead := h.dead(h.v[s.from])
	h.rates = h.rates[:0]
	for i := range h.blocks {
		if b := &h.blocks[i]; b.dead == dead && 2*b.pairs >= h.inBlock() && !h.touches(b, s) {
			h.rates = append(h.rates, float64(b.repeats+1)/float64(b.pairs+2)) // the rule of succession
		}
	}
	n := len(h.rates)
	if n == 0 {
		return 0
	}
	h.rates = append(h.rates, h.rates...)
	return -math.Log(robust.Quantile(h.rates[:n], h.rates[n:], 1-h.p.Param("calm_share")))
}

// record is how many times as long a stand is as the longest other one outside
// the dead zone, each at the reach of a count at its level.
func (h *habit) record(s *stand) float64 {
	reach := func(x *stand) float64 {
		return detect.Hours(h.t[x.to-1]-h.t[x.from]) / h.q.WetnessSlope(h.v[x.from])
	}
	slope := h.q.WetnessSlope(h.v[s.from])
	other := h.p.Param("stand_hours") / slope
	for i := range h.stands {
		o := &h.stands[i]
		if o.from == s.from || h.dead(h.v[o.from]) || slices.ContainsFunc(h.found, func(f stand) bool { return f.from == o.from }) {
			continue
		}
		other = max(other, reach(o))
	}
	return reach(s) / other
}

// expect is the habit that a stand is held against, of a rate by reading, at its
// level: that of the calm days; for what the soil does also no more than that of
// the middle one of the days next to it, since a soil may come to rest.
func (h *habit) expect(s *stand, soil bool, of func(*block) float64) float64 {
	slope, dead := h.q.WetnessSlope(h.v[s.from]), h.dead(h.v[s.from])
	rate := func(b *block) float64 { return of(b) * b.slope / slope }
	fits := func(b *block) bool { return b.dead == dead && 2*b.pairs >= h.inBlock() && !h.touches(b, s) }
	var near, scratch [6]float64 // three days before, three after
	h.rates = h.rates[:0]
	n := 0
	for i := len(h.blocks) - 1; i >= 0; i-- {
		if b := &h.blocks[i]; fits(b) {
			h.rates = append(h.rates, rate(b))
			if b.to <= s.from && n < 3 {
				near[n] = rate(b)
				n++
			}
		}
	}
	for i, after := 0, 0; i < len(h.blocks) && after < 3; i++ {
		if b := &h.blocks[i]; b.from >= s.to && fits(b) {
			near[n] = rate(b)
			n, after = n+1, after+1
		}
	}
	days := len(h.rates)
	if days < int(h.p.Param("history_days")) {
		return 0
	}
	h.rates = append(h.rates, h.rates...)
	habit := robust.Quantile(h.rates[:days], h.rates[days:], h.p.Param("calm_share"))
	if soil && n > 0 {
		habit = min(habit, robust.Median(near[:n], scratch[:]))
	}
	return habit
}

// inBlock is how many readings a whole block has.
func (h *habit) inBlock() int { return int(h.span / max(detect.Second, h.p.Cadence())) }

// touches says whether a day shares readings with the stand or with one that was
// found, which are no habit.
func (h *habit) touches(b *block, s *stand) bool {
	if b.from < s.to && s.from < b.to {
		return true
	}
	for i := range h.found {
		if b.from < h.found[i].to && h.found[i].from < b.to {
			return true
		}
	}
	return false
}

// slower is the demand during the stand as a share of that of the other days, at
// most 1; 1 where it is not known.
func (h *habit) slower(s *stand) float64 {
	if !h.p.Has(detect.NeedDemand) {
		return 1
	}
	sum, n := 0.0, 0.0
	for i := range h.blocks {
		if b := &h.blocks[i]; b.mm == b.mm && !h.touches(b, s) {
			sum += b.mm
			n++
		}
	}
	from, to := h.t[s.from], h.t[s.to-1]
	mm := h.demand(from, to) / detect.Days(to-from)
	if mm != mm || !(sum > 0) {
		return 1
	}
	return min(1, mm/(sum/n))
}

// demand in mm between two instants; NaN when half of it is not known.
func (h *habit) demand(from, to int64) float64 {
	if !h.p.Has(detect.NeedDemand) {
		return math.NaN()
	}
	span := detect.Span{Start: from, End: to}
	mm, covered := 0.0, int64(0)
	for _, d := range h.p.Demand() {
		if d.Start >= to {
			break
		}
		if both := d.Overlap(span).Length(); both > 0 {
			mm += d.MM * float64(both) / float64(d.Length())
			covered += both
		}
	}
	if 2*covered < span.Length() || covered == 0 {
		return math.NaN()
	}
	return mm * float64(span.Length()) / float64(covered)
}

// sleep is the evidence of the waterings that lie within a stand.
func (h *habit) sleep(s *stand) float64 {
	s.waters, h.events, h.moved = 0, 0, 0
	if !h.p.Has(detect.NeedIrrigation) || h.dead(h.v[s.from]) {
		return 0
	}
	answer := h.p.ParamHours("answer_hours")
	w := h.p.Wetness()
	for _, e := range h.p.Irrigation() {
		a, b := h.p.From(e.Start), h.p.From(e.End+answer)
		switch {
		case e.Start >= h.t[s.from] && e.End+answer <= h.t[s.to-1]:
			if int64(b-a)*h.p.Cadence() > (e.End+answer-e.Start)/2 { // it was heard
				s.waters++
			}
		case a == 0 || b == len(h.t) || a >= b || h.touches(&block{from: a, to: b}, s) || h.dead(h.v[a]):
		default:
			h.events++
			low, rise := w[a], 0.0
			for i := a; i < b; i++ {
				low = min(low, w[i])
				rise = max(rise, w[i]-low)
			}
			if rise > max(h.p.Param("move_counts")*h.p.Quantum()*h.q.WetnessSlope(h.v[a]), h.p.Param("move_noise")*h.p.Noise()) {
				h.moved++
			}
		}
	}
	if s.waters == 0 || h.events == 0 {
		return 0
	}
	share, _ := robust.Wilson(h.moved, h.events, h.p.Param("wilson_z"))
	return -float64(s.waters) * math.Log1p(-min(share, 0.99))
}

// fillsWindow says whether a stand is most of the window.
func (h *habit) fillsWindow(s *stand) bool {
	window := h.p.Period().Window
	first := h.p.From(window.Start)
	inside := min(s.to, len(h.t)) - max(s.from, first)
	return float64(inside) >= h.p.Param("most_share")*float64(len(h.t)-first) && inside > 0
}
