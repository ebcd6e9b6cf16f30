package detect

import (
	"math"

	"probeward/detectors/robust"
)

// Shared is what several detectors need of a series, computed once a probe when
// the first of them asks. Its slices belong to it: read, do not write.
type Shared struct {
	probe  *Probe
	series *Series
	ctx    *Context

	have       sharedParts
	cadence    int64
	quantum    float64
	wetness    []float64
	step       []float64
	noise      float64
	turns      []robust.Turn
	wets       []Wetting
	excursions []Excursion
	scratch    []float64
	limit      []float64
	days       []harmonics
}

type sharedParts uint8

const (
	haveCadence sharedParts = 1 << iota
	haveQuantum
	haveWetness
	haveNoise
	haveWettings
	haveExcursions
)

// Reset points the workspace at another probe and keeps its buffers.
func (s *Shared) Reset(probe *Probe, series *Series, ctx *Context) {
	s.probe, s.series, s.ctx, s.have = probe, series, ctx, 0
}

// buffer gives a slice of n values from buf, which grows when it must.
func buffer(buf *[]float64, n int) []float64 {
	if cap(*buf) < n {
		*buf = make([]float64, n+n/4)
	}
	return (*buf)[:n]
}

func (s *Shared) did(p sharedParts) bool {
	if s.have&p != 0 {
		return true
	}
	s.have |= p
	return false
}

// Cadence is the median step between stamps, blanks included; 0 with fewer than
// two stamps.
func (s *Shared) Cadence() int64 {
	if s.did(haveCadence) {
		return s.cadence
	}
	s.cadence = 0
	n := len(s.series.Time) + len(s.series.Blank)
	if n < 2 {
		return 0
	}
	steps, k := buffer(&s.step, n-1), 0
	last, first := int64(0), true
	s.series.EachStamp(func(t int64) {
		if !first {
			steps[k] = float64(t - last)
			k++
		}
		last, first = t, false
	})
	s.cadence = int64(robust.Median(steps[:k], buffer(&s.scratch, k)))
	return s.cadence
}

// EachStamp calls f with every stamp at which the port was heard, values and
// blanks merged, in time order.
func (s *Series) EachStamp(f func(t int64)) {
	i, j := 0, 0
	for i < len(s.Time) || j < len(s.Blank) {
		if j >= len(s.Blank) || (i < len(s.Time) && s.Time[i] <= s.Blank[j]) {
			f(s.Time[i])
			i++
		} else {
			f(s.Blank[j])
			j++
		}
	}
}

// Quantum is the resolution of the values, in the standard unit, as the data show
// it; 0 when they show none.
func (s *Shared) Quantum() float64 {
	if !s.did(haveQuantum) {
		s.quantum = robust.Quantum(s.series.Value, buffer(&s.scratch, len(s.series.Value)))
	}
	return s.quantum
}

// Floors below which wetness runs linearly instead of in logarithms, where a
// sensor no longer tells tensions apart and the logarithm would blow up its noise:
// 10 kPa, the wet end of a granular matrix sensor's response (its dead zone), and
// 1000 ohm, which is 10 kPa by the published forms.
const (
	TensionFloor = 10.0
	OhmFloor     = 1000.0
)

// Wetness turns one standard value into the working space, where up is wetter and
// the noise of a sensor is about the same over its range: minus the logarithm of
// ohms or kPa (linear below the floor, with the same value and slope there), or
// water content as it is.
func (q Quantity) Wetness(v float64) float64 {
	switch q {
	case Ohms:
		return logDown(v, OhmFloor)
	case Tension:
		return logDown(v, TensionFloor)
	default:
		return v
	}
}

// Dryness takes a wetness back to the standard value.
func (q Quantity) Dryness(w float64) float64 {
	switch q {
	case Ohms:
		return unlogDown(w, OhmFloor)
	case Tension:
		return unlogDown(w, TensionFloor)
	default:
		return w
	}
}

func logDown(v, floor float64) float64 {
	if v < floor {
		return -math.Log(floor) - (v-floor)/floor
	}
	return -math.Log(v)
}

func unlogDown(w, floor float64) float64 {
	if w > -math.Log(floor) {
		return floor - (w+math.Log(floor))*floor
	}
	return math.Exp(-w)
}

// WetnessSlope is how much wetness changes with one standard unit at v, as an
// absolute value: it carries a resolution in the unit into the working space.
func (q Quantity) WetnessSlope(v float64) float64 {
	switch q {
	case Ohms:
		return 1 / math.Max(v, OhmFloor)
	case Tension:
		return 1 / math.Max(v, TensionFloor)
	default:
		return 1
	}
}

// Wetness is the series in the working space; nil when the probe measures no
// moisture.
func (s *Shared) Wetness() []float64 {
	if s.did(haveWetness) {
		return s.wetness
	}
	q := s.probe.Quantity
	if !q.Moist() {
		s.wetness = nil
		return nil
	}
	out := buffer(&s.wetness, len(s.series.Value))
	for i, v := range s.series.Value {
		out[i] = q.Wetness(v)
	}
	s.wetness = out
	return out
}

// SensorNoise is the least scatter of a sensor in the working space, for data that
// show none: 0.5 % of resistance or tension, 0.0005 m3/m3 (common practice, no source).
func (q Quantity) SensorNoise() float64 {
	if q == Ohms || q == Tension {
		return 0.005
	}
	return 0.0005
}

// Noise is the scatter of one reading in the working space: the robust standard
// deviation of second differences over sqrt(6), never below SensorNoise. The
// resolution is not in it, since it differs along the range: add it with Scale.
func (s *Shared) Noise() float64 {
	if s.did(haveNoise) {
		return s.noise
	}
	w := s.Wetness()
	if w == nil {
		w = s.series.Value
	}
	s.noise = s.probe.Quantity.SensorNoise()
	if n := len(w) - 2; n >= 8 {
		d := buffer(&s.step, n)
		for i := range d {
			d[i] = math.Abs(w[i] - 2*w[i+1] + w[i+2])
		}
		s.noise = math.Max(s.noise, robust.Consistency*robust.Median(d, buffer(&s.scratch, n))/math.Sqrt(6))
	}
	return s.noise
}

// Scale is the noise at the standard value v in the working space, resolution
// included: what a difference there has to be held against.
func (s *Shared) Scale(v float64) float64 {
	return math.Max(s.Noise(), s.Quantum()*s.probe.Quantity.WetnessSlope(v))
}

// reversal is how many noise scales a turn must amount to: six of them are passed
// by white noise about once in 10^9 readings, and the answer of a probe to a
// watering is ten times larger.
const reversal = 6

// Wettings are the times that the probe wetted, by turning points whose reversal
// is six noise scales; the onset is the minimum before the rise.
func (s *Shared) Wettings() []Wetting {
	if s.did(haveWettings) {
		return s.wets
	}
	s.wets = s.wets[:0]
	w := s.Wetness()
	if len(w) < 3 {
		return s.wets
	}
	limit := buffer(&s.limit, len(w))
	for i, v := range s.series.Value {
		limit[i] = reversal * s.Scale(v)
	}
	s.turns = robust.TurnsBy(w, limit, s.turns[:0])
	for i := 1; i < len(s.turns); i++ {
		low, high := s.turns[i-1], s.turns[i]
		if high.High && !low.High {
			s.wets = append(s.wets, Wetting{
				Onset: s.series.Time[low.Index], Peak: s.series.Time[high.Index], Rise: high.Value - low.Value,
			})
		}
	}
	if n := len(s.turns); n > 0 && !s.turns[n-1].High {
		// The series has not turned back from its last rise yet.
		low, peak := s.turns[n-1], s.turns[n-1].Index
		for i := low.Index; i < len(w); i++ {
			if w[i] > w[peak] {
				peak = i
			}
		}
		s.wets = append(s.wets, Wetting{Onset: s.series.Time[low.Index], Peak: s.series.Time[peak], Rise: w[peak] - low.Value})
	}
	return s.wets
}
