package simulate

import (
	"math"
	"math/rand/v2"
)

// lostContact holds a probe near where it was when the soil shrank away, drying
// slowly; only a part of what the soil does still reaches it.
func lostContact(lost float64, inTheta bool, g grid, in spell, r *rand.Rand) effect {
	perDay := between(r, 0.008, 0.03)
	if inTheta {
		perDay *= -0.06
	}
	var held float64
	return effect{soil: func(i int, x float64) float64 {
		if !in.holds(i) {
			return x
		}
		if i == in.a {
			held = x
		}
		return held + float64((1-lost)*(x-held)) + float64(perDay*float64(i-in.a)*g.hours()/24)
	}}
}

// airGap parts a probe from the soil by air: what the soil does reaches it late and
// damped, water leaves it sooner than it comes back, and the air that it stands in
// is dry. Where the gap shuts and opens with the swelling of the soil it jumps.
func airGap(f *Fault, s *site, in spell, r *rand.Rand) effect {
	dielectricProbe := s.probe.Kind == dielectric
	width, felt := 1.0, 0.0
	return effect{soil: func(i int, x float64) float64 {
		if !in.holds(i) {
			return x
		}
		if i == in.a {
			felt = x
		}
		hours := s.grid.hours()
		if f.Form == "jumpy" && r.Float64() < 0.9*hours/24 {
			width = between(r, 0.15, 1)
		}
		gap := f.Strength * width
		tau := 1 + float64(50*gap*gap) // h
		if wetter := x > felt == dielectricProbe; wetter {
			tau *= 1.6 // a film must bridge the gap first
		}
		felt += float64((1 - math.Exp(-hours/tau)) * (x - felt))
		if dielectricProbe {
			return felt * (1 - float64(0.5*gap)) // the air in its field
		}
		return felt + float64(0.8*gap)
	}}
}

// bypass lets water run down to the probe: the pores around it fill within minutes
// of water at the surface and empty into the soil beside them within hours.
func bypass(f *Fault, s *site, in spell) effect {
	water := s.water()
	perMM, tau := 0.5, 5.0 // mm to fill by half and more; hours to drain
	if f.Form == "along_the_cable" {
		perMM, tau = 0.12, 9
	}
	keep := math.Exp(-s.grid.hours() / tau)
	filled := 0.0
	return effect{water: func(i int, theta float64) float64 {
		if !in.holds(i) {
			return theta
		}
		filled = float64(keep*filled) + float64((1-filled)*(1-math.Exp(-perMM*water[i])))
		filled = min(1, filled)
		return theta + float64(f.Strength*filled*max(0, s.texture.ThetaS-theta))
	}}
}

// settles is a new sensor: a start too wet (soaked) or too dry (air around it)
// that wears off over days, smoothly or as the backfill gives way in steps.
func settles(f *Fault, s *site, in spell, r *rand.Rand) effect {
	size, tau := f.Strength, between(r, 20, 60)
	if f.Form == "wet_start" {
		size = -size
	}
	if s.probe.Kind == dielectric {
		size *= -0.08
	}
	step := 1.0
	return effect{soil: func(i int, x float64) float64 {
		if i < in.a {
			return x
		}
		if f.Form == "steps" && r.Float64() < s.grid.hours()/9 {
			step = between(r, -0.4, 1.2)
		}
		return x + float64(size*step*math.Exp(-float64(i-in.a)*s.grid.hours()/tau))
	}}
}
