package simulate

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"time"
)

// injectLoggerFaults takes the smallest loggers, so that three of them do not
// make a whole farm sick.
func (v *Vineyard) injectLoggerFaults(r *rand.Rand, touched map[int]bool) {
	ports := make([][]int, len(v.Posts))
	spoken := make([]bool, len(v.Posts))
	for i, p := range v.Probes {
		ports[p.Post] = append(ports[p.Post], i)
		spoken[p.Post] = spoken[p.Post] || p.Meant != "" || p.Predecessor || v.Posts[p.Post].Look != ""
	}
	var posts []int
	for i := range v.Posts {
		if !spoken[i] && len(ports[i]) >= 2 {
			posts = append(posts, i)
		}
	}
	slices.SortStableFunc(posts, func(a, b int) int {
		// Resistances and water contents first: a tensiometer post keeps its own fault.
		tens := func(i int) int {
			if v.Posts[i].model.kind == tensiometer {
				return 1
			}
			return 0
		}
		return cmp.Or(cmp.Compare(tens(a), tens(b)), cmp.Compare(len(ports[a]), len(ports[b])))
	})
	if len(posts) < 5 {
		return
	}
	for k, o := range v.loggerDeck() {
		if k >= len(posts)/3 {
			break
		}
		post := posts[k]
		f := Fault{Subject: "logger", Name: v.Posts[post].Logger, Fault: o.fault, Form: o.form, Start: v.ago(r, o.days),
			Strength: v.draw(r, o), zone: -1, post: post, probe: -1, ports: ports[post]}
		f.lastFor(r, o)
		switch {
		case o.form == "bank": // half of its ports have a supply of their own
			f.ports = f.ports[:max(2, len(f.ports)/2)]
		case o.fault == "logger_power" && len(f.ports) > 2:
			f.ports = f.ports[:len(f.ports)-1]
		}
		for _, i := range ports[post] {
			touched[i] = true
		}
		v.Faults = append(v.Faults, f)
	}
}

// loggerDeck is a fault of each kind, and more on a large farm. Where faults are
// measured their forms take turns.
func (v *Vineyard) loggerDeck() (out []order) {
	all := loggerOrders()
	if !v.options.Measure {
		rounds := max(1, len(v.Probes)/240)
		if rounds == 1 {
			return all[:3]
		}
		for k := range rounds * 4 {
			out = append(out, all[k%4])
		}
		return out
	}
	forms := map[string][]order{}
	for _, o := range all {
		forms[o.fault] = append(forms[o.fault], o)
	}
	for k, fault := range []string{"clock_error", "logger_power", "logger_silent"} {
		list := forms[fault]
		out = append(out, list[(v.turn()+k)%len(list)])
	}
	return out
}

// injectZoneFaults lets one logged watering not arrive, or not all of it, and lets
// water come that nobody logged, each in its own zone.
func (v *Vineyard) injectZoneFaults(r *rand.Rand) {
	if len(v.Zones) < 3 {
		return
	}
	first := r.IntN(len(v.Zones))
	var zones []int
	for k := range v.Zones {
		if z := (first + k) % len(v.Zones); v.Zones[z].Look == "" {
			zones = append(zones, z)
		}
	}
	if len(zones) < 2 {
		return
	}
	orders := waterOrders()
	missing, extra := orders[0], orders[2]
	if v.options.Measure {
		missing, extra = orders[v.turn()%2], orders[2+v.turn()%2]
	}
	v.loseWater(r, zones[0], missing)
	v.addWater(r, zones[1], extra)
}

// loseWater: the last watering that had time to be answered did not come.
func (v *Vineyard) loseWater(r *rand.Rand, zone int, o order) {
	z := &v.Zones[zone]
	last := len(z.Waterings) - 1
	for last > 0 && z.Waterings[last].End.After(v.Until.Add(-36*time.Hour)) {
		last--
	}
	if last <= 0 {
		return
	}
	w := &z.Waterings[last]
	f := Fault{Subject: "zone", Name: z.Name, Fault: o.fault, Form: o.form, Start: w.Start, End: w.End, Strength: w.DepthMM, zone: zone, post: -1, probe: -1}
	if o.form == "weak_pressure" {
		f.Strength = v.draw(r, o)
		w.Lost = f.Strength
	} else {
		w.Delivered = false
	}
	v.Faults = append(v.Faults, f)
}

// addWater comes halfway between two waterings, in the last days but with time to
// be answered: a valve that somebody opened for hours, or one that leaked for a
// day or two.
func (v *Vineyard) addWater(r *rand.Rand, zone int, o order) {
	z := &v.Zones[zone]
	for k := len(z.Waterings) - 1; k > 0; k-- {
		a, b := z.Waterings[k-1], z.Waterings[k]
		dry := b.Start.Sub(a.End)
		mm := v.draw(r, o)
		length := time.Duration(60*mm/z.RateMMPerHour) * time.Minute
		if o.form == "leak" {
			length = time.Duration(between(r, 20, 36)*60) * time.Minute
		}
		start := a.End.Add((dry - length) / 2).Truncate(columnStep)
		if dry < 60*time.Hour || start.Add(length).After(v.Until.Add(-30*time.Hour)) {
			continue
		}
		w := Watering{Start: start, End: start.Add(length), DepthMM: mm, Delivered: true}
		z.Waterings = slices.Insert(z.Waterings, k, w)
		v.Faults = append(v.Faults, Fault{Subject: "zone", Name: z.Name, Fault: o.fault, Form: o.form,
			Start: w.Start, End: w.End, Strength: mm, zone: zone, post: -1, probe: -1})
		return
	}
}
