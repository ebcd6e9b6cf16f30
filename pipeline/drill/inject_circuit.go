package drill

import (
	"math"

	"probeward/detectors/detect"
)

// leadOpen stands at the dry end.
func leadOpen(h *hand) string {
	s := h.of(h.t.Places[0])
	s.change(h.fault, func(int64, float64) float64 { return h.dead(s, true) })
	return ""
}

// leadsTouch stands at the wet end.
func leadsTouch(h *hand) string {
	s := h.of(h.t.Places[0])
	s.change(h.fault, func(int64, float64) float64 { return h.dead(s, false) })
	return ""
}

// dead is what an export shows of an open lead, or of leads that touch. Ohms: the
// scale's end, flickering by half a percent, and up to 20 ohm, the cable's own. kPa of a
// granular block: the ends. A transducer: without current the low end, without voltage
// 0. Water content: without a signal the low end; leads that touch give full scale or,
// on every other trial, an exact 0; what is not 0 stands still on every other trial and
// else flickers by 0.002 m3/m3, as an input that hangs in the air does.
func (h *hand) dead(s *strip, open bool) float64 {
	switch {
	case s.probe.Quantity == detect.Ohms && open:
		return s.high * (1 - 0.005*h.r.Float64())
	case s.probe.Quantity == detect.Ohms:
		return 20 * h.r.Float64()
	case s.probe.Kind == detect.Tensiometer && open:
		return s.low
	case s.probe.Quantity == detect.Tension && open:
		return s.high
	case s.probe.Quantity == detect.Tension:
		return 0
	}
	end := s.low
	if !open {
		if end = s.high; h.coin&1 == 0 {
			return 0
		}
	}
	if h.coin&2 != 0 {
		end += 0.002 * h.r.NormFloat64()
	}
	return end
}

// looseContact is at the dry end in bursts.
func looseContact(h *hand) string {
	s := h.of(h.t.Places[0])
	share := [...]float64{0.02, 0.05, 0.15}[h.t.Strength]
	const shortest, longest = detect.Hour / 2, 4 * detect.Hour
	mean := float64(shortest+longest) / 2
	for t := h.fault.Start; t < h.fault.End; {
		burst := shortest + h.r.Int64N(longest-shortest)
		s.change(detect.Span{Start: t, End: min(t+burst, h.fault.End)}, func(_ int64, x float64) float64 {
			if h.r.Float64() < 0.3 { // contact comes back between
				return x
			}
			return h.dead(s, true)
		})
		t += burst + int64(h.r.ExpFloat64()*mean*(1-share)/share)
	}
	return ""
}

// wetness of the ground at the cable, 0 to 1: 1 while the zone is watered or it rains
// 2 mm or more, and falling with a time constant of 8 h.
func (h *hand) groundWet(place int) func(t int64) float64 {
	const ebb = 8 * detect.Hour
	waters := append([]detect.Water(nil), h.b.in.Water[h.b.in.Examine.Probes[place].Zone]...)
	for _, r := range h.b.in.Weather.Rain {
		if r.MM.OK && r.MM.V >= 2 {
			waters = append(waters, r)
		}
	}
	return func(t int64) (wet float64) {
		for _, w := range waters {
			switch {
			case w.Holds(t):
				return 1
			case t >= w.End:
				wet = max(wet, math.Exp(-float64(t-w.End)/float64(ebb)))
			}
		}
		return wet
	}
}

// leakingSplice puts a resistance in parallel that follows the water in the ground.
func leakingSplice(h *hand) string {
	place := h.t.Places[0]
	s := h.of(place)
	if s.probe.Kind != detect.GranularMatrix {
		return "a leak in parallel means something for granular blocks only"
	}
	watered := false
	for _, w := range h.b.in.Water[s.probe.Zone] {
		watered = watered || w.Overlap(h.fault).Length() > 0
	}
	if !watered {
		return "no watering of the zone is logged after it would have begun"
	}
	wet, least := h.groundWet(place), [...]float64{6000, 2000, 600}[h.t.Strength]
	s.change(h.fault, func(t int64, x float64) float64 {
		w := wet(t)
		if w < 0.01 {
			return x
		}
		r, leak := ohmsOf(s.probe, x), least/w
		return valueOf(s.probe, r*leak/(r+leak))
	})
	return ""
}

// corrodedJoint puts a growing resistance in series.
func corrodedJoint(h *hand) string {
	s := h.of(h.t.Places[0])
	if s.probe.Kind != detect.GranularMatrix {
		return "a resistance in series means something for granular blocks only"
	}
	most := [...]float64{1000, 4000, 16000}[h.t.Strength]
	s.change(h.fault, func(t int64, x float64) float64 {
		grown := float64(t-h.fault.Start) / float64(h.fault.Length())
		return valueOf(s.probe, ohmsOf(s.probe, x)+most*grown)
	})
	return ""
}

// The published form for dry soil (Shock, Barnum & Seddigh 1998) at 24 degC, in kohm:
// kPa = (4.093 + 3.213 r) / (1 - 0.009733 r - 0.01205 · 24). Below 10 kPa a straight
// line to 0.55 kohm at 0 kPa, a saturated block's (common practice, no source).
const (
	formAt24    = 1 - 0.01205*24
	seamKPa     = 10.0
	saturated   = 0.55
	driestKOhm  = 60.0 // beyond it the form runs towards its pole at 73 kohm
	beyondScale = 1e6  // kPa: whatever the export's end is, it is past it
)

var seamKOhm = (seamKPa*formAt24 - 4.093) / (3.213 + 0.009733*seamKPa)

// ohmsOf a granular block's standard value.
func ohmsOf(p *detect.Probe, x float64) float64 {
	if p.Quantity == detect.Ohms {
		return x
	}
	if x < seamKPa {
		return 1000 * (saturated + (seamKOhm-saturated)*x/seamKPa)
	}
	return 1000 * (x*formAt24 - 4.093) / (3.213 + 0.009733*x)
}

// valueOf is the other way.
func valueOf(p *detect.Probe, ohms float64) float64 {
	if p.Quantity == detect.Ohms {
		return ohms
	}
	r := ohms / 1000
	switch {
	case r < seamKOhm:
		return seamKPa * (r - saturated) / (seamKOhm - saturated)
	case r > driestKOhm:
		return beyondScale
	}
	return (4.093 + 3.213*r) / (formAt24 - 0.009733*r)
}

// wholeKPa is what an export in whole kPa up to 239 makes of a block's ohms. p is the
// block as that export registers it.
func wholeKPa(p *detect.Probe, ohms float64) float64 {
	return math.Round(min(max(valueOf(p, ohms), 0), 239))
}
