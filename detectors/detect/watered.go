package detect

import (
	"math"

	"probeward/detectors/robust"
	"probeward/detectors/soil"
)

// Watered is what a probe did at one watering of its zone. Levels and rises are in
// wetness, after a rolling median over wateredSmooth.
type Watered struct {
	Water          // pulses joined
	Until    int64 // end of the window in which an answer counts: the next watering at the latest
	Blind    bool  // rained over, or less than wateredCovered of the window was heard
	AtEnd    bool  // it stood at the dry end of its scale when the water came
	Level    float64
	Rise     float64      // largest rise above the lowest level since the valve opened
	Peak     int64        // when that was reached
	Begin    Maybe[int64] // first of two readings that stand clear of the level before
	First    float64      // how far the readings stood above the level before, at most, in the first two hours
	Left     Maybe[float64]
	Later    float64 // largest rise from the valve's opening to the end of the series
	Readings int     // from the valve's opening on
}

// Waterings are a probe's answers to the water of its zone, held against its own
// quiet time. Without a log of waterings, or readings, there are none.
type Waterings struct {
	At    []Watered // by start
	Jumps []Jump    // sorted
	Unit  float64   // what quiet time brings: no rise up to here is an answer
	Dead  float64   // wetness above which the sensor hardly responds; +Inf: none
	Steps Levels
}

// How waterings are studied. An answer lasts for hours, and noise does not, so a
// rolling median takes most of it out (common practice, no source, where nothing
// else is said).
const (
	wateredMerge   = 6 * Hour  // pulses of one night are one watering to the soil
	wateredAnswer  = 36 * Hour // a front needs up to a day and a half to a deep probe in slow soil
	wateredSmooth  = 3 * Hour
	wateredQuiet   = 12 * Hour // either flank of the daily swing, the largest rise of quiet time (derived from a sine)
	wateredEbb     = 12 * Hour // a soil keeps most of its water for longer than half a day
	wateredSoon    = 2 * Hour
	wateredEarly   = Hour // valve controllers and loggers keep different clocks
	wateredRainMM  = 2.0  // less is held by the canopy and the mulch
	wateredCovered = 0.7  // an answer lasts longer than the third of a window that may be missing
	// Above the median of quiet rises, three robust standard deviations leave one
	// quiet window in a thousand (derived from the normal distribution).
	wateredDeviations = 3.0
	// The largest rise within a window of smoothed white noise (derived for a median of
	// 13: its deviation is 0.35 of a reading's, and a window's rise about six of
	// these), and two counts, since one may flicker.
	wateredScales = 2.0
	// One reading in 10^6 of white noise stands so many scales clear; two in a row do not.
	wateredClear = 5.0
	// DeadZone: wetter than this a granular block hardly responds (published for fine
	// sand, 11.5 kPa, and loamy sand, 10 kPa; rounded up).
	DeadZone = 12.0
	// Drier than these the driest value at which a block or a tensiometer stands may be
	// the end of its scale: exports end at 199 or 239 kPa, and water boils at 80-85
	// kPa at sea level (manuals, from memory) less what the air weighs less high up.
	blockEnd, gaugeEnd = 100.0, 70.0
	// Soil as dry as that may pass its driest in a night, and does not stay within three
	// parts in a hundred of it for three days.
	nearEnd, endStand = 0.97, 3 * Day
)

// maxHalf keeps the smoothing within what the rolling median does without
// allocating.
const maxHalf = 120

// studied is one series on its way to Waterings.
type studied struct {
	*Shared
	t       []int64
	w       []float64 // smoothed
	raw     []float64
	rain    []Water
	end     float64 // wetness at and below which the scale ends
	hasEnd  bool
	dead    float64
	period  Period
	cadence int64
}

// waterings studies the series against the log of its zone.
func (s *Shared) waterings(period Period) Waterings {
	if !s.ctx.HasIrrigation || !s.probe.Quantity.Moist() || !s.probe.Moisture() || len(s.series.Time) < 3 {
		return Waterings{}
	}
	st := studied{Shared: s, t: s.series.Time, raw: s.Wetness(), rain: s.ctx.Rain, dead: math.Inf(1), period: period, cadence: max(1, s.Cadence())}
	st.w = st.raw
	s.Noise() // it uses the buffer that holds the smoothed series from here on
	s.Quantum()
	if half := int(wateredSmooth / st.cadence / 2); half > 0 {
		st.w = robust.RollingMedian(buffer(&s.step, len(st.t)), st.raw, min(half, maxHalf))
	}
	q := s.probe.Quantity
	if q != WaterContent {
		st.dead = q.Wetness(TensionAs(q, DeadZone))
		st.end, st.hasEnd = st.driestEnd()
	}
	at := st.events()
	return Waterings{At: at, Unit: st.quietUnit(at), Dead: st.dead, Jumps: st.jumps(), Steps: st.levels()}
}

// TensionAs is a tension in kPa as a standard value of the quantity, at the reference
// temperature.
func TensionAs(q Quantity, kPa float64) float64 {
	if q == Ohms {
		ohms, _ := soil.GranularOhms(kPa, soil.ReferenceTempC)
		return ohms
	}
	return kPa
}

// driestEnd is the wetness at and below which the probe may be at the end of its
// scale: the known one, or the driest that it ever was, if that is dry enough and it
// stood there.
func (s *studied) driestEnd() (float64, bool) {
	q := s.probe.Quantity
	known, has := math.Inf(-1), s.ctx.ScaleEnd.OK
	if has {
		end := s.ctx.ScaleEnd.V
		known = q.Wetness(min(end-s.Quantum(), 0.98*end))
	}
	limits := s.probe.Limits()
	driest := 0.0
	for _, v := range s.series.Value {
		if !limits.Outside(v) {
			driest = max(driest, v)
		}
	}
	least := blockEnd
	if s.probe.Kind == Tensiometer {
		least = gaugeEnd
	}
	if driest < TensionAs(q, least) {
		return known, has
	}
	there := max(q.Wetness(driest)+2*s.Scale(driest), q.Wetness(nearEnd*driest))
	readings := 0
	for _, w := range s.w {
		if w <= there {
			readings++
		}
	}
	if int64(readings)*s.cadence >= endStand {
		return max(known, there), true // its block may end sooner than those of others
	}
	return known, has
}

func (s *studied) from(t int64) int {
	lo, hi := 0, len(s.t)
	for lo < hi {
		if mid := (lo + hi) / 2; s.t[mid] < t {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// events are the zone's waterings while the probe was heard, pulses joined. The last
// one is left out while its window still runs for more than half of its length.
func (s *studied) events() []Watered {
	var list []Watered
	end := s.period.Window.End
	for _, water := range Spells(s.ctx.Irrigation, wateredMerge) {
		if water.Start < end && water.Start >= s.t[0] {
			list = append(list, Watered{Water: water})
		}
	}
	for i := range list {
		e := &list[i]
		e.Until = e.End + wateredAnswer
		if i+1 < len(list) {
			e.Until = min(e.Until, list[i+1].Start)
		}
	}
	if n := len(list); n > 0 && end < list[n-1].End+wateredAnswer/2 {
		list = list[:n-1]
	}
	for i := range list {
		s.measure(&list[i])
	}
	// The largest rise from each opening on, in one sweep from the end.
	highest, most, i := math.Inf(-1), 0.0, len(s.t)-1
	for k := len(list) - 1; k >= 0; k-- {
		for ; i >= 0 && s.t[i] >= list[k].Start; i-- {
			highest = max(highest, s.w[i])
			most = max(most, highest-s.w[i])
		}
		list[k].Later = most
	}
	return list
}

// measure takes the level before a watering and what came after it.
func (s *studied) measure(e *Watered) {
	from, to := s.from(e.Start), s.from(e.Until)
	e.Readings = len(s.t) - from
	if from == 0 || s.heard(from, to, min(e.Until, s.period.Window.End)) < wateredCovered*float64(min(e.Until, s.period.Window.End)-e.Start) ||
		s.t[from]-s.t[from-1] > wateredAnswer/2 || s.raining(e.Start-Day/2, e.Until) {
		e.Blind = true
		return
	}
	var x, scratch [8]float64
	n := 0
	for i := from - 1; i >= 0 && n < len(x); i-- {
		x[n] = s.w[i]
		n++
	}
	e.Level = robust.Median(x[:n], scratch[:])
	e.AtEnd = s.hasEnd && e.Level <= s.end
	low := e.Level
	for i := from; i < to; i++ {
		low = min(low, s.w[i])
		if r := s.w[i] - low; r > e.Rise {
			e.Rise, e.Peak = r, s.t[i]
		}
	}
	e.Begin, e.First = s.begins(e, to)
	if ebb := s.from(e.End + wateredEbb); e.Rise > 0 && ebb < to && e.Peak < e.End+wateredEbb {
		e.Left = Some((s.w[ebb] - e.Level) / e.Rise)
	}
}

// heard is how much of the time from one reading to an instant the readings cover.
// A hole shorter than the smoothing hides nothing, whatever the cadence then was.
func (s *studied) heard(from, to int, until int64) float64 {
	covered, least := int64(0), max(wateredSmooth, 2*s.cadence)
	for i := from; i < to; i++ {
		next := until
		if i+1 < len(s.t) {
			next = min(next, s.t[i+1])
		}
		if step := next - s.t[i]; step <= least {
			covered += step
		}
	}
	return float64(covered)
}

// begins finds the first of two readings in a row that stand clear of the lowest
// level since shortly before the valve opened, and how high the readings stood within
// the first hours.
func (s *studied) begins(e *Watered, to int) (begin Maybe[int64], first float64) {
	low := e.Level
	clear := wateredClear * s.Scale(s.probe.Quantity.Dryness(e.Level))
	for i := max(1, s.from(e.Start-wateredEarly)); i < to; i++ {
		low = min(low, s.w[i])
		above := min(s.raw[i]-low, s.raw[min(i+1, to-1)]-low)
		if s.t[i] <= e.Start+wateredSoon {
			first = max(first, above)
		}
		if !begin.OK && above > clear {
			begin = Some(s.t[i])
		}
		if begin.OK && s.t[i] > e.Start+wateredSoon {
			break
		}
	}
	return begin, first
}

func (s *studied) raining(from, to int64) bool {
	for i := range s.rain {
		r := &s.rain[i]
		if r.Start >= to {
			return false
		}
		if r.End > from && (!r.MM.OK || r.MM.V >= wateredRainMM) {
			return true
		}
	}
	return false
}

// rise is the largest rise above the running minimum among readings from-to.
func (s *studied) rise(from, to int) float64 {
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

// quietUnit finds what quiet time brings: in windows between the end of one watering's
// answer and the next watering, and before the first. The median of their rises, and
// not the largest, because an incomplete log puts real answers into quiet time.
func (s *studied) quietUnit(events []Watered) float64 {
	var rises []float64
	add := func(from, to int64) {
		for ; from+wateredQuiet <= to; from += wateredQuiet {
			end := from + wateredQuiet
			if to-end < wateredQuiet {
				end = to // what is too short for a window of its own
			}
			a, b := s.from(from), s.from(end)
			if s.heard(a, b, end) >= wateredCovered*float64(wateredQuiet) && !s.raining(from-Day, end) {
				rises = append(rises, s.rise(a, b))
			}
			if end == to {
				return
			}
		}
	}
	last := s.t[0]
	level, seen := 0.0, 0
	for i := range events {
		e := &events[i]
		add(last, e.Start)
		last = e.End + wateredAnswer
		if !e.Blind {
			level += e.Level
			seen++
		}
	}
	level /= float64(max(1, seen))
	add(last, s.t[len(s.t)-1])
	unit := wateredScales * s.Scale(s.probe.Quantity.Dryness(level))
	if len(rises) >= 3 {
		median, mad := robust.MAD(rises, make([]float64, len(rises)))
		unit = max(unit, median+wateredDeviations*robust.Consistency*mad)
	}
	return unit
}
