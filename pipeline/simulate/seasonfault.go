package simulate

import (
	"math"
	"slices"
	"time"
)

// begin lets the faults begin that were planned for before an instant. One whose
// subject is still at fault, or whose probe is new in the ground, does not happen.
func (s *Season) begin(until time.Time) {
	for ; s.next < len(s.planned) && s.planned[s.next].start.Before(until); s.next++ {
		switch e := s.planned[s.next]; {
		case e.zone >= 0:
			s.beginZone(e)
		case e.post >= 0:
			s.beginLogger(e)
		case e.fault == "wrong_zone":
			s.misregister(e)
		case pairs(e.fault):
			s.beginPair(e)
		default:
			s.beginProbe(e)
		}
	}
}

// enter books a fault and gives its place.
func (s *Season) enter(e event, f Fault) int {
	r := stream(s.options.Seed, forSeason, 1+e.index)
	f.Fault, f.Form, f.Start = e.fault, e.form, e.start
	f.Strength = e.strength[0]
	if e.strength[0] != e.strength[1] { // mild to gross, evenly over its logarithm
		f.Strength = round3(e.strength[0] * math.Pow(e.strength[1]/e.strength[0], r.Float64()))
	}
	f.lastFor(r, e.order)
	s.v.Faults = append(s.v.Faults, f)
	s.account = append(s.account, account{was: -1, natural: f.End})
	return len(s.v.Faults) - 1
}

func (s *Season) beginProbe(e event) {
	k := s.place[e.place]
	p := &s.v.Probes[k]
	if s.openOn(k, e.start) >= 0 || p.Installed.After(e.start.AddDate(0, 0, -21)) {
		return
	}
	f := s.enter(e, Fault{Subject: "probe", Name: p.Name, Probe: p.Name, zone: -1, post: p.Post, probe: k})
	if e.fault == "wrong_kind" && e.form == "unit" {
		s.account[f].unit = p.Unit
		p.Unit = map[string]string{"ohm": "kohm", "%": "m3/m3", "m3/m3": "%"}[p.Unit]
	}
	if s.v.Faults[f].changesReadings() {
		s.plots[p.Post].fail(s, k, f)
	}
}

// beginPair befalls two probes together: two of a hole, or of a post where one
// gives out the other's series.
func (s *Season) beginPair(e event) {
	k := s.place[e.place]
	p := &s.v.Probes[k]
	for place, j := range s.place {
		q := &s.v.Probes[j]
		if j == k || q.Post != p.Post || e.fault == "depth_order" && q.Position != p.Position ||
			s.v.Probes[place].Predecessor || q.Meant != "" || s.openOn(k, e.start) >= 0 || s.openOn(j, e.start) >= 0 {
			continue
		}
		for _, pair := range [2][2]int{{k, j}, {j, k}} {
			x := &s.v.Probes[pair[0]]
			s.enter(e, Fault{Subject: "probe", Name: x.Name, Probe: x.Name, zone: -1, post: x.Post, probe: pair[0], peer: pair[1],
				source: e.fault == "duplicate_series" && pair[0] == j})
		}
		return
	}
}

// misregister gives a hole the zone in the register whose waterings of the weeks
// around are least like its own.
func (s *Season) misregister(e event) {
	v := s.v
	first := s.place[e.place]
	own, to, most := v.Posts[v.Probes[first].Post].Zone, -1, 0
	for z := range v.Zones {
		apart := 0
		for _, w := range v.Zones[own].Waterings {
			if z != own && w.Start.After(e.start.AddDate(0, 0, -28)) && w.Start.Before(e.start.AddDate(0, 0, 28)) && !overlaps(w, v.Zones[z].Waterings) {
				apart++
			}
		}
		if apart > most {
			to, most = z, apart
		}
	}
	if to < 0 {
		return
	}
	for _, k := range s.place {
		p := &v.Probes[k]
		if p.Position != v.Probes[first].Position || s.openOn(k, e.start) >= 0 {
			continue
		}
		f := s.enter(e, Fault{Subject: "probe", Name: p.Name, Probe: p.Name, zone: -1, post: p.Post, probe: k})
		s.account[f].was = p.RegisteredZone
		p.RegisteredZone = to
	}
}

func (s *Season) beginLogger(e event) {
	post := &s.v.Posts[e.post]
	if s.openAt("logger", post.Logger, e.start) >= 0 {
		return
	}
	k := s.enter(e, Fault{Subject: "logger", Name: post.Logger, zone: -1, post: e.post, probe: -1})
	f, g := &s.v.Faults[k], s.plots[e.post].rec.grid
	for place, probe := range s.place {
		if s.v.Probes[probe].Post == e.post && !s.v.Probes[place].Predecessor {
			s.account[k].probes = append(s.account[k].probes, probe)
		}
	}
	ports := s.account[k].probes
	switch {
	case e.form == "bank": // half of its ports have a supply of their own
		ports = ports[:min(len(ports), max(2, len(ports)/2))]
	case e.fault == "logger_power" && len(ports) > 2:
		ports = ports[:len(ports)-1]
	}
	if e.fault == "logger_power" {
		s.account[k].starved = starving(f, g, s.v.Until, s.options.Seed, 1<<10+k)
	}
	s.account[k].probes, f.ports = ports, ports
}

// beginZone shuts a valve, or lets water through that nobody logs.
func (s *Season) beginZone(e event) {
	z := &s.v.Zones[e.zone]
	k := s.enter(e, Fault{Subject: "zone", Name: z.Name, zone: e.zone, post: -1, probe: -1})
	f := &s.v.Faults[k]
	switch e.form {
	case "valve_open", "leak":
		length := time.Duration(60*f.Strength/z.RateMMPerHour) * time.Minute
		if e.form == "leak" {
			length = 28 * time.Hour
		}
		w := Watering{Start: e.start, End: e.start.Add(length), DepthMM: f.Strength, Delivered: true}
		f.End = w.End
		at := slices.IndexFunc(z.Waterings, func(o Watering) bool { return o.Start.After(w.Start) })
		z.Waterings = slices.Insert(z.Waterings, at, w)
	default:
		missed := 0.0
		for i := range z.Waterings {
			w := &z.Waterings[i]
			if !w.Logged || w.Start.Before(f.Start) || !w.Start.Before(f.End) {
				continue
			}
			missed += w.DepthMM
			if e.form == "weak_pressure" {
				w.Lost = f.Strength
			} else {
				w.Delivered = false
			}
		}
		if e.form == "valve_shut" {
			f.Strength = round3(missed)
		}
	}
	s.rewet(e.zone)
}

func (s *Season) rewet(zone int) {
	s.w.supplies[zone], s.w.logged[zone] = s.v.supply(zone, false), s.v.supply(zone, true)
	for post := range s.plots {
		if s.v.Posts[post].Zone == zone {
			s.plots[post].rewet(s)
		}
	}
}

// open says whether a fault stands at an instant.
func (f *Fault) open(at time.Time) bool {
	return !f.Start.After(at) && (f.End.IsZero() || f.End.After(at))
}

// openAt is the fault of a subject that stands at an instant; -1: none. A sensor
// that settles is at no fault.
func (s *Season) openAt(subject, name string, at time.Time) int {
	for k := range s.v.Faults {
		if f := &s.v.Faults[k]; f.Subject == subject && f.Name == name && f.Fault != "settling" && f.open(at) {
			return k
		}
	}
	return -1
}

func (s *Season) openOn(probe int, at time.Time) int {
	return s.openAt("probe", s.v.Probes[probe].Name, at)
}

// mend ends a fault at an instant that lies after all that was exported.
func (s *Season) mend(k int, at time.Time) {
	f := &s.v.Faults[k]
	f.End, s.account[k].endedBy = at, "crew"
	switch {
	case f.Fault == "wrong_zone":
		s.v.Probes[f.probe].RegisteredZone = s.account[k].was
	case s.account[k].unit != "":
		s.v.Probes[f.probe].Unit = s.account[k].unit
	case f.Fault == "irrigation_failure":
		z := &s.v.Zones[f.zone]
		for i := range z.Waterings {
			if w := &z.Waterings[i]; !w.Start.Before(at) {
				w.Delivered, w.Lost = true, 0
			}
		}
		s.rewet(f.zone)
	case pairs(f.Fault): // both leads, or both rows of the register
		for j := range s.v.Faults {
			if o := &s.v.Faults[j]; o.probe == f.peer && o.Fault == f.Fault && o.Start.Equal(f.Start) {
				o.End, s.account[j].endedBy = at, "crew"
			}
		}
	}
}

// replace puts a new sensor where a probe is: another probe in the register, which
// needs days to settle.
func (s *Season) replace(probe int, at time.Time) {
	v := s.v
	old := &v.Probes[probe]
	place := slices.Index(s.place, probe)
	r := stream(s.options.Seed, forReplacement, len(v.Probes))
	p := *old
	p.Name = nextName(v.Probes, v.Probes[place].Name)
	p.Meant, p.Predecessor = "", false
	p.Installed, p.ValidFrom, p.ValidTo = at, at, time.Time{}
	v.drawSensor(&p, len(v.Probes)+1)
	old.ValidTo = at
	v.Probes = append(v.Probes, p)
	k := len(v.Probes) - 1
	s.place[place] = k
	plot := &s.plots[p.Post]
	for i := range plot.rec.probes {
		if x := &plot.rec.probes[i]; x.probe == probe {
			s.w.keepWithin(&v.Probes[probe], plot.rec.grid, x.clean)
		}
	}
	plot.add(s, k)
	form := [...]string{"wet_start", "dry_start"}[r.IntN(2)]
	v.Faults = append(v.Faults, Fault{Subject: "probe", Name: p.Name, Probe: p.Name, Fault: "settling", Form: form, Start: at,
		End: at.AddDate(0, 0, 12), Strength: round3(between(r, 0.5, 1.3)), zone: -1, post: p.Post, probe: k})
	s.account = append(s.account, account{was: -1, natural: at.AddDate(0, 0, 12)})
	for f := range s.account { // it hangs on the same logger
		if slices.Contains(s.account[f].probes, probe) && v.Faults[f].open(at) {
			s.account[f].probes = append(s.account[f].probes, k)
			v.Faults[f].ports = s.account[f].probes
		}
	}
	plot.fail(s, k, len(v.Faults)-1)
}

// nextName is the name of the next sensor at a place: its first one's with a letter.
func nextName(probes []Probe, first string) string {
	for letter := 'b'; ; letter++ {
		name := first + string(letter)
		if !slices.ContainsFunc(probes, func(p Probe) bool { return p.Name == name }) {
			return name
		}
	}
}
