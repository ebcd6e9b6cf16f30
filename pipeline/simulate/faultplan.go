package simulate

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"time"
)

// The share of the probes that faults may touch: about a fifth, as on a farm that
// was not looked after for a season; nearly a third where faults are measured.
const faultyShare, measuredShare = 0.21, 0.32

func (v *Vineyard) faultyBudget() int {
	if v.options.Measure {
		return int(measuredShare * float64(len(v.Probes)))
	}
	return int(faultyShare * float64(len(v.Probes)))
}

// draw gives a strength between mild and gross, evenly over its logarithm. A farm
// to look at has no fault of the mildest.
func (v *Vineyard) draw(r *rand.Rand, o order) float64 {
	u := r.Float64()
	if !v.options.Measure {
		u = 0.45 + float64(0.55*u)
	}
	if o.strength[0] == o.strength[1] {
		return o.strength[0]
	}
	return round3(o.strength[0] * math.Pow(o.strength[1]/o.strength[0], u))
}

// turn counts a farm's forms on: seeds of one remainder by four, which share an
// export where farms are measured, get other forms each time.
func (v *Vineyard) turn() int { return int(v.options.Seed%4 + v.options.Seed/4%1000) }

// deck is the orders of a farm in the order in which they are placed. Where faults
// are measured each fault has one turn a round, in one form after the other.
func (v *Vineyard) deck() (first, again []order) {
	rare := slices.Concat(extras(), grounded())
	if !v.options.Measure {
		at := int(v.options.Seed*5) % len(rare)
		seen := map[string]bool{}
		for _, o := range slices.Concat(rare[:1], wrongZones()[:1], rare[at:], rare[:at]) { // a leak and a wrong zone are always worth a look
			if !seen[o.fault] {
				seen[o.fault] = true
				again = append(again, o)
			}
		}
		return musts(), slices.Concat(again, rare, musts())
	}
	var names []string
	forms := map[string][]order{}
	for _, o := range slices.Concat(musts(), rare) {
		if forms[o.fault] == nil {
			names = append(names, o.fault)
		}
		forms[o.fault] = append(forms[o.fault], o)
	}
	for round := range 6 {
		for k, name := range names {
			if name == "under_emitter" && (v.turn()+round)%2 == 1 { // takes a whole hole
				continue
			}
			list := forms[name]
			for n := range list { // where its turn has no place, the next form stands in
				o := list[(v.turn()+round+n+k/5)%len(list)]
				if slices.ContainsFunc(v.order(), func(i int) bool { return v.takes(i, o) }) {
					again = append(again, o)
					break
				}
			}
			if name == "lost_suction" && len(again) > 0 && again[len(again)-1].fault == name && round == 0 {
				again = append(again, list[(v.turn()+1)%len(list)]) // few farms have tensiometers
			}
		}
	}
	return nil, again
}

// order is every probe once, as faults go looking for a place.
func (v *Vineyard) order() []int {
	return stream(v.options.Seed, forChoice, 1).Perm(len(v.Probes))
}

// takes tells whether a form can sit at a probe. Look-alikes are left healthy.
func (v *Vineyard) takes(i int, o order) bool {
	p := &v.Probes[i]
	return p.Meant == "" && !p.Predecessor && o.fits(v, p)
}

// injectFaults chooses where each fault sits.
func (v *Vineyard) injectFaults() {
	r := stream(v.options.Seed, forChoice, 0)
	touched := map[int]bool{} // probes
	budget := v.faultyBudget()
	v.injectLoggerFaults(r, touched)
	v.injectZoneFaults(r)
	queue := v.order()
	place := func(o order) {
		for _, i := range queue {
			if !touched[i] && v.takes(i, o) && v.inject(r, i, o, touched, budget) {
				return
			}
		}
	}
	small := max(1, len(v.Probes)/4)
	first, again := v.deck()
	for k, o := range first {
		if len(v.Probes) < 100 && len(touched) >= small && k > 0 {
			break
		}
		place(o)
	}
	for k := 0; len(touched) < budget && len(again) > 0 && k < 20*len(again); k++ {
		place(again[k%len(again)])
	}
	slices.SortFunc(v.Faults, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Name, b.Name), a.Start.Compare(b.Start))
	})
}

// inject puts one fault at a probe, and at those that have it together; false: it
// has no place here.
func (v *Vineyard) inject(r *rand.Rand, i int, o order, touched map[int]bool, budget int) bool {
	hole := v.free(i, touched, func(p *Probe) bool { return p.Position == v.Probes[i].Position })
	switch o.fault {
	case "wrong_zone", "under_emitter":
		if len(touched)+len(hole) > budget+1 {
			return false
		}
		if o.fault == "wrong_zone" {
			return v.misregister(i, o.form, touched)
		}
		f := v.newFault(r, i, o)
		q := &v.Positions[v.Probes[i].Position]
		q.DripMM, q.Coupling = f.Strength/24, max(q.Coupling, 3)
		for _, k := range hole {
			f.Name, f.Probe, f.probe = v.Probes[k].Name, v.Probes[k].Name, k
			v.Faults, touched[k] = append(v.Faults, f), true
		}
		return true
	case "depth_order", "duplicate_series":
		others := hole
		if o.fault == "duplicate_series" {
			others = v.free(i, touched, func(p *Probe) bool { return p.Post == v.Probes[i].Post })
		}
		others = slices.DeleteFunc(others, func(k int) bool { return k == i || len(touched)+2 > budget+1 })
		if len(others) == 0 {
			return false
		}
		f := v.newFault(r, i, o)
		other := others[0]
		if o.fault == "depth_order" { // the farthest apart
			other = slices.MaxFunc(others, func(a, b int) int {
				return cmp.Compare(abs(v.Probes[a].DepthCM-v.Probes[i].DepthCM), abs(v.Probes[b].DepthCM-v.Probes[i].DepthCM))
			})
		}
		for _, pair := range [2][2]int{{i, other}, {other, i}} {
			p := &v.Probes[pair[0]]
			f.Name, f.Probe, f.probe, f.peer = p.Name, p.Name, pair[0], pair[1]
			f.source = o.fault == "duplicate_series" && pair[0] != i
			v.Faults, touched[f.probe] = append(v.Faults, f), true
		}
		return true
	}
	v.injectProbeFault(r, i, o)
	touched[i] = true
	return true
}

// free lists the untouched ordinary probes of a place, in the register's order.
func (v *Vineyard) free(i int, touched map[int]bool, here func(*Probe) bool) (out []int) {
	for k := range v.Probes {
		if p := &v.Probes[k]; here(p) && !touched[k] && p.Meant == "" && !p.Predecessor {
			out = append(out, k)
		}
	}
	return out
}

// ago is an instant so many days before the end: on a short record, within its
// second half. No days are the record's beginning.
func (v *Vineyard) ago(r *rand.Rand, days [2]float64) time.Time {
	if days[1] == 0 {
		return v.Start
	}
	d := between(r, days[0], days[1])
	whole := v.Until.Sub(v.Start).Hours() / 24
	d = min(d, whole/2)
	return v.Until.Add(-time.Duration(d*24*60) * time.Minute).Truncate(columnStep)
}

func (v *Vineyard) newFault(r *rand.Rand, i int, o order) Fault {
	p := &v.Probes[i]
	f := Fault{Subject: "probe", Name: p.Name, Probe: p.Name, Fault: o.fault, Form: o.form,
		Start: v.ago(r, o.days), Strength: v.draw(r, o), zone: -1, post: p.Post, probe: i}
	f.lastFor(r, o)
	return f
}

func (f *Fault) lastFor(r *rand.Rand, o order) {
	if o.lasts[1] > 0 {
		f.End = f.Start.Add(time.Duration(between(r, o.lasts[0], o.lasts[1])*24*60) * time.Minute).Truncate(columnStep)
	}
}

func (v *Vineyard) injectProbeFault(r *rand.Rand, i int, o order) {
	p := &v.Probes[i]
	f := v.newFault(r, i, o)
	switch {
	case o.fault == "settling":
		f.Start = f.Start.Truncate(24 * time.Hour).Add(17 * time.Hour) // by day, as people do
		p.Installed, p.ValidFrom = f.Start, f.Start
	case o.fault == "wrong_kind" && o.form == "unit":
		p.Unit = map[string]string{"ohm": "kohm", "%": "m3/m3", "m3/m3": "%"}[p.Unit]
	}
	v.Faults = append(v.Faults, f)
}

// misregister gives a whole hole the zone of another valve in the register: of
// the one whose schedule is least like its own, or nobody could tell.
func (v *Vineyard) misregister(i int, form string, touched map[int]bool) bool {
	position := v.Probes[i].Position
	own := v.Posts[v.Probes[i].Post].Zone
	zone, most := -1, 0
	for z := range v.Zones {
		apart := 0
		for _, e := range v.Zones[own].Waterings {
			if z != own && v.Zones[z].Look == "" && !overlaps(e, v.Zones[z].Waterings) {
				apart++
			}
		}
		if apart > most {
			zone, most = z, apart
		}
	}
	if zone < 0 {
		return false
	}
	hole := v.free(i, touched, func(p *Probe) bool { return p.Position == position })
	for k := range v.Probes { // all of it or none: nobody registers half a hole
		if p := &v.Probes[k]; p.Position == position && !touched[k] && !slices.Contains(hole, k) {
			return false
		}
	}
	for _, k := range hole {
		p := &v.Probes[k]
		p.RegisteredZone, p.wrongBlock = zone, form == "zone_and_block"
		touched[k] = true
		v.Faults = append(v.Faults, Fault{Subject: "probe", Name: p.Name, Probe: p.Name, Fault: "wrong_zone", Form: form,
			Start: v.Start, Strength: 1, zone: -1, post: p.Post, probe: k})
	}
	return true
}

func abs(n int) int { return max(n, -n) }

func round3(x float64) float64 { return float64(int(x*1000+0.5)) / 1000 }
