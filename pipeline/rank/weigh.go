package rank

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Numbers of the priority; see the package comment. Common practice, no source.
const (
	ageDays     = 7.0
	leastAge    = 0.25
	depthStepCM = 10.0
	// temperatureWeight is what a soil temperature probe counts against a moisture
	// probe: nobody waters by it alone.
	temperatureWeight = 0.2
)

// cell is what a decision about water rests on: one depth of one zone.
type cell struct {
	farm, zone string
	depth      int // in tens of cm; -1 when the register has none
}

// cellOf gives the cell of a probe. Without a zone the block stands for it, without
// a block the post, without either the probe itself.
func cellOf(p *detect.Probe) cell {
	c := cell{farm: p.Farm, depth: -1}
	switch {
	case p.Zone != "":
		c.zone = "zone " + p.Zone
	case p.Block != "":
		c.zone = "block " + p.Block
	case p.Post != "":
		c.zone = "post " + p.Post
	default:
		c.zone = "probe " + p.Name
	}
	if p.DepthCM.OK {
		c.depth = int(math.Round(p.DepthCM.V / depthStepCM))
	}
	return c
}

// words name the cell as a person would.
func (c cell) words() (zone, depth string) {
	if c.depth < 0 {
		return c.zone, ""
	}
	return c.zone, fmt.Sprintf(" at %d cm", c.depth*int(depthStepCM))
}

// area that a probe speaks for, ha.
func (r *ranker) area(place int) float64 {
	if a := r.detail(place).AreaHA; a.OK && a.V > 0 {
		return a.V
	}
	return r.areaElse
}

// count prepares what stops are weighed against: the fit probes of each cell, and
// the median area for probes without one.
func (r *ranker) count() {
	r.fit = map[cell]int{}
	var areas []float64
	for i := range r.in.Probes {
		p := &r.in.Probes[i]
		if s := &r.in.Judged.States[i]; s.Verdict == schemas.Fit && s.InGround && p.Moisture() {
			r.fit[cellOf(p)]++
		}
		if a := r.detail(i).AreaHA; a.OK && a.V > 0 {
			areas = append(areas, a.V)
		}
	}
	r.areaElse = 1
	if len(areas) > 0 {
		slices.Sort(areas)
		r.areaElse = (areas[(len(areas)-1)/2] + areas[len(areas)/2]) / 2
	}
}

// share is one cell's part in a stop's worth.
type share struct {
	cell
	worth float64
	fit   int
	dry   bool // a zone without water
}

// worth is the sum of the package comment, by cell, the weightiest first.
func (r *ranker) worth(s *stop) []share {
	type loss struct {
		cell
		amount float64
		place  int
	}
	var losses []loss
	for _, p := range s.probes() {
		probe := &r.in.Probes[p]
		if s.class == ofZone && !probe.Moisture() {
			continue
		}
		amount := r.sure(s.touched[p]) * r.area(p)
		if !probe.Moisture() {
			amount *= temperatureWeight
		}
		losses = append(losses, loss{cellOf(probe), amount, p})
	}
	slices.SortFunc(losses, func(a, b loss) int { return cmp.Or(cmp.Compare(b.amount, a.amount), cmp.Compare(a.place, b.place)) })
	var shares []share
	for _, l := range losses {
		k := slices.IndexFunc(shares, func(x share) bool { return x.cell == l.cell })
		if k < 0 {
			k = len(shares)
			shares = append(shares, share{cell: l.cell, fit: r.fit[l.cell], dry: s.class == ofZone})
		} else if s.class == ofZone {
			continue // its depth is counted
		}
		x := &shares[k]
		if s.class == ofZone {
			x.worth = l.amount
			continue
		}
		back := 0
		for _, m := range losses {
			if m == l {
				break
			}
			if m.cell == l.cell {
				back++
			}
		}
		x.worth += l.amount / float64(1+x.fit+back)
	}
	slices.SortStableFunc(shares, func(a, b share) int { return cmp.Compare(b.worth, a.worth) })
	return shares
}

// ageFactor grows with the days that a fault has stood, and saturates.
func ageFactor(days float64) float64 {
	return max(leastAge, 1-math.Exp(-max(0, days)/ageDays))
}

// priority is what a stop brings for a minute of work there.
func priority(shares []share, days, minutes float64) float64 {
	sum := 0.0
	for _, x := range shares {
		sum += x.worth
	}
	return ageFactor(days) * sum / minutes
}

// minutes of work: the longest stop that a fault asks for, and for each probe the
// longest work.
func (r *ranker) minutes(s *stop) float64 {
	stay := 0.0
	for _, i := range s.findings {
		if s.class == ofLogger && r.in.Judged.Findings[i].Subject != schemas.SubjectLogger {
			continue // it is only read again when the logger is mended
		}
		stay = max(stay, tradeOf[r.in.Judged.Findings[i].Fault].Stop)
	}
	for _, p := range s.probes() {
		each := 0.0
		for _, i := range s.touched[p] {
			if s.class == ofLogger && r.in.Judged.Findings[i].Subject != schemas.SubjectLogger {
				continue
			}
			each = max(each, tradeOf[r.in.Judged.Findings[i].Fault].Each)
		}
		stay += each
	}
	return stay
}

// why says in words and numbers what the priority is made of.
func why(shares []share, confidence, days, minutes float64, runs int) string {
	var parts []string
	for i, x := range shares {
		if i == 2 {
			parts = append(parts, fmt.Sprintf("%d more depths of zones", len(shares)-i))
			break
		}
		zone, depth := x.words()
		switch {
		case x.dry:
			parts = append(parts, fmt.Sprintf("%s got no water%s", zone, depth))
		case x.fit == 0:
			parts = append(parts, fmt.Sprintf("%s has no other probe to trust%s", zone, depth))
		case x.fit == 1:
			parts = append(parts, fmt.Sprintf("%s has one other probe to trust%s", zone, depth))
		default:
			parts = append(parts, fmt.Sprintf("%s has %d other probes to trust%s", zone, x.fit, depth))
		}
	}
	open := fmt.Sprintf("open for %s", dayWords(days))
	if runs > 1 {
		open += fmt.Sprintf(" and %d runs", runs)
	}
	parts = append(parts, fmt.Sprintf("%.0f %% sure", 100*confidence), open, fmt.Sprintf("%.0f min of work", minutes))
	return strings.Join(parts, "; ")
}

func dayWords(days float64) string {
	switch n := math.Round(days); {
	case n < 1:
		return "less than a day"
	case n == 1:
		return "1 day"
	default:
		return fmt.Sprintf("%.0f days", n)
	}
}
