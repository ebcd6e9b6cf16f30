package simulate

import (
	"math"
	"math/rand/v2"
	"time"
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

// effectOf builds what a fault does to one probe. wet is the surface's wetness
// by reading, 0 to 1, for what follows the water.
func effectOf(f *Fault, p *Probe, m *model, g grid, until time.Time, r *rand.Rand, wet func() []float64) effect {
	a, b := g.span(f, until)
	within := func(i int) bool { return i >= a && i < b }
	ohmic := p.Kind == granularMatrix
	switch f.Fault + "/" + f.Form {
	case "open_circuit/permanent", "open_circuit/mended":
		return fixedAt(m, m.openAt, within, r)
	case "short_circuit/permanent", "short_circuit/mended":
		return fixedAt(m, m.shortAt, within, r)
	case "cable_damage/intermittent":
		return flips(f.Strength, m, g, a, b, r)
	case "cable_damage/leaking_splice":
		surface := wet()
		return effect{signal: func(i int, x float64) float64 {
			if !within(i) {
				return x
			}
			leak := f.Strength * math.Exp(9*(1-surface[i]))
			return x * leak / (x + leak)
		}}
	case "cable_damage/corroded_joint":
		return effect{signal: func(i int, x float64) float64 {
			if !within(i) {
				return x
			}
			grown := float64(i-a+1) / float64(b-a)
			return x + float64(f.Strength*grown)*(1+0.03*r.NormFloat64())
		}}
	case "dry_out_spike/transient":
		return spikes(f.Strength, ohmic, g, a, b, r)
	case "missing_irrigation_response/lost_contact", "missing_irrigation_response/weakened":
		return lostContact(f.Strength, p.Kind == dielectric, g, a, b, r)
	case "flat_line/frozen":
		return frozen(a, b)
	case "out_of_range/impossible":
		return impossible(f.Strength, m, g, a, b, r)
	case "gap/missing":
		return effect{record: replaceBy(absent, within)}
	case "gap/blank":
		return effect{record: replaceBy(blank, within)}
	case "settling/wet_start", "settling/dry_start":
		return settles(f, p.Kind == dielectric, g, a, r)
	case "noise/scatter":
		size := f.Strength * p.noise
		return effect{signal: func(i int, x float64) float64 {
			if !within(i) {
				return x
			}
			if ohmic {
				return x * math.Exp(size*r.NormFloat64())
			}
			return x + float64(size*r.NormFloat64())
		}}
	case "drift/wander":
		sign := float64(1 - 2*r.IntN(2))
		return effect{signal: func(i int, x float64) float64 {
			if !within(i) {
				return x
			}
			grown := sign * f.Strength * float64(i-a+1) / float64(b-a)
			if ohmic {
				return x * math.Exp(grown)
			}
			return x + float64(0.1*grown)
		}}
	case "lost_suction/emptied":
		return effect{signal: func(i int, x float64) float64 {
			if !within(i) {
				return x
			}
			left := 1 - f.Strength*(1-math.Exp(-float64(i-a)*g.hours()/2.5))
			return float64(x*left) + 0.6*(1-left)
		}}
	}
	return effect{} // wrong_zone is in the register, and logger faults are in the logger
}

func replaceBy(v int32, within func(int) bool) func(int, int32) int32 {
	return func(i int, was int32) int32 {
		if within(i) {
			return v
		}
		return was
	}
}

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

// flips is a loose contact: a telegraph process with so many openings a day,
// each of a quarter of an hour to several.
func flips(perDay float64, m *model, g grid, a, b int, r *rand.Rand) effect {
	open := make([]bool, g.n)
	state, left := true, 1
	for i := a; i < b; i++ {
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

// spikes dries a probe for a few readings, a few times a day.
func spikes(height float64, ohmic bool, g grid, a, b int, r *rand.Rand) effect {
	lift := make([]float64, g.n)
	for i := a; i < b; {
		i += 1 + int(r.ExpFloat64()*9/g.hours())
		n := 2 + r.IntN(6)
		top := height * between(r, 0.7, 1.4)
		for k := 0; k < n && i+k < b; k++ {
			lift[i+k] = top * (1 - float64(k)/float64(n))
		}
		i += n
	}
	return effect{signal: func(i int, x float64) float64 {
		if ohmic {
			return x * math.Exp(lift[i])
		}
		return x - float64(0.08*lift[i])
	}}
}

// lostContact holds a probe near where it was when the soil shrank away, drying
// slowly; only a part of what the soil does still reaches it.
func lostContact(lost float64, inTheta bool, g grid, a, b int, r *rand.Rand) effect {
	perDay := between(r, 0.008, 0.03)
	if inTheta {
		perDay *= -0.06
	}
	var held float64
	return effect{soil: func(i int, x float64) float64 {
		if i < a || i >= b {
			return x
		}
		if i == a {
			held = x
		}
		return held + float64((1-lost)*(x-held)) + float64(perDay*float64(i-a)*g.hours()/24)
	}}
}

// frozen repeats the value of the onset. Readings that never came stay away.
func frozen(a, b int) effect {
	var held int32
	return effect{record: func(i int, v int32) int32 {
		if i < a || i >= b {
			return v
		}
		if i == a {
			held = v
		}
		return held
	}}
}

// impossible strews readings that neither sensor nor soil can give.
func impossible(perDay float64, m *model, g grid, a, b int, r *rand.Rand) effect {
	chance := perDay * g.hours() / 24
	return effect{record: func(i int, v int32) int32 {
		if i < a || i >= b || r.Float64() >= chance {
			return v
		}
		switch {
		case m.kind == dielectric && r.IntN(2) == 0:
			return m.count(-0.15 * m.end * between(r, 0.6, 1))
		case m.kind == dielectric:
			return m.count(0.65 * m.end * between(r, 1, 1.4))
		case m.unit == "ohm":
			return m.count(-between(r, 50, 900))
		default:
			return m.count(-between(r, 6, 40))
		}
	}}
}

// settles is a new sensor: a start too wet (soaked) or too dry (air around it)
// that wears off over days.
func settles(f *Fault, inTheta bool, g grid, a int, r *rand.Rand) effect {
	size, tau := f.Strength, between(r, 20, 60)
	if f.Form == "wet_start" {
		size = -size
	}
	if inTheta {
		size *= -0.08
	}
	return effect{soil: func(i int, x float64) float64 {
		if i < a {
			return x
		}
		return x + float64(size*math.Exp(-float64(i-a)*g.hours()/tau))
	}}
}
