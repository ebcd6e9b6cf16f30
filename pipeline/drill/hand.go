package drill

import (
	"math"
	"math/rand/v2"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// hand is what an injection works with: one trial in a variant that may hold others.
type hand struct {
	b *bench // the farm as it is
	w *bench // the world of the variant
	v *variant
	t *Trial
	r *rand.Rand
	// coin is thrown once a trial.
	coin uint64
	// also are places that the fault touches beside the trial's own.
	also []int
	at   int // of its outcome
	// fault is when it stands, to the window's end at most.
	fault detect.Span
}

// strip is one probe's exported readings under change, in standard units.
type strip struct {
	*detect.Series // values as exported
	probe          *detect.Probe
	step           float64 // of the export; 0: none shows
	low, high      float64 // ends of the export, standard units
}

// of opens a probe's readings for change.
func (h *hand) of(place int) *strip {
	p := &h.b.in.Examine.Probes[place]
	s := &strip{Series: h.v.strip(h.b, place), probe: p}
	s.step = robust.Quantum(s.Value, make([]float64, len(s.Value)))
	s.low, s.high = h.ends(place)
	return s
}

// ends are the least and the greatest value that an export like this probe's shows.
// The wet and the dry end of a granular block are 0 and 239 kPa, or 0 and 200 kohm, a
// transducer's without current -25 kPa and with too much of it 125 kPa (a fifth of its
// span beyond either end), a dielectric probe's without a signal -0.1 m3/m3 and at full
// scale 0.9 (common practice, no source). A scale's end that the farm's own data show
// comes first, and nothing ends short of what the probe has shown.
func (h *hand) ends(place int) (low, high float64) {
	p := &h.b.in.Examine.Probes[place]
	switch p.Quantity {
	case detect.Ohms:
		low, high = 0, 200_000
	case detect.Tension:
		low, high = 0, 239
		if p.Kind == detect.Tensiometer {
			low, high = -25, 125
		}
	default:
		low, high = -0.1, 0.9
	}
	if end := h.b.contexts[place].ScaleEnd; end.OK {
		high = end.V
	}
	if peak := h.b.in.Peaks[place]; peak.Stand > 0 {
		high = max(high, p.Scale*(peak.Value-p.Offset))
	}
	return low, high
}

// at is the standard value of reading i.
func (s *strip) at(i int) float64 { return s.probe.Scale * (s.Value[i] - s.probe.Offset) }

// set writes a standard value as the export would: within its ends, in its steps.
func (s *strip) set(i int, x float64) {
	raw := min(max(x, s.low), s.high)/s.probe.Scale + s.probe.Offset
	if s.step > 0 {
		// Dividing by the whole number of steps in a unit gives the number that was
		// printed; multiplying by 0.1 does not.
		if inverse := math.Round(1 / s.step); s.step < 1 && math.Abs(inverse*s.step-1) < 1e-9 {
			raw = math.Round(raw*inverse) / inverse
		} else {
			raw = math.Round(raw/s.step) * s.step
		}
	}
	s.Value[i] = raw
}

// from is the first reading at or after an instant.
func (s *strip) from(t int64) int {
	i, _ := slices.BinarySearch(s.Time, t)
	return i
}

// change puts every reading of a span through f, in standard units.
func (s *strip) change(in detect.Span, f func(t int64, x float64) float64) {
	for i := s.from(in.Start); i < len(s.Time) && s.Time[i] < in.End; i++ {
		x := s.at(i)
		if y := f(s.Time[i], x); y != x {
			s.set(i, y)
		}
	}
}

// hush takes out what was said in a span, blanks and codes too.
func (s *strip) hush(in detect.Span) {
	keep := 0
	for i, t := range s.Time {
		if in.Holds(t) {
			continue
		}
		s.Time[keep], s.Value[keep] = t, s.Value[i]
		if s.Temperature != nil {
			s.Temperature[keep] = s.Temperature[i]
		}
		if s.Battery != nil {
			s.Battery[keep] = s.Battery[i]
		}
		keep++
	}
	s.Time, s.Value = s.Time[:keep], s.Value[:keep]
	if s.Temperature != nil {
		s.Temperature = s.Temperature[:keep]
	}
	if s.Battery != nil {
		s.Battery = s.Battery[:keep]
	}
	s.Blank = slices.DeleteFunc(s.Blank, in.Holds)
	s.Coded = slices.DeleteFunc(s.Coded, func(c detect.Coded) bool { return in.Holds(c.Time) })
}

// log is the space in which a sensor's scatter is about even: the logarithm of ohms or
// tension (from 1 ohm or 1 kPa up), water content as it is.
func (s *strip) log(x float64) float64 {
	if s.probe.Quantity == detect.WaterContent {
		return -x
	}
	return math.Log(max(x, 1))
}

func (s *strip) unlog(y float64) float64 {
	if s.probe.Quantity == detect.WaterContent {
		return -y
	}
	return math.Exp(y)
}

// scatter is the probe's own, of one reading, in that space: the median absolute second
// difference of the readings before an instant, as a normal deviation (a second
// difference has sqrt(6) times one reading's; half of normal deviates lie within
// 0.6745), and at least half a step of the export.
func (s *strip) scatter(before int64) float64 {
	n := s.from(before)
	var d []float64
	for i := 2; i < n; i++ {
		d = append(d, math.Abs(s.log(s.at(i))-2*s.log(s.at(i-1))+s.log(s.at(i-2))))
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	level := s.at(max(0, n-1))
	half := math.Abs(s.log(level+s.step*math.Abs(s.probe.Scale)/2) - s.log(level))
	return max(d[len(d)/2]/0.6745/math.Sqrt(6), half)
}

// level is the median in that space over the readings of a span; false without any.
func (s *strip) level(in detect.Span) (float64, bool) {
	var y []float64
	for i := s.from(in.Start); i < len(s.Time) && s.Time[i] < in.End; i++ {
		y = append(y, s.log(s.at(i)))
	}
	if len(y) == 0 {
		return 0, false
	}
	slices.Sort(y)
	return y[len(y)/2], true
}

// drying is the probe's own pace, in that space a day: the median change from one day
// to the next over the days before an instant on which it dried.
func (s *strip) drying(before int64) float64 {
	var steps []float64
	for day := before - detect.Day; day-detect.Day >= s.Time[0]; day -= detect.Day {
		late, ok := s.level(detect.Span{Start: day, End: day + detect.Day})
		early, was := s.level(detect.Span{Start: day - detect.Day, End: day})
		if ok && was && late > early {
			steps = append(steps, late-early)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}
