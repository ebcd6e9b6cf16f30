package detect

import (
	"math"

	"probeward/detectors/robust"
)

// Summarise takes from a series what the group detectors need.
func Summarise(probe *Probe, series *Series, shared *Shared, period Period) Summary {
	s := Summary{
		Probe: *probe, Period: period, Cadence: shared.Cadence(),
		Values: len(series.Time), Blanks: len(series.Blank),
	}
	if n := len(series.Time); n > 0 {
		s.First, s.Last = Some(series.Time[0]), Some(series.Time[n-1])
	}
	s.Silences = silences(series, s.Cadence, period)
	s.Excursions = append([]Excursion(nil), shared.Excursions()...)
	if probe.Moisture() {
		s.Wettings = append([]Wetting(nil), shared.Wettings()...)
	}
	s.Battery = dailyLows(series)
	s.Daily = shared.daily()
	s.Quantum = shared.Quantum()
	s.Prints = shared.prints()
	s.Waterings = shared.waterings(period)
	s.Swings = shared.swings()
	return s
}

// daily gives the level and the digest of each UTC day that has a value.
func (s *Shared) daily() []DayLevel {
	t, v := s.series.Time, s.series.Value
	if len(t) == 0 {
		return nil
	}
	limits := s.probe.Limits()
	out := make([]DayLevel, 0, floorDay(t[len(t)-1])-floorDay(t[0])+1)
	for i := 0; i < len(t); {
		day := floorDay(t[i])
		j := i + 1
		for j < len(t) && floorDay(t[j]) == day {
			j++
		}
		inside := buffer(&s.step, j-i)[:0]
		for _, x := range v[i:j] {
			if !limits.Outside(x) {
				inside = append(inside, x)
			}
		}
		d := DayLevel{Start: day * Day, Readings: len(inside), Values: j - i}
		if len(inside) > 0 {
			d.Median = robust.Median(inside, buffer(&s.scratch, len(inside)))
			d.Min, d.Max = inside[0], inside[0]
			for _, x := range inside {
				d.Min, d.Max = min(d.Min, x), max(d.Max, x)
			}
		}
		d.digest(t[i:j], v[i:j])
		out = append(out, d)
		i = j
	}
	return out
}

// digest fills in what two series are held equal by.
func (d *DayLevel) digest(t []int64, v []float64) {
	var seen [MaxDistinct]float64
	h := uint64(14695981039346656037)
	for i, x := range v {
		h = mixed(mixed(h, uint64(t[i]-d.Start)), math.Float64bits(x+0)) // -0 as 0
		if i > 0 && x != v[i-1] {
			d.Changes++
		}
		if d.Distinct == MaxDistinct || i > 0 && x == v[i-1] {
			continue
		}
		k := 0
		for k < d.Distinct && seen[k] != x {
			k++
		}
		if k == d.Distinct {
			seen[k] = x
			d.Distinct++
		}
	}
	d.Digest = h
}

// mixed carries a word into a hash: xor, multiply and fold, which spreads each bit
// over all (the finaliser of SplitMix64, Steele, Lea & Flood 2014, in part).
func mixed(h, word uint64) uint64 {
	h = (h ^ word) * 0xbf58476d1ce4e5b9
	return h ^ h>>29
}

// silences are the holes in the merged stamps, the edges of the period included.
func silences(series *Series, cadence int64, period Period) []Hole {
	if cadence <= 0 {
		if len(series.Time)+len(series.Blank) == 0 {
			return []Hole{{Span: period.Whole()}}
		}
		return nil
	}
	var holes []Hole
	limit := cadence + cadence/2
	last := period.Lookback
	series.EachStamp(func(t int64) {
		if t-last > limit {
			holes = append(holes, Hole{Span: Span{last, t}})
		}
		last = t
	})
	if period.Window.End-last > limit {
		holes = append(holes, Hole{Span: Span{last, period.Window.End}})
	}
	return holes
}

// dailyLows gives the lowest battery of each UTC day.
func dailyLows(series *Series) []Level {
	var out []Level
	day := int64(math.MinInt64)
	for i, v := range series.Battery {
		if v != v {
			continue
		}
		d := floorDay(series.Time[i])
		switch {
		case d != day:
			out = append(out, Level{series.Time[i], float64(v)})
			day = d
		case float64(v) < out[len(out)-1].Volts:
			out[len(out)-1] = Level{series.Time[i], float64(v)}
		}
	}
	return out
}

func floorDay(t int64) int64 {
	if t < 0 {
		return (t - Day + 1) / Day
	}
	return t / Day
}

// Excursions are the stretches in which the probe stood at an impossible value, or
// at one dead value away from its usual level, entered and left by steps in opposite
// directions that a sensor with a lag does not make.
func (s *Shared) Excursions() []Excursion {
	if s.did(haveExcursions) {
		return s.excursions
	}
	s.excursions = s.excursions[:0]
	v, t := s.series.Value, s.series.Time
	if len(v) == 0 {
		return s.excursions
	}
	w := s.Wetness()
	limits := s.probe.Limits()
	for i := 0; i < len(v); {
		j := i
		switch {
		case limits.Outside(v[i]):
			for j < len(v) && limits.Outside(v[j]) && (v[j] < limits.Low) == (v[i] < limits.Low) {
				j++
			}
		case i > 0 && w != nil && math.Abs(w[i]-w[i-1]) > s.abrupt(v[i-1]):
			j = s.deadRun(v, w, i)
		}
		if j == i {
			i++
			continue
		}
		end, open := s.until(t, j)
		s.excursions = append(s.excursions, Excursion{
			Span: Span{t[i], end}, Value: v[i+(j-i)/2], Readings: j - i, Open: open,
		})
		i = j
	}
	return s.excursions
}

// abrupt is the step that begins a dead stretch: less than a leap, since a wet block
// has not far to go to zero, but more than three quanta and than noise makes. What
// makes a stretch of it is that nothing moves in it and a step back ends it; alone it
// proves nothing, and the group detectors ask for ports that do it together.
func (s *Shared) abrupt(v float64) float64 {
	least := 0.35
	if s.probe.Quantity == WaterContent {
		least = 0.06
	}
	return max(least, 4*s.Noise(), 3.5*s.Quantum()*s.probe.Quantity.WetnessSlope(v))
}

// deadRun follows an abrupt step at i: the readings that stay within one quantum of
// where it landed, if a step back ends them and if they are away from the probe's
// usual level; otherwise i itself.
func (s *Shared) deadRun(v, w []float64, i int) int {
	hold := max(s.Quantum(), s.probe.Quantity.SensorNoise()/s.probe.Quantity.WetnessSlope(v[i]))
	j := i + 1
	for j < len(v) && math.Abs(v[j]-v[i]) <= hold {
		j++
	}
	if j == len(v) {
		return i
	}
	into, out := w[i]-w[i-1], w[j]-w[j-1]
	least := s.abrupt(v[i-1])
	if j == i+1 {
		least = s.Leap(v[i-1]) // one reading cannot be seen to stand still
	}
	if into*out >= 0 || math.Abs(into) < least || math.Abs(out) < least/2 {
		return i
	}
	// Between two dead stretches the live readings are calm, too, and have a step on
	// either side: the dead ones are those away from the level of the days around.
	if math.Abs(w[i]-s.level(w, i, j)) < math.Abs(into)/2 {
		return i
	}
	return j
}

// levelReadings is how many readings on either side of a stretch give the level
// there: a day at 15 minutes.
const levelReadings = 96

// level is the median wetness around the stretch [i, j).
func (s *Shared) level(w []float64, i, j int) float64 {
	around := append(append([]float64(nil), w[max(0, i-levelReadings):i]...), w[j:min(len(w), j+levelReadings)]...)
	return robust.Median(around, buffer(&s.scratch, len(around)))
}

// until gives where a stretch that ends before reading j ends in time: at that
// reading, or one cadence after the last when the series ends with it.
func (s *Shared) until(t []int64, j int) (end int64, open bool) {
	if j < len(t) {
		return t[j], false
	}
	return t[j-1] + s.Cadence(), true
}
