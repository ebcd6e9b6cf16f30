package drill

import (
	"math"

	"probeward/detectors/detect"
)

// drySpikes dry and wet again without water. Their places are drawn, a third of the
// fault's span each, and end before it does.
func drySpikes(h *hand) string {
	s := h.of(h.t.Places[0])
	most := math.Log([...]float64{1.5, 3, 8}[h.t.Strength])
	if s.probe.Quantity == detect.WaterContent {
		most = [...]float64{0.02, 0.05, 0.12}[h.t.Strength]
	}
	third := h.fault.Length() / 3
	for k := range int64(3) {
		half := detect.Hour + h.r.Int64N(2*detect.Hour)
		if third <= 2*half {
			return "the window is shorter than three spikes"
		}
		start := h.fault.Start + k*third + h.r.Int64N(third-2*half)
		s.change(detect.Span{Start: start, End: start + 2*half}, func(t int64, x float64) float64 {
			height := 1 - math.Abs(float64(t-start-half))/float64(half)
			return s.unlog(s.log(x) + most*height)
		})
	}
	return ""
}

// answerLost goes on from the level of the last three hours at the pace at which the
// probe dries, with a share of what it did and its own scatter. Its pace halves with
// every week, as soil that dries holds its water harder.
func answerLost(h *hand) string {
	place := h.t.Places[0]
	s := h.of(place)
	answered := 0
	for _, w := range h.b.in.Water[s.probe.Zone] {
		if w.Start >= h.fault.Start && w.End < h.fault.End {
			answered++
		}
	}
	if answered == 0 {
		return "no watering of the zone is logged after it would have begun"
	}
	level, ok := s.level(detect.Span{Start: h.fault.Start - 3*detect.Hour, End: h.fault.Start})
	if !ok {
		return "the probe has no reading just before it would have begun"
	}
	left := [...]float64{0.4, 0.15, 0}[h.t.Strength]
	pace, scatter := s.drying(h.fault.Start), s.scatter(h.fault.Start)
	s.change(h.fault, func(t int64, x float64) float64 {
		weeks := float64(t-h.fault.Start) / float64(7*detect.Day)
		dried := pace * 7 / math.Ln2 * (1 - math.Exp2(-weeks))
		return s.unlog((1-left)*(level+dried+scatter*h.r.NormFloat64()) + left*s.log(x))
	})
	return ""
}

// frozenValue repeats the last value.
func frozenValue(h *hand) string {
	s := h.of(h.t.Places[0])
	i := s.from(h.fault.Start)
	if i == 0 {
		return "the probe has no reading before it would have begun"
	}
	for k := i; k < len(s.Time) && s.Time[k] < h.fault.End; k++ {
		s.Value[k] = s.Value[i-1]
	}
	return ""
}

// noisy adds scatter.
func noisy(h *hand) string {
	s := h.of(h.t.Places[0])
	sd := [...]float64{3, 8, 25}[h.t.Strength] * s.scatter(h.fault.Start)
	s.change(h.fault, func(_ int64, x float64) float64 { return s.unlog(s.log(x) + sd*h.r.NormFloat64()) })
	return ""
}

// drifting gains in a straight line.
func drifting(h *hand) string {
	s := h.of(h.t.Places[0])
	most := math.Log([...]float64{1.2, 1.6, 2.5}[h.t.Strength])
	if s.probe.Quantity == detect.WaterContent {
		most = [...]float64{0.02, 0.04, 0.08}[h.t.Strength]
	}
	s.change(h.fault, func(t int64, x float64) float64 {
		return s.unlog(s.log(x) + most*float64(t-h.fault.Start)/float64(h.fault.Length()))
	})
	return ""
}

// impossible writes single values that no soil gives. They pass the ends of the
// export: that is what makes them impossible.
func impossible(h *hand) string {
	s := h.of(h.t.Places[0])
	from := s.from(h.fault.Start)
	n := len(s.Time) - from
	if n < 1 {
		return "the probe has no reading after it would have begun"
	}
	for range [...]int{1, 6, 40}[h.t.Strength] {
		i, x := from+h.r.IntN(n), 0.0
		switch s.probe.Quantity {
		case detect.Ohms:
			x = [...]float64{-300, 900_000}[h.r.IntN(2)]
		case detect.Tension:
			x = [...]float64{-150, 900}[h.r.IntN(2)]
		default:
			x = [...]float64{-0.6, 1.4}[h.r.IntN(2)]
		}
		s.low, s.high = x, x
		s.set(i, x)
	}
	return ""
}

// columnLost lets a tensiometer fall to what its case shows: near zero, swinging by a
// kPa with the day's heat.
func columnLost(h *hand) string {
	s := h.of(h.t.Places[0])
	if s.probe.Kind != detect.Tensiometer {
		return "only tensiometers have a water column"
	}
	tau := float64([...]int64{24, 6, 1}[h.t.Strength] * detect.Hour)
	scatter := s.scatter(h.fault.Start)
	s.change(h.fault, func(t int64, x float64) float64 {
		left := math.Exp(-float64(t-h.fault.Start) / tau)
		day := math.Sin(2 * math.Pi * float64(t%detect.Day) / float64(detect.Day))
		return x*left + (1-left)*(1.5+0.5*day) + scatter*h.r.NormFloat64()
	})
	return ""
}
