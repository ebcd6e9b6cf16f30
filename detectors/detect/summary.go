package detect

import (
	"math"
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
	return s
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
// at one dead value entered and left by a leap (see Leap) in opposite directions.
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
		case i > 0 && w != nil && math.Abs(w[i]-w[i-1]) > s.Leap(v[i-1]):
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

// deadRun follows a leap at i: the readings that stay within two quanta and two
// noise scales of where it landed, if a leap back ends them; otherwise i itself.
func (s *Shared) deadRun(v, w []float64, i int) int {
	hold := math.Max(2*s.Quantum()*s.probe.Quantity.WetnessSlope(v[i]), 2*s.probe.Quantity.SensorNoise())
	j := i + 1
	for j < len(v) && math.Abs(w[j]-w[i]) <= hold {
		j++
	}
	if j == len(v) {
		return i
	}
	into, out := w[i]-w[i-1], w[j]-w[j-1]
	if into*out < 0 && math.Abs(out) > s.Leap(v[j-1])/2 {
		return j
	}
	return i
}

// until gives where a stretch that ends before reading j ends in time: at that
// reading, or one cadence after the last when the series ends with it.
func (s *Shared) until(t []int64, j int) (end int64, open bool) {
	if j < len(t) {
		return t[j], false
	}
	return t[j-1] + s.Cadence(), true
}
