package missingresponse

import (
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/detectors/soil"
)

// event is one watering and what the probe did.
type event struct {
	detect.Span         // of the water
	until       int64   // end of the window in which an answer counts
	mm          float64 // applied depth
	sized       bool    // the depth is known
	from, to    int     // readings of the window
	level       float64 // wetness before it
	rise        float64 // largest rise above the running minimum
	peak        int64   // when that was reached
	blind       bool    // rained over, or too few readings
	strong      bool
}

// study holds what one series is judged with.
type study struct {
	p        *detect.Pass
	t        []int64
	v, w     []float64
	rain     []detect.Water
	rainMM   float64
	response int64
	unit     float64 // what quiet time brings, in wetness
	end      float64 // wetness at and below which the scale ends
	hasEnd   bool
	dead     float64 // wetness above which the sensor hardly responds
}

// maxHalf keeps the smoothing within what the rolling median does without
// allocating.
const maxHalf = 120

func newStudy(p *detect.Pass) *study {
	s := &study{p: p, t: p.Time(), v: p.Value(), rainMM: p.Param("rain_mm"), response: hours(p.Param("response_hours"))}
	if p.Has(detect.NeedRain) {
		s.rain = p.Rain()
	}
	// An answer lasts for hours; noise does not.
	half := int(hours(p.Param("smooth_hours")) / max(1, p.Cadence()) / 2)
	s.w = p.Wetness()
	if half > 0 {
		s.w = robust.RollingMedian(make([]float64, len(s.t)), p.Wetness(), min(half, maxHalf))
	}
	q := p.Quantity()
	s.dead = math.Inf(1)
	if q != detect.WaterContent {
		s.dead = q.Wetness(ofTension(q, p.Param("dead_kpa")))
	}
	if q != detect.WaterContent && p.Has(detect.NeedScaleEnd) {
		end := p.ScaleEnd().V
		s.end, s.hasEnd = q.Wetness(min(end-p.Quantum(), 0.98*end)), true
	} else if q != detect.WaterContent {
		s.end, s.hasEnd = s.ownEnd()
	}
	return s
}

// ownEnd is the wetness at and below which the probe itself may be at the end of its
// scale, though too few others show it: the driest that it ever was, if it is
// dry enough and stood there.
func (s *study) ownEnd() (float64, bool) {
	q := s.p.Quantity()
	limits := s.p.Limits()
	driest := 0.0
	for _, v := range s.v {
		if !limits.Outside(v) {
			driest = max(driest, v)
		}
	}
	least := s.p.Param("end_kpa")
	if s.p.Kind() == detect.Tensiometer {
		least = s.p.Param("gauge_kpa")
	}
	if driest < ofTension(q, least) {
		return 0, false
	}
	there := q.Wetness(driest) + 2*s.p.Scale(driest)
	readings := 0
	for _, w := range s.w {
		if w <= there {
			readings++
		}
	}
	return there, int64(readings)*s.p.Cadence() >= hours(s.p.Param("end_hours"))
}

func hours(h float64) int64 { return int64(h * float64(detect.Hour)) }

// ofTension is a tension in kPa as a standard value of the quantity.
func ofTension(q detect.Quantity, kPa float64) float64 {
	if q == detect.Ohms {
		ohms, _ := soil.GranularOhms(kPa, soil.ReferenceTempC)
		return ohms
	}
	return kPa
}

// events are the zone's waterings while the probe was heard, pulses merged, each
// with what the probe did. The last one is left out while its window still runs
// for more than half of its length.
func (s *study) events() []event {
	var list []event
	merge := hours(s.p.Param("merge_hours"))
	end := s.p.Period().Window.End
	for _, water := range s.p.Irrigation() {
		if water.Start >= end || water.Start < s.t[0] {
			continue
		}
		if n := len(list); n > 0 && water.Start-list[n-1].End < merge {
			list[n-1].End = max(list[n-1].End, water.End)
			list[n-1].mm += water.MM.V
			list[n-1].sized = list[n-1].sized && water.MM.OK
			continue
		}
		list = append(list, event{Span: water.Span, mm: water.MM.V, sized: water.MM.OK})
	}
	for i := range list {
		e := &list[i]
		e.until = e.End + s.response
		if i+1 < len(list) {
			e.until = min(e.until, list[i+1].Start)
		}
	}
	if n := len(list); n > 0 && end < list[n-1].End+s.response/2 {
		list = list[:n-1]
	}
	for i := range list {
		s.measure(&list[i])
	}
	return list
}

// measure takes the level before a watering and the rise after it.
func (s *study) measure(e *event) {
	e.from, e.to = s.p.From(e.Start), s.p.From(e.until)
	expected := float64(min(e.until, s.p.Period().Window.End)-e.Start) / float64(max(1, s.p.Cadence()))
	if e.from == 0 || float64(e.to-e.from) < s.p.Param("covered_share")*expected ||
		s.t[e.from]-s.t[e.from-1] > s.response/2 || s.raining(e.Start-detect.Day/2, e.until) {
		e.blind = true
		return
	}
	var x, scratch [8]float64
	n := 0
	for i := e.from - 1; i >= 0 && n < len(x); i-- {
		x[n] = s.w[i]
		n++
	}
	e.level = robust.Median(x[:n], scratch[:])
	low := e.level
	for i := e.from; i < e.to; i++ {
		low = min(low, s.w[i])
		if r := s.w[i] - low; r > e.rise {
			e.rise, e.peak = r, s.t[i]
		}
	}
}

func (s *study) raining(from, to int64) bool {
	for i := range s.rain {
		r := &s.rain[i]
		if r.Start >= to {
			return false
		}
		if r.End > from && (!r.MM.OK || r.MM.V >= s.rainMM) {
			return true
		}
	}
	return false
}

// rise is the largest rise above the running minimum among readings from-to.
func (s *study) rise(from, to int) float64 {
	if from >= to {
		return 0
	}
	low, most := s.w[from], 0.0
	for _, w := range s.w[from:to] {
		low = min(low, w)
		most = max(most, w-low)
	}
	return most
}

// unitOfQuiet finds what quiet time brings: windows between the end of one
// watering's answer and the next watering, and before the first.
func (s *study) unitOfQuiet(events []event) {
	quiet := hours(s.p.Param("quiet_hours"))
	var rises []float64
	add := func(from, to int64) {
		for ; from+quiet <= to; from += quiet {
			end := from + quiet
			if to-end < quiet {
				end = to // what is too short for a window of its own
			}
			a, b := s.p.From(from), s.p.From(end)
			if float64(b-a)*float64(s.p.Cadence()) >= s.p.Param("covered_share")*float64(quiet) && !s.raining(from-detect.Day, end) {
				rises = append(rises, s.rise(a, b))
			}
			if end == to {
				return
			}
		}
	}
	last := s.t[0]
	level, seen := 0.0, 0
	for _, e := range events {
		add(last, e.Start)
		last = e.End + s.response
		if !e.blind {
			level += e.level
			seen++
		}
	}
	level /= float64(max(1, seen))
	add(last, s.t[len(s.t)-1])
	s.unit = s.p.Param("noise_scales") * s.p.Scale(s.p.Quantity().Dryness(level))
	if len(rises) >= 3 {
		median, mad := robust.MAD(rises, make([]float64, len(rises)))
		s.unit = max(s.unit, median+s.p.Param("quiet_deviations")*robust.Consistency*mad)
	}
}

// history is the waterings that tell something, in order.
type history struct {
	counted []event
	answers int
	without int // unanswered ones that had no room to answer
}

// count leaves out the waterings that tell nothing, and marks those that were
// answered.
func (s *study) count(events []event) history {
	var h history
	least := s.p.Param("answer_units") * s.unit
	for i := range events {
		e := &events[i]
		if e.strong = !e.blind && e.rise >= least; e.strong {
			h.answers++
		}
	}
	wet := max(s.dead, secondPeak(events)-least) // wetter leaves no room for an answer
	for _, e := range events {
		switch {
		case e.blind:
		case !e.strong && h.answers > 0 && (e.level > wet || s.hasEnd && e.level <= s.end):
			h.without++
		default:
			h.counted = append(h.counted, e)
		}
	}
	return h
}
