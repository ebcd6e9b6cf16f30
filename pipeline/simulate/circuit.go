package simulate

import (
	"math"
	"math/rand/v2"
)

// fixedAt puts the export at a circuit's end: exactly where the scale ends,
// flickering where the converter has room.
func fixedAt(m *model, at float64, within func(int) bool, r *rand.Rand) effect {
	flicker := 0.0
	if m.kind == dielectric {
		flicker = 0.004 * math.Abs(m.end)
	} else if at > 0 && at < m.end {
		flicker = 0.05 * at
	}
	return effect{record: func(i int, v int32) int32 {
		if !within(i) {
			return v
		}
		return m.count(min(max(at+float64(flicker*r.NormFloat64()), m.low), m.end))
	}}
}

// cable is a lead that opens at times, that leaks when it is wet, or whose joint
// corrodes. On a sensor that sends a voltage wet and corrosion take a share of it.
func cable(f *Fault, s *site, in spell, r *rand.Rand) effect {
	switch f.Form {
	case "leaking_splice":
		surface := s.wet()
		return effect{signal: func(i int, x float64) float64 {
			if !in.holds(i) {
				return x
			}
			leak := f.Strength * math.Exp(9*(1-surface[i]))
			return x * leak / (x + leak)
		}}
	case "wet_connector":
		surface := s.wet()
		return effect{signal: func(i int, x float64) float64 {
			if !in.holds(i) {
				return x
			}
			return x * (1 - float64(f.Strength*surface[i]*surface[i]))
		}}
	case "corroded_plug":
		return effect{signal: func(i int, x float64) float64 {
			if !in.holds(i) {
				return x
			}
			return x * (1 - float64(f.Strength*in.grown(i))*(1+0.03*r.NormFloat64()))
		}}
	case "corroded_joint":
		return effect{signal: func(i int, x float64) float64 {
			if !in.holds(i) {
				return x
			}
			return x + float64(f.Strength*in.grown(i))*(1+0.03*r.NormFloat64())
		}}
	}
	return flips(f.Strength, s.model, s.grid, in, r)
}

// flips is a loose contact: a telegraph process with so many openings a day,
// each of a quarter of an hour to several.
func flips(perDay float64, m *model, g grid, in spell, r *rand.Rand) effect {
	open := make([]bool, g.n)
	state, left := true, 1
	for i := in.a; i < in.b; i++ {
		if left == 0 {
			state = !state
			mean := 24/perDay/g.hours() - 1
			if state {
				mean = between(r, 0.2, 1.2) / g.hours()
			}
			left = 1 + int(r.ExpFloat64()*max(0.3, mean))
		}
		open[i] = state
		left--
	}
	return effect{record: func(i int, v int32) int32 {
		if open[i] {
			return m.count(m.openAt)
		}
		return v
	}}
}

// spikes dries a probe for a few readings, a few times a day or once in days.
func spikes(f *Fault, s *site, in spell, r *rand.Rand) effect {
	every := 9.0 // hours, between two
	if f.Form == "rare" {
		every = 60
	}
	unit := map[string]float64{granularMatrix: 1, tensiometer: 12, dielectric: -0.08}[s.probe.Kind]
	lift := make([]float64, s.grid.n)
	for i := in.a; i < in.b; {
		i += 1 + int(r.ExpFloat64()*every/s.grid.hours())
		n := 2 + r.IntN(6)
		top := f.Strength * between(r, 0.7, 1.4)
		for k := 0; k < n && i+k < in.b; k++ {
			lift[i+k] = top * (1 - float64(k)/float64(n))
		}
		i += n
	}
	return effect{signal: func(i int, x float64) float64 {
		if lift[i] == 0 {
			return x
		}
		return s.moved(x, unit*lift[i])
	}}
}

// empties is a tensiometer that loses its water: at once, when a drought is too
// much for it, or little by little through a leak, the faster the more it sucks.
func empties(f *Fault, s *site, in spell) effect {
	left, broke := 1.0, false
	return effect{signal: func(i int, x float64) float64 {
		if !in.holds(i) {
			return x
		}
		switch f.Form {
		case "leaking":
			left *= math.Exp(-f.Strength * s.grid.hours() / 24 * max(0, x) / 30)
		case "emptied_by_drought":
			broke = broke || x > f.Strength
			if broke {
				left *= math.Exp(-s.grid.hours() / 2.5)
			}
		default:
			left = 1 - f.Strength*(1-math.Exp(-float64(i-in.a)*s.grid.hours()/2.5))
		}
		return float64(x*left) + 0.6*(1-left)
	}}
}

// otherSensor is what another kind of sensor on the port gives, in counts of the
// registered unit: water content in per cent or millivolts where tension or ohms
// are registered, tension of a block where water content is, or a temperature.
func otherSensor(f *Fault, s *site, in spell, r *rand.Rand) effect {
	tempC := []float64(nil)
	if f.Form == "temperature" {
		tempC = s.tempC()
	}
	gain := 1.8 // ohms of the soil's own kind of volts: mV by m3/m3
	return effect{instead: func(i int, theta, kPa float64) (float64, bool) {
		if !in.holds(i) {
			return 0, false
		}
		n := r.NormFloat64()
		switch f.Form {
		case "water_content":
			if s.model.unit == "ohm" {
				return 320 + 1000*gain*(theta+0.0015*n), true
			}
			return 100 * (theta + 0.0015*n), true
		case "tension":
			return math.Round(min(199, kPa) * math.Exp(0.008*n)), true
		case "temperature":
			if s.model.unit == "ohm" { // a thermistor of 10 kohm at 25 degC, B = 3950 K
				return 10000 * math.Exp(3950*(1/(tempC[i]+273.15+0.04*n)-1/298.15)), true
			}
			return tempC[i] + 0.04*n, true
		}
		return 0, false // another unit is the register's
	}}
}
