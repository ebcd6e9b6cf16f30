package shortcircuit

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
)

// scan is one pass over a moisture series.
type scan struct {
	p      *detect.Pass
	q      detect.Quantity
	t      []int64
	v, w   []float64
	seen   int64
	least  int
	rejoin int64
	hidden detect.Why
	// The largest and the second largest step towards wet of the whole series, and
	// where the largest is: what the probe itself does when water comes.
	largest, second float64
	largestAt       int
	driest          float64 // the greatest value of ohms and kPa
}

func newScan(p *detect.Pass) *scan {
	s := &scan{
		p: p, q: p.Quantity(), t: p.Time(), v: p.Value(), w: p.Wetness(),
		seen: int64(p.Param("seen_steps") * float64(p.Cadence())), least: int(p.Param("min_readings")),
		rejoin: p.ParamHours("rejoin"),
	}
	s.driest = math.Inf(-1)
	for _, v := range s.v {
		s.driest = math.Max(s.driest, v)
	}
	for i := 1; i < len(s.w); i++ {
		switch step := s.w[i] - s.w[i-1]; {
		case s.t[i]-s.t[i-1] > s.seen:
		case step > s.largest:
			s.largest, s.second, s.largestAt = step, s.largest, i
		case step > s.second:
			s.second = step
		}
	}
	return s
}

// alien says whether the series came to reading i by a step towards wet that the
// probe makes nowhere else: several times the largest of its other steps, and far
// above its noise. A block that is wet already has not far to go to zero, so its
// short is no leap in the sense of leapt; but water takes many readings for that.
func (s *scan) alien(i int) bool {
	if i == 0 || s.t[i]-s.t[i-1] > s.seen || s.t[i]-s.t[0] < int64(s.p.Param("own_days")*float64(detect.Day)) || s.parted(i-1) {
		return false
	}
	step := s.w[i] - s.w[i-1]
	if step < s.p.Param("own_step")*s.others(i) {
		return false
	}
	if step >= 12*s.p.Scale(s.v[i-1]) {
		return true
	}
	// From a few whole kPa zero is only a few steps of the resolution away. Then it
	// counts where it is no rounding and where no logged water can have done it.
	return step >= s.p.Param("own_quanta")*s.p.Quantum()*s.q.WetnessSlope(s.v[i-1]) && step >= 12*s.p.Noise() &&
		s.p.Has(detect.NeedRain) && s.p.Has(detect.NeedIrrigation) &&
		!watered(s.p, detect.Span{Start: s.t[i] - detect.Day, End: s.t[i] + s.p.Cadence()})
}

// leapt says whether the series came to reading i by a leap towards wet. A way back
// from an open lead is none: the soil may have wetted while nobody could see it.
func (s *scan) leapt(i int) bool {
	return i > 0 && s.t[i]-s.t[i-1] <= s.seen && !s.parted(i-1) && s.w[i]-s.w[i-1] >= s.p.Leap(s.v[i-1])
}

// parted says whether reading k ends a dead stretch of an open lead: of equal values,
// as dry as the series ever was, or beyond what soil can be.
func (s *scan) parted(k int) bool {
	if s.q == detect.WaterContent {
		return s.v[k] < s.p.Limits().Low
	}
	if s.v[k] > s.p.Limits().High {
		return true
	}
	return k+1 >= s.least && s.v[k] == s.driest && s.v[k-1] == s.v[k] && s.v[k-s.least+1] == s.v[k]
}

// slid says whether it came there by a step that a soil makes.
func (s *scan) slid(i int) bool {
	return i > 0 && s.t[i]-s.t[i-1] <= s.seen && s.w[i]-s.w[i-1] < s.p.Leap(s.v[i-1])/2
}

// joined says whether reading j goes on from the one before: over a longer silence
// nobody knows what stood there.
func (s *scan) joined(j int) bool { return s.t[j]-s.t[j-1] <= s.rejoin }

// dead says whether the readings i to j lie within two steps of the resolution or
// two of the sensor's least scatter.
func (s *scan) dead(i, j int) bool {
	low, high := s.v[i], s.v[i]
	for _, v := range s.v[i+1 : j] {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return high-low <= math.Max(2*s.p.Quantum(), 2*s.q.SensorNoise()/s.q.WetnessSlope(s.v[i]))
}

// below finds stretches of ohms, or of negative kPa, under a limit.
func (s *scan) below(limit float64) []spell {
	var out []spell
	for i := 0; i < len(s.v); {
		if s.v[i] >= limit {
			i++
			continue
		}
		j, deep := i+1, 0
		if s.v[i] < limit/2 {
			deep++
		}
		for ; j < len(s.v) && s.v[j] < limit && s.joined(j); j++ {
			if s.v[j] < limit/2 {
				deep++
			}
		}
		if j-i >= s.least && !s.strewn(i, j) {
			confidence := confidenceNear
			switch {
			case s.q == detect.Ohms && 2*deep >= j-i, s.dead(i, j):
				confidence = confidenceBeyond
			case s.slid(i):
				confidence = confidenceSlid
			}
			out = append(out, s.spell(i, j, beyond, confidence, limit))
		}
		i = j
	}
	return out
}

// strewn says whether most of the readings of a stretch lie further below zero than a
// converter is off, and wander: leads that touch have little resistance, and never
// less than none. That is out_of_range's. In kPa no resistance at all is as far below
// zero as the conversion reaches, and a fifth of the readings beyond that are enough.
func (s *scan) strewn(i, j int) bool {
	share := 0.5
	var least float64
	switch s.q {
	case detect.Ohms:
		if s.dead(i, j) {
			return false
		}
		least = -s.p.Param("offset_ohms")
	case detect.Tension:
		least, share = s.p.Param("least_kpa"), 0.2
	default:
		return false
	}
	n := 0
	for _, v := range s.v[i:j] {
		if v < least {
			n++
		}
	}
	return n > 0 && float64(n) >= share*float64(j-i)
}

// aboveSoil finds stretches of water content beyond what any mineral soil holds
// that came by a leap or stand still; and, above the porosity of the registered
// texture, those that did both and stood for days. What wanders there is
// out_of_range.
func (s *scan) aboveSoil() []spell {
	limit := s.p.Limits().High
	pores := limit
	if s.p.Has(detect.NeedTexture) {
		if texture, ok := soil.TextureNamed(s.p.Texture()); ok {
			pores = math.Min(limit, texture.ThetaS+s.p.Param("porosity_margin"))
		}
	}
	stand := int64(s.p.Param("porosity_days") * float64(detect.Day))
	var out []spell
	for i := 0; i < len(s.v); {
		if s.v[i] <= pores {
			i++
			continue
		}
		j, past := i+1, 0
		if s.v[i] > limit {
			past++
		}
		other := 0
		if s.v[i] > s.p.Param("most_water") {
			other++
		}
		for ; j < len(s.v) && s.v[j] > pores && s.joined(j); j++ {
			if s.v[j] > limit {
				past++
			}
			if s.v[j] > s.p.Param("most_water") {
				other++
			}
		}
		if j-i >= s.least && 2*other < j-i {
			came, dead := s.leapt(i), s.dead(i, j)
			switch {
			case 2*past >= j-i && past >= s.least && (dead || came && detect.Hours(s.t[j-1]-s.t[i]) >= s.p.Param("moving_hours")):
				out = append(out, s.spell(i, j, beyond, confidenceBeyond, limit))
			case came && dead && s.t[j-1]-s.t[i] >= stand:
				out = append(out, s.spell(i, j, beyond, confidencePores, pores))
			}
		}
		i = j
	}
	return out
}

// still finds what a short leaves in an export of kPa: values below what the least
// resistance gives, a constant low value that wet soil would have left, or the
// conversion of no resistance, which moves with nothing but the temperature.
func (s *scan) still() []spell {
	negative := s.p.Param("negative_kpa")
	if s.p.Kind() == detect.Tensiometer {
		negative = math.Inf(-1) // ponding; below its limits it has no signal (open_circuit)
	}
	var out []spell
	if !math.IsInf(negative, -1) {
		out = s.below(negative)
	}
	zone := s.p.Param("dead_zone")
	var standings []spell
	for i := 0; i < len(s.v); {
		if s.v[i] > zone || s.v[i] < negative || !s.telling(s.v[i]) {
			i++
			continue
		}
		j := i + 1
		for j < len(s.v) && s.v[j] == s.v[i] && s.joined(j) {
			j++
		}
		if s.t[j-1]-s.t[i] >= s.stand(i) && j-i >= s.least {
			standings = s.standing(standings, i, j)
		} else {
			s.hide(i, j)
		}
		i = j
	}
	return merge(merge(out, standings), s.following())
}

// stand is how long a constant must last before anything can be said of it.
func (s *scan) stand(i int) int64 {
	if s.alien(i) {
		return s.p.ParamHours("own_hours")
	}
	return s.p.ParamHours("leap_hours")
}

// telling says whether an exact constant at this value tells anything: zero does,
// where an export stops; above it only a resolution fine enough to show the
// sensor's own scatter does, since whole kPa stand still in any calm week.
func (s *scan) telling(v float64) bool {
	if v <= 0 {
		return true
	}
	if s.p.Quantum() == 0 && v == math.Trunc(v) {
		return false // too few changes to show a resolution, and nothing finer written
	}
	return s.p.Quantum()*s.q.WetnessSlope(v) <= 2*s.q.SensorNoise()
}

// standing decides about one exactly constant stretch in the dead zone.
func (s *scan) standing(out []spell, i, j int) []spell {
	from, to := s.t[i], s.t[j-1]
	logged := s.p.Has(detect.NeedRain) && s.p.Has(detect.NeedIrrigation)
	known := s.p.Has(detect.NeedDemand)
	leapt := s.leapt(i)
	length, demand := dryTime(s.p, from, to)
	days, alone := detect.Days(length), s.p.Param("dry_days_alone")

	// An emptied tensiometer stands near zero through any drought (lost_suction): there
	// only a step that water does not make tells of a lead.
	drought := s.p.Kind() != detect.Tensiometer
	confidence, why := 0.0, ""
	switch {
	case drought && logged && known && days >= s.p.Param("dry_days") && demand >= s.p.Param("demand_mm"):
		confidence = confidenceDemand
		why = fmt.Sprintf("through %.1f days of dry weather, drainage over, in which the sky asked for %.0f mm", days, demand)
	case logged && leapt && !watered(s.p, detect.Span{Start: from - detect.Day, End: from + s.p.Cadence()}):
		confidence = confidenceLeap
		why = fmt.Sprintf("after a leap from %.4g kPa the reading before, with no water in the day before it", s.v[i-1])
	case drought && logged && !known && days >= alone:
		confidence = confidenceDry
		why = fmt.Sprintf("through %.1f days of dry weather, drainage over", days)
	case s.alien(i):
		confidence = confidenceAlien
		if !logged {
			confidence = confidenceAlone
		}
		why = fmt.Sprintf("after a step from %.4g kPa the reading before that it makes nowhere else, %.0f times its largest", s.v[i-1], (s.w[i]-s.w[i-1])/max(s.others(i), s.p.Scale(s.v[i-1])))
	case !logged && leapt && detect.Days(to-from) >= alone:
		confidence = confidenceAlone
		why = fmt.Sprintf("for %.1f days after a leap from %.4g kPa the reading before", detect.Days(to-from), s.v[i-1])
	}
	if confidence == 0 {
		s.hide(i, j)
		return out
	}
	one := s.spell(i, j, standing, confidence, s.p.Param("dead_zone"))
	one.why = why
	return append(out, one)
}

// others is the largest step towards wet but for the one to reading i.
func (s *scan) others(i int) float64 {
	if i == s.largestAt {
		return s.second
	}
	return s.largest
}

// hide keeps why a constant that still stands at the end could not be judged, if
// it has stood for so long that a short is in question.
func (s *scan) hide(i, j int) {
	if j != len(s.v) || j-i < s.least || s.p.Kind() == detect.Tensiometer {
		return
	}
	long := s.t[i] <= s.p.Period().Window.Start && detect.Days(s.t[j-1]-s.t[i]) >= s.p.Param("dry_days")
	if !long && !s.unusual(i, j) {
		return
	}
	logged := s.p.Has(detect.NeedRain) && s.p.Has(detect.NeedIrrigation)
	known := s.p.Has(detect.NeedDemand)
	stands := fmt.Sprintf("it has stood at exactly %.4g kPa since %s, as a short and a saturated soil do", s.v[i], detect.Stamp(s.t[i]))
	if !logged {
		s.hidden = detect.Why{Cause: detect.Absent, Text: stands + "; needs rain_mm in weather.csv and a log of waterings for the zone to tell them apart"}
		return
	}
	ask := fmt.Sprintf("%.0f days of dry weather, drainage over", s.p.Param("dry_days_alone"))
	if known {
		ask = fmt.Sprintf("%.0f days of dry weather, drainage over, and %.0f mm of demand", s.p.Param("dry_days"), s.p.Param("demand_mm"))
	}
	s.hidden = detect.Why{Cause: detect.NoChance, Text: stands + "; would be told apart by " + ask}
}

// unusual says whether a stretch at exactly zero that ends the series is one that the
// probe has not shown before: it read above zero most of the time, and where it came
// to zero it never stood there as long.
func (s *scan) unusual(i, j int) bool {
	stood := s.t[j-1] - s.t[i]
	if s.v[i] != 0 || detect.Hours(stood) < s.p.Param("own_hours") {
		return false
	}
	above, from := 0, 0
	for k := range i {
		if s.v[k] > 0 {
			above++
			from = k + 1
		} else if s.t[k]-s.t[from] >= stood {
			return false
		}
	}
	return 2*above > i
}

func (s *scan) spell(i, j int, how way, confidence, limit float64) spell {
	end, open := s.p.EndOf(j)
	if !open {
		end = min(end, s.t[j-1]+max(s.p.Cadence(), 1))
		if end-s.t[i] < detect.Day/2 {
			confidence -= shortSpell
		}
	}
	return spell{
		Span: detect.Span{Start: s.t[i], End: end}, open: open, readings: j - i,
		confidence: confidence, how: how, value: s.v[i+(j-i)/2], limit: limit,
	}
}
