package simulate

import (
	"math"
	"math/rand/v2"
	"time"

	"probeward/detectors/soil"
)

// grid is the time of one logger's readings.
type grid struct {
	start time.Time
	every time.Duration
	n     int
}

// at is the first reading at or after an instant; n when there is none.
func (g grid) at(t time.Time) int {
	return min(g.n, max(0, int((t.Sub(g.start)+g.every-1)/g.every)))
}

func (g grid) time(i int) time.Time { return g.start.Add(time.Duration(i) * g.every) }
func (g grid) hours() float64       { return g.every.Hours() }

// span of a fault on a grid, half-open.
func (g grid) span(f *Fault, until time.Time) (first, last int) {
	return g.at(f.Start), g.at(f.ends(until))
}

// site is what a fault can reach at its probe. The series have one value a
// reading; they are asked for, since few faults need them.
type site struct {
	probe   *Probe
	model   *model
	grid    grid
	texture soil.Texture
	wet     func() []float64 // the surface's wetness, 0 to 1
	water   func() []float64 // mm that reached the surface over the hole since the reading before
	tempC   func() []float64 // of the soil at the probe
}

// spell is a fault's time on a site's grid.
type spell struct{ a, b int }

func (s spell) holds(i int) bool { return i >= s.a && i < s.b }

// grown is how much of the spell is over, above 0 to 1.
func (s spell) grown(i int) float64 { return float64(i-s.a+1) / float64(s.b-s.a) }

// effectOf builds what a fault does to one probe.
func effectOf(f *Fault, s *site, until time.Time, r *rand.Rand) effect {
	var in spell
	in.a, in.b = s.grid.span(f, until)
	switch f.Fault {
	case "open_circuit":
		return fixedAt(s.model, s.model.openAt, in.holds, r)
	case "short_circuit":
		return fixedAt(s.model, s.model.shortAt, in.holds, r)
	case "cable_damage":
		return cable(f, s, in, r)
	case "dry_out_spike":
		return spikes(f, s, in, r)
	case "missing_irrigation_response":
		return lostContact(f.Strength, s.probe.Kind == dielectric, s.grid, in, r)
	case "flat_line":
		return frozen(f, s, in, r)
	case "out_of_range":
		return impossible(f, s, in, r)
	case "gap":
		return missing(f, in, r)
	case "settling":
		return settles(f, s, in, r)
	case "noise":
		return scatters(f, s, in, r)
	case "drift":
		return wanders(f, s, in)
	case "lost_suction":
		return empties(f, s, in)
	case "poor_contact":
		return airGap(f, s, in, r)
	case "bypass_flow":
		return bypass(f, s, in)
	case "wrong_kind":
		return otherSensor(f, s, in, r)
	}
	return effect{} // the register's faults are in the register, and those of loggers in the logger
}

func replaceBy(v int32, within func(int) bool) func(int, int32) int32 {
	return func(i int, was int32) int32 {
		if within(i) {
			return v
		}
		return was
	}
}

// missing readings: one stretch, or many holes of an hour or some.
func missing(f *Fault, in spell, r *rand.Rand) effect {
	switch f.Form {
	case "blank":
		return effect{record: replaceBy(blank, in.holds)}
	case "patchy":
		gone, left := false, 0
		return effect{record: func(i int, v int32) int32 {
			if !in.holds(i) {
				return v
			}
			if left == 0 {
				gone = r.Float64() < f.Strength
				left = 1 + r.IntN(6)
			}
			left--
			if gone {
				return absent
			}
			return v
		}}
	}
	return effect{record: replaceBy(absent, in.holds)}
}

// frozen repeats the value of the onset, or in spells of a day or two the values
// of their onsets. Readings that never came stay away.
func frozen(f *Fault, s *site, in spell, r *rand.Rand) effect {
	stands, left := true, int(math.MaxInt32)
	spellOf := func(from, to float64) int { return 1 + int(between(r, from, to)/s.grid.hours()) }
	if f.Form == "episodes" {
		left = spellOf(18, 60)
	}
	var held int32
	holding := false
	return effect{record: func(i int, v int32) int32 {
		if !in.holds(i) {
			return v
		}
		if left == 0 {
			stands, holding = !stands, false
			left = spellOf(10, 30)
			if stands {
				left = spellOf(18, 60)
			}
		}
		left--
		if !stands {
			return v
		}
		if !holding {
			held, holding = v, true
		}
		return held
	}}
}

// impossible gives readings that neither sensor nor soil can give: strewn, in
// stretches of hours, or all of them at one place.
func impossible(f *Fault, s *site, in spell, r *rand.Rand) effect {
	m := s.model
	place := func() float64 {
		switch {
		case m.kind == dielectric && r.IntN(2) == 0:
			return -0.15 * m.end * between(r, 0.6, 1)
		case m.kind == dielectric:
			return 0.65 * m.end * between(r, 1, 1.4)
		case m.unit == "ohm":
			return -between(r, 50, 900)
		default:
			return -between(r, 6, 40)
		}
	}
	switch f.Form { // parked stays where it is
	case "impossible":
		chance := f.Strength * s.grid.hours() / 24
		return effect{record: func(i int, v int32) int32 {
			if !in.holds(i) || r.Float64() >= chance {
				return v
			}
			return m.count(place())
		}}
	case "excursions":
		out, left := false, 0
		return effect{record: func(i int, v int32) int32 {
			if !in.holds(i) {
				return v
			}
			if left == 0 {
				out = !out
				left = 1 + int(r.ExpFloat64()*30/s.grid.hours())
				if out {
					left = 1 + int(f.Strength*between(r, 0.6, 1.4)/s.grid.hours())
				}
			}
			left--
			if !out {
				return v
			}
			return m.count(place()) // the input floats
		}}
	}
	at := place()
	return effect{record: func(i int, v int32) int32 {
		if !in.holds(i) || !isValue(v) {
			return v
		}
		return m.count(at * (1 + 0.02*r.NormFloat64()))
	}}
}

// scatters adds noise: steady, growing, or in the hours in which a pump runs.
func scatters(f *Fault, s *site, in spell, r *rand.Rand) effect {
	first := 4 + 14*r.Float64() // of the pump's day
	hours := between(r, 3, 9)
	return effect{signal: func(i int, x float64) float64 {
		if !in.holds(i) {
			return x
		}
		size := f.Strength * s.probe.noise
		switch f.Form {
		case "growing":
			size *= in.grown(i)
		case "by_the_pump":
			if math.Mod(solarHour(s.grid.time(i))-first+24, 24) > hours {
				return x
			}
		}
		return s.moved(x, size*r.NormFloat64())
	}}
}

// moved shifts a signal by a step in its working space: a share of the ohms, kPa
// of a tensiometer, m3/m3.
func (s *site) moved(x, by float64) float64 {
	if s.probe.Kind == granularMatrix {
		return x * math.Exp(by)
	}
	return x + by
}

// wanders drifts slowly, by an offset or by a gain about the wet end.
func wanders(f *Fault, s *site, in spell) effect {
	offset := map[string]float64{granularMatrix: 1, tensiometer: 10, dielectric: -0.1}[s.probe.Kind]
	return effect{signal: func(i int, x float64) float64 {
		if !in.holds(i) {
			return x
		}
		by := f.Strength * in.grown(i)
		switch f.Form {
		case "offset_dry":
			return s.moved(x, offset*by)
		case "offset_wet":
			return s.moved(x, -offset*by)
		case "gain_down":
			by = -by
		}
		if s.probe.Kind == granularMatrix {
			const wetOhms = 550 // a saturated block
			return wetOhms * math.Pow(x/wetOhms, 1+by)
		}
		return x * (1 + by)
	}}
}
