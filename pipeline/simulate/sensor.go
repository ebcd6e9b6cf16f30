package simulate

import (
	"math"
	"math/rand/v2"

	"probeward/detectors/soil"
)

// A connected block never shows more than this: its electrodes' own leak lies
// beside the soil's resistance.
const blockLimitOhms = 34000.0

// Beyond this a tensiometer's gauge stands still: the water in it would boil
// before the pressure of the air is used up.
const gaugeLimitKPa = 84.0

// blockCurve is the resistance of a mean granular block by tension at the
// reference temperature, smooth where the published form has seams: a real
// block knows nothing of them.
type blockCurve struct{ x, lnOhms []float64 } // x = ln(1 + kPa)

func newBlockCurve() blockCurve {
	var c blockCurve
	for kPa := 0.0; kPa < 260; kPa += 0.5 + float64(0.04*kPa) {
		if kPa > 40 && kPa < 56 || kPa > 9 && kPa < 12 { // around the seams the curve runs straight
			continue
		}
		ohms, ok := soil.GranularOhms(kPa, soil.ReferenceTempC)
		if !ok {
			continue
		}
		c.x = append(c.x, math.Log1p(kPa))
		c.lnOhms = append(c.lnOhms, math.Log(ohms))
	}
	return c
}

// ohms is the block at a tension in kPa and a soil temperature: warmer soil
// conducts better, so that at the same resistance it is 1.8 % a degree drier
// (the published forms; exact in the wet branch, near in the others).
func (c *blockCurve) ohms(kPa, tempC float64) float64 {
	x := math.Log1p(max(0, kPa) / (1 + float64(0.018*(tempC-soil.ReferenceTempC))))
	lo, hi := 0, len(c.x)-1
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if c.x[mid] <= x {
			lo = mid
		} else {
			hi = mid
		}
	}
	slope := (c.lnOhms[hi] - c.lnOhms[lo]) / (c.x[hi] - c.x[lo]) // beyond the last node it goes on
	return math.Exp(c.lnOhms[lo] + float64(slope*(x-c.x[lo])))
}

// responds is the tension that a block feels: none until the air entry of its
// own matrix, then the soil's.
func responds(kPa, deadAt float64) float64 {
	r := kPa / deadAt
	r *= r * r * r
	return kPa * r / (r + 1)
}

// signalInput is what one probe sees over the record, one value a reading.
type signalInput struct {
	theta      []float64 // m3/m3 at its depth
	tempC      []float64 // at its depth
	loggerTemp []float64 // as its logger exports it
	airC       []float64 // of the cable that lies in the air
	hours      float64   // between readings
}

// effect is how a fault changes the chain from soil to export; a nil step
// changes nothing. i counts the logger's readings.
type effect struct {
	water   func(i int, theta float64) float64                   // m3/m3 around the probe
	soil    func(i int, x float64) float64                       // ln kPa, or m3/m3 of a dielectric probe
	signal  func(i int, x float64) float64                       // ohms, kPa or m3/m3, noise included
	instead func(i int, theta, kPa float64) (x float64, is bool) // what another sensor gives, in the export's unit
	record  func(i int, v int32) int32                           // the exported count
}

// then is an effect followed by another one, step by step.
func (e effect) then(o effect) effect {
	out := effect{
		water:   chain(e.water, o.water),
		soil:    chain(e.soil, o.soil),
		signal:  chain(e.signal, o.signal),
		record:  chain(e.record, o.record),
		instead: e.instead,
	}
	if o.instead != nil {
		out.instead = o.instead
	}
	return out
}

func chain[T any](f, g func(int, T) T) func(int, T) T {
	if f == nil {
		return g
	}
	if g == nil {
		return f
	}
	return func(i int, x T) T { return g(i, f(i, x)) }
}

// read runs a probe over the record into out. The noise is the same with any
// effect and with none, so that the difference is the fault's alone.
func (w *world) read(p *Probe, c *column, in signalInput, e effect, noise *rand.Rand, out []int32) {
	m := &w.v.Posts[p.Post].model
	follow := 1 - math.Exp(-in.hours/p.lagHours)
	var felt float64
	for i, theta := range in.theta {
		if e.water != nil {
			theta = e.water(i, theta)
		}
		x := theta
		if p.Kind != dielectric {
			x = c.at(&c.lnTension, theta)
		}
		if e.soil != nil {
			x = e.soil(i, x)
		}
		if i == 0 {
			felt = x
		}
		felt += float64(follow * (x - felt))
		n := p.noise * noise.NormFloat64()
		hot := 0.0
		if p.hotPerC != 0 {
			hot = p.hotPerC * (in.airC[i] - 15)
		}
		var s float64
		switch p.Kind {
		case granularMatrix:
			r := w.curve.ohms(responds(math.Exp(felt), p.deadAt), in.tempC[i]) * p.offset
			q := r / blockLimitOhms
			q *= q * q
			s = r / math.Sqrt(math.Sqrt(1+float64(q*r/blockLimitOhms))) * math.Exp(n-hot)
		case tensiometer:
			s = min(math.Exp(felt), gaugeLimitKPa)*(1+hot) + p.offset + n
		default:
			s = felt + p.offset + float64(1.5e-4*(in.tempC[i]-18)) + hot + n
		}
		if e.signal != nil {
			s = e.signal(i, s)
		}
		v := m.encode(s, in.loggerTemp[i])
		if e.instead != nil {
			if y, is := e.instead(i, theta, math.Exp(c.at(&c.lnTension, theta))); is {
				v = m.count(y)
			}
		}
		if e.record != nil {
			v = e.record(i, v)
		}
		out[i] = v
	}
}
