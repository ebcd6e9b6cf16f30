package simulate

import (
	"math"

	"probeward/detectors/soil"
)

// The column is layers of 10 cm down to 120 cm. Between two layers water moves
// by gravity, at the upper one's conductivity, and by suction, as the difference
// of their matric flux potentials (Kirchhoff's transform of Richards' equation).
// So a wetting front arrives late at depth, a layer drains ever slower, and a
// dry layer draws on its neighbours.
const (
	layers     = 12
	layerMM    = 100.0
	pondMM     = 4.0    // what the surface holds before it runs off
	wiltingKPa = 1500.0 // roots take nothing drier
	stressKPa  = 20.0   // roots take freely up to here, and ever less beyond
	tableSize  = 512
)

// balance is a column's account in mm: Start + In = End + Runoff + Drained +
// Taken + Evaporated.
type balance struct {
	start, in, runoff, drained, taken, evaporated, end float64
}

// column is one hole's soil with its tables by water content.
type column struct {
	texture    soil.Texture
	low, scale float64            // of the tables: index = (theta - low) * scale
	flow       [tableSize]float64 // mm per step that gravity moves
	pull       [tableSize]float64 // matric flux potential, so that a difference is mm per step
	thirst     [tableSize]float64 // share of the demand that roots get
	lnTension  [tableSize]float64
	roots      [layers]float64 // share of the demand by layer
	theta      [layers]float64
	pond       float64
}

// newColumn is the soil of a position: the block's texture as drawn for it.
func newColumn(name string, d textureDraw) *column {
	t, ok := soil.TextureNamed(name)
	if !ok {
		panic("no texture is called " + name)
	}
	t.Alpha *= d.alpha
	t.N = max(1.06, 1+float64((t.N-1)*d.n))
	t.Ks *= d.ks
	c := &column{texture: t}
	c.low = t.WaterContent(20 * wiltingKPa)
	c.scale = (tableSize - 1) / (t.ThetaS - c.low)
	before := 0.0 // head of the node before, cm
	for i := range tableSize {
		kPa, ok := t.Tension(c.low + float64(i)/c.scale)
		if !ok {
			kPa = 0 // the last node may round to above saturation
		}
		c.lnTension[i] = math.Log(max(kPa, 0.2))
		c.flow[i] = t.Conductivity(kPa*soil.CmPerKPa) * 10 * columnStep.Hours() / 24
		if head := kPa * soil.CmPerKPa; i > 0 {
			c.pull[i] = c.pull[i-1] + float64(0.05*(c.flow[i]+c.flow[i-1])*(before-head))
			before = head
		} else {
			before = head
		}
		c.thirst[i] = 1
		if kPa > stressKPa {
			c.thirst[i] = max(0, 1-math.Log(kPa/stressKPa)/math.Log(wiltingKPa/stressKPa))
		}
	}
	sum := 0.0
	for i := range layers {
		c.roots[i] = math.Exp(-(float64(i) + 0.5) * 10 / 45)
		sum += c.roots[i]
	}
	for i := range layers {
		c.roots[i] /= sum
		c.theta[i] = t.WaterContent(14 + 2*float64(i%3)) // spring: near field capacity
	}
	return c
}

// at reads a table by water content, straight between its nodes.
func (c *column) at(table *[tableSize]float64, theta float64) float64 {
	x := (theta - c.low) * c.scale
	if x <= 0 {
		return table[0]
	}
	i := int(x)
	if i >= tableSize-1 {
		return table[tableSize-1]
	}
	x -= float64(i)
	return table[i] + float64(x*(table[i+1]-table[i]))
}

func (c *column) stored() float64 {
	sum := c.pond
	for _, t := range c.theta {
		sum += t * layerMM
	}
	return sum
}

// weatherStep is what comes from above in one step, in mm: water at the surface,
// the vines' demand and the surface's own.
type weatherStep struct{ supply, demand, evaporation float64 }

// step moves the column on by columnStep and enters it in the account.
func (c *column) step(w weatherStep, macropore float64, b *balance) {
	room := func(i int) float64 { return (c.texture.ThetaS - c.theta[i]) * layerMM }
	b.in += w.supply
	if cracks := w.supply * macropore; cracks > 0 {
		for i := 1; i <= 6; i++ {
			q := min(cracks/6, max(0, room(i)))
			c.theta[i] += q / layerMM
			w.supply -= q
		}
	}
	c.pond += w.supply
	q := min(c.pond, max(0, room(0)), c.flow[tableSize-1])
	c.theta[0] += q / layerMM
	c.pond -= q
	if c.pond > pondMM {
		b.runoff += c.pond - pondMM
		c.pond = pondMM
	}
	below := 0.0
	for i := layers - 1; i >= 0; i-- {
		q := min(c.at(&c.flow, c.theta[i]), 0.5*max(0, c.theta[i]-c.low)*layerMM)
		pull := c.at(&c.pull, c.theta[i])
		if i == layers-1 {
			b.drained += q
		} else {
			// An explicit step may not carry suction beyond where it would even out.
			even := 0.2 * (c.theta[i] - c.theta[i+1]) * layerMM
			q += min(max(pull-below, -math.Abs(even)), math.Abs(even))
			q = min(q, max(0, room(i+1)))
			c.theta[i+1] += q / layerMM
		}
		below = pull
		c.theta[i] -= q / layerMM
	}
	if w.demand > 0 {
		// Where some layers are dry the wet ones give more, up to a point.
		var share [layers]float64
		sum := 0.0
		for i := range layers {
			share[i] = c.roots[i] * c.at(&c.thirst, c.theta[i])
			sum += share[i]
		}
		if sum > 0 {
			want := w.demand * min(1, 1.7*sum) / sum
			for i := range layers {
				c.theta[i] -= want * share[i] / layerMM
				b.taken += want * share[i]
			}
		}
		wet := (c.theta[0] - c.texture.ThetaR) / (c.texture.ThetaS - c.texture.ThetaR)
		if q := min(w.evaporation*wet*wet, 0.5*(c.theta[0]-c.low)*layerMM); q > 0 {
			c.theta[0] -= q / layerMM
			b.evaporated += q
		}
	}
}

// run takes the column through the record. out gets, for each depth in cm, the
// water content at every reading; every is the number of steps between two.
func (v *Vineyard) run(position int, supply []float64, depths []int, every int, out [][]float64) balance {
	p := v.Positions[position]
	zone := v.Zones[v.Posts[p.Post].Zone]
	c := newColumn(zone.Texture, p.texture)
	b := balance{start: c.stored()}
	perHour := int(60 / columnStep.Minutes())
	lead := int(spinUp / columnStep)
	share := 1 / float64(perHour)
	clogs := math.MaxInt
	if !p.ClogsAt.IsZero() {
		clogs = int(p.ClogsAt.Sub(v.sky.start) / columnStep)
	}
	uptake := p.Uptake
	if zone.Look == dormant {
		uptake *= 0.1
	}
	for s, mm := range supply {
		if s >= lead && (s-lead)%every == 0 {
			i := (s - lead) / every
			for d, depth := range depths {
				l := depth / 10
				out[d][i] = 0.5 * (c.theta[l-1] + c.theta[l]) // the probe stands across the seam of two layers
			}
		}
		h := s / perHour
		et0 := v.sky.et0[h] * share
		mm *= p.Coupling
		if s >= clogs {
			mm *= 0.06 // what creeps in from the next emitters
		}
		mm += p.DripMM * share
		c.step(weatherStep{
			supply:      mm + float64(0.85*v.sky.rain[h]*share),
			demand:      et0 * v.sky.crop[h] * uptake,
			evaporation: 0.35 * et0,
		}, p.Macropore, &b)
	}
	b.end = c.stored()
	return b
}
