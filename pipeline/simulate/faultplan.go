package simulate

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"time"
)

// share of the probes that faults may touch: about a fifth, as on a farm that
// was not looked after for a season.
const faultyShare = 0.21

// order is one fault to inject: where it can sit, how long before the end it
// starts and how strong it may be.
type order struct {
	fault, form string
	fits        func(*Vineyard, *Probe) bool
	days        [2]float64
	strength    [2]float64
	lasts       [2]float64 // days; zero: to the end
}

// inBulb is where water comes often: near the surface, or deeper where cracks
// take it down.
func inBulb(v *Vineyard, p *Probe) bool {
	q := v.Positions[p.Position]
	return q.Coupling >= 1.4 && (p.DepthCM <= 30 || p.DepthCM <= 60 && q.Macropore >= 0.15)
}
func anywhere(*Vineyard, *Probe) bool { return true }
func electrode(v *Vineyard, p *Probe) bool {
	return p.Kind == granularMatrix && inBulb(v, p)
}
func noTensiometer(v *Vineyard, p *Probe) bool { return p.Kind != tensiometer && inBulb(v, p) }

// wellWatered is near the surface of a bulb that got water often of late: where
// an answer is missed.
func wellWatered(v *Vineyard, p *Probe) bool {
	n := 0
	for _, e := range v.Zones[v.Posts[p.Post].Zone].Waterings {
		if e.Delivered && e.Logged && e.Start.After(v.Until.AddDate(0, 0, -17)) && e.End.Before(v.Until.AddDate(0, 0, -1)) {
			n++
		}
	}
	return n >= 3 && p.DepthCM <= 30 && noTensiometer(v, p)
}

func waterColumn(_ *Vineyard, p *Probe) bool { return p.Kind == tensiometer }
func notInOhms(v *Vineyard, p *Probe) bool {
	return noTensiometer(v, p) && (p.Unit != "ohm" || v.options.Export == "ohm")
}

// musts are on every farm that has room; extras follow, again and again, until
// the share is reached.
func musts() []order {
	return []order{
		{fault: "open_circuit", form: "permanent", fits: noTensiometer, days: [2]float64{2, 18}, strength: [2]float64{1, 1}},
		{fault: "cable_damage", form: "intermittent", fits: noTensiometer, days: [2]float64{4, 15}, strength: [2]float64{4, 25}},
		{fault: "flat_line", form: "frozen", fits: noTensiometer, days: [2]float64{4, 14}, strength: [2]float64{1, 1}},
		{fault: "missing_irrigation_response", form: "lost_contact", fits: wellWatered, days: [2]float64{17, 20}, strength: [2]float64{0.97, 1}},
		{fault: "gap", form: "missing", fits: anywhere, days: [2]float64{2, 9}, strength: [2]float64{1, 1}},
		{fault: "short_circuit", form: "permanent", fits: noTensiometer, days: [2]float64{2, 15}, strength: [2]float64{1, 1}},
		{fault: "dry_out_spike", form: "transient", fits: noTensiometer, days: [2]float64{5, 18}, strength: [2]float64{0.3, 1.4}},
		{fault: "out_of_range", form: "impossible", fits: notInOhms, days: [2]float64{5, 15}, strength: [2]float64{3, 15}},
		{fault: "settling", form: "wet_start", fits: noTensiometer, days: [2]float64{4, 8}, strength: [2]float64{0.5, 1.5}},
	}
}

func extras() []order {
	return []order{
		{fault: "cable_damage", form: "leaking_splice", fits: electrode, days: [2]float64{10, 20}, strength: [2]float64{300, 1500}},
		{fault: "wrong_zone", form: "register", fits: inBulb, strength: [2]float64{1, 1}},
		{fault: "cable_damage", form: "corroded_joint", fits: electrode, days: [2]float64{12, 20}, strength: [2]float64{500, 4000}},
		{fault: "lost_suction", form: "emptied", fits: waterColumn, days: [2]float64{4, 14}, strength: [2]float64{0.9, 1}},
		{fault: "noise", form: "scatter", fits: noTensiometer, days: [2]float64{6, 18}, strength: [2]float64{4, 15}},
		{fault: "drift", form: "wander", fits: noTensiometer, days: [2]float64{15, 20}, strength: [2]float64{0.3, 1}},
		{fault: "open_circuit", form: "mended", fits: noTensiometer, days: [2]float64{6, 9}, strength: [2]float64{1, 1}, lasts: [2]float64{2, 5}},
		{fault: "gap", form: "blank", fits: anywhere, days: [2]float64{4, 6}, strength: [2]float64{1, 1}, lasts: [2]float64{1, 2.5}},
		{fault: "settling", form: "dry_start", fits: noTensiometer, days: [2]float64{3, 9}, strength: [2]float64{0.5, 1.2}},
		{fault: "missing_irrigation_response", form: "weakened", fits: wellWatered, days: [2]float64{16, 20}, strength: [2]float64{0.8, 0.97}},
		{fault: "short_circuit", form: "mended", fits: noTensiometer, days: [2]float64{6, 9}, strength: [2]float64{1, 1}, lasts: [2]float64{2, 5}},
	}
}

// injectFaults chooses where each fault sits. Look-alikes are left healthy.
func (v *Vineyard) injectFaults() {
	r := stream(v.options.Seed, forChoice, 0)
	touched := map[int]bool{} // probes
	budget := int(faultyShare * float64(len(v.Probes)))
	v.injectLoggerFaults(r, touched)
	v.injectZoneFaults(r)

	queue := r.Perm(len(v.Probes))
	place := func(o order) {
		for _, i := range queue {
			p := &v.Probes[i]
			if touched[i] || p.Meant != "" || p.Predecessor || !o.fits(v, p) {
				continue
			}
			if o.fault == "wrong_zone" {
				v.misregister(i, touched)
				return
			}
			v.injectProbeFault(r, i, o)
			touched[i] = true
			return
		}
	}
	small := max(1, len(v.Probes)/4)
	for k, o := range musts() {
		if len(v.Probes) < 100 && len(touched) >= small && k > 0 {
			break
		}
		place(o)
	}
	for k, list := 0, append(extras(), musts()...); len(touched) < budget && k < 20*len(list); k++ {
		place(list[k%len(list)])
	}
	slices.SortFunc(v.Faults, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Name, b.Name), a.Start.Compare(b.Start))
	})
}

// ago is an instant so many days before the end: on a short record, within its
// second half.
func (v *Vineyard) ago(r *rand.Rand, days [2]float64) time.Time {
	d := between(r, days[0], days[1])
	whole := v.Until.Sub(v.Start).Hours() / 24
	d = min(d, whole/2)
	return v.Until.Add(-time.Duration(d*24*60) * time.Minute).Truncate(columnStep)
}

func (v *Vineyard) injectProbeFault(r *rand.Rand, i int, o order) {
	p := &v.Probes[i]
	f := Fault{Subject: "probe", Name: p.Name, Probe: p.Name, Fault: o.fault, Form: o.form,
		Start: v.ago(r, o.days), Strength: round3(between(r, o.strength[0], o.strength[1])), zone: -1, post: p.Post, probe: i}
	if o.lasts[1] > 0 {
		f.End = f.Start.Add(time.Duration(between(r, o.lasts[0], o.lasts[1])*24*60) * time.Minute).Truncate(columnStep)
	}
	if o.fault == "settling" {
		f.Start = f.Start.Truncate(24 * time.Hour).Add(17 * time.Hour) // by day, as people do
		p.Installed, p.ValidFrom = f.Start, f.Start
	}
	v.Faults = append(v.Faults, f)
}

// misregister gives a whole hole the zone of another valve in the register: of
// the one whose schedule is least like its own, or nobody could tell.
func (v *Vineyard) misregister(i int, touched map[int]bool) {
	position := v.Probes[i].Position
	own := v.Posts[v.Probes[i].Post].Zone
	zone, most := -1, 0
	for z := range v.Zones {
		apart := 0
		for _, e := range v.Zones[own].Waterings {
			if z != own && !overlaps(e, v.Zones[z].Waterings) {
				apart++
			}
		}
		if apart > most {
			zone, most = z, apart
		}
	}
	for k := range v.Probes {
		p := &v.Probes[k]
		if p.Position != position || touched[k] || zone < 0 {
			continue
		}
		p.RegisteredZone = zone
		touched[k] = true
		v.Faults = append(v.Faults, Fault{Subject: "probe", Name: p.Name, Probe: p.Name, Fault: "wrong_zone", Form: "register",
			Start: v.Start, Strength: 1, zone: -1, post: p.Post, probe: k})
	}
}

// injectLoggerFaults takes the smallest loggers, so that three of them do not
// make a whole farm sick.
func (v *Vineyard) injectLoggerFaults(r *rand.Rand, touched map[int]bool) {
	ports := make([][]int, len(v.Posts))
	spoken := make([]bool, len(v.Posts))
	for i, p := range v.Probes {
		ports[p.Post] = append(ports[p.Post], i)
		spoken[p.Post] = spoken[p.Post] || p.Meant != "" || p.Predecessor
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
	list := []order{
		{fault: "logger_power", form: "nightly", days: [2]float64{6, 15}, strength: [2]float64{0.6, 1}},
		{fault: "logger_silent", form: "battery", days: [2]float64{2, 5}, strength: [2]float64{1, 1}},
		{fault: "clock_error", form: "years", days: [2]float64{3, 6}, strength: [2]float64{20, 40}, lasts: [2]float64{1.5, 2.8}},
		{fault: "clock_error", form: "hours", days: [2]float64{3, 8}, strength: [2]float64{4, 9}},
	}
	rounds := max(1, len(v.Probes)/240)
	for k := range rounds * len(list) {
		o := list[k%len(list)]
		if rounds == 1 && k == 3 { // a small farm has one clock error
			break
		}
		if k >= len(posts)/3 {
			break
		}
		post := posts[k]
		f := Fault{Subject: "logger", Name: v.Posts[post].Logger, Fault: o.fault, Form: o.form, Start: v.ago(r, o.days),
			Strength: round3(between(r, o.strength[0], o.strength[1])), zone: -1, post: post, probe: -1, ports: ports[post]}
		if o.lasts[1] > 0 {
			f.End = f.Start.Add(time.Duration(between(r, o.lasts[0], o.lasts[1])*24*60) * time.Minute).Truncate(columnStep)
		}
		if o.fault == "logger_power" && len(f.ports) > 2 {
			f.ports = f.ports[:len(f.ports)-1] // one port has a supply of its own
		}
		for _, i := range f.ports {
			touched[i] = true
		}
		v.Faults = append(v.Faults, f)
	}
}

// injectZoneFaults lets one logged watering not arrive and lets one come that
// nobody logged, each in its own zone.
func (v *Vineyard) injectZoneFaults(r *rand.Rand) {
	if len(v.Zones) < 3 {
		return
	}
	first := r.IntN(len(v.Zones))
	missed, extra := &v.Zones[first], &v.Zones[(first+1)%len(v.Zones)]
	last := len(missed.Waterings) - 1
	for last > 0 && missed.Waterings[last].End.After(v.Until.Add(-36*time.Hour)) {
		last--
	}
	if last > 0 {
		w := &missed.Waterings[last]
		w.Delivered = false
		v.Faults = append(v.Faults, Fault{Subject: "zone", Name: missed.Name, Fault: "irrigation_failure", Form: "valve_shut",
			Start: w.Start, End: w.End, Strength: w.DepthMM, zone: first, post: -1, probe: -1})
	}
	// Halfway between two waterings, in the last days but with time to be answered.
	n := len(extra.Waterings)
	for k := n - 1; k > 0; k-- {
		a, b := extra.Waterings[k-1], extra.Waterings[k]
		middle := a.End.Add(b.Start.Sub(a.End) / 2).Truncate(columnStep)
		if b.Start.Sub(a.End) < 60*time.Hour || middle.After(v.Until.Add(-36*time.Hour)) {
			continue
		}
		w := Watering{Start: middle, End: middle.Add(time.Duration(60*9/extra.RateMMPerHour) * time.Minute), DepthMM: 9, Delivered: true}
		extra.Waterings = slices.Insert(extra.Waterings, k, w)
		v.Faults = append(v.Faults, Fault{Subject: "zone", Name: extra.Name, Fault: "unlogged_water", Form: "valve_open",
			Start: w.Start, End: w.End, Strength: w.DepthMM, zone: (first + 1) % len(v.Zones), post: -1, probe: -1})
		break
	}
}

func round3(x float64) float64 { return float64(int(x*1000+0.5)) / 1000 }
