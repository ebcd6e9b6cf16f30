package simulate

import (
	"fmt"
	"math"
	"time"
)

// judged is the end of the record in which a weekly scan would have to see a fault.
const judged = 7 * 24 * time.Hour

// needHours is for how long the readings must differ from their clean twin for
// a fault to count as visible: an hour for what is gross, half a day and more
// for what must be told from weather.
var needHours = map[string]float64{
	"open_circuit": 1, "short_circuit": 1, "out_of_range": 0.2, "dry_out_spike": 0.6, "noise": 3,
	"cable_damage": 1, "settling": 6, "gap": 12, "lost_suction": 12, "flat_line": 12,
	"missing_irrigation_response": 12, "drift": 24,
}

// unitOf names what a fault's strength counts.
var unitOf = map[string]string{
	"cable_damage/intermittent":                "openings a day",
	"cable_damage/leaking_splice":              "ohm of the leak when wet",
	"cable_damage/corroded_joint":              "ohm in series at the end",
	"dry_out_spike/transient":                  "of height (ln ohm, or 0.08 m3/m3)",
	"missing_irrigation_response/lost_contact": "of the answer lost",
	"missing_irrigation_response/weakened":     "of the answer lost",
	"out_of_range/impossible":                  "readings a day",
	"settling/wet_start":                       "of the first offset (ln kPa, or 0.08 m3/m3)",
	"settling/dry_start":                       "of the first offset (ln kPa, or 0.08 m3/m3)",
	"noise/scatter":                            "times its own noise",
	"drift/wander":                             "of the last offset (ln ohm, or 0.1 m3/m3)",
	"lost_suction/emptied":                     "of the tension lost",
	"logger_power/nightly":                     "how often a night is bad",
	"clock_error/years":                        "years back",
	"clock_error/hours":                        "hours back",
	"irrigation_failure/valve_shut":            "mm that did not come",
	"unlogged_water/valve_open":                "mm that nobody logged",
}

// differs tells whether two exported values are further apart than five times
// the probe's own noise and one step of the export.
func differs(p *Probe, m *model, a, b int32) bool {
	if isValue(a) != isValue(b) {
		return true
	}
	if a == b || !isValue(a) {
		return false
	}
	x, qx := m.working(m.value(a))
	y, qy := m.working(m.value(b))
	return math.Abs(x-y) > float64(5*p.noiseAt(m, b))+max(qx, qy)
}

// noiseAt is the probe's noise in its working space near a value.
func (p *Probe) noiseAt(m *model, v int32) float64 {
	if p.Kind == tensiometer {
		return p.noise / (max(0, m.value(v)) + 5)
	}
	return p.noise
}

// answered counts the zone's logged waterings in a span that a series answers by
// wetting beyond its noise within a day of the valve's opening; a watering that
// any of the other ones could stand for is left out.
func (w *world) answered(p *Probe, values []int32, g grid, zone int, from time.Time, others []Watering) (answers, waterings int) {
	m := &w.v.Posts[p.Post].model
	for _, e := range w.v.Zones[zone].Waterings {
		if e.Start.Before(from) || e.End.Add(24*time.Hour).After(w.v.Until) || !e.Logged || !e.Delivered || overlaps(e, others) {
			continue
		}
		waterings++
		a, b := g.at(e.Start), g.at(e.Start.Add(36*time.Hour))
		if a >= g.n || !isValue(values[a]) {
			continue
		}
		before, quantum := m.working(m.value(values[a]))
		width := float64(5*p.noiseAt(m, values[a])) + quantum
		for i := a; i < b; i++ {
			if !isValue(values[i]) {
				continue
			}
			now, _ := m.working(m.value(values[i]))
			if wetter := before - now; (p.Kind == dielectric && -wetter > width) || (p.Kind != dielectric && wetter > width) {
				answers++
				break
			}
		}
	}
	return answers, waterings
}

// overlaps tells whether any of the others runs near enough to a watering to
// stand for it.
func overlaps(e Watering, others []Watering) bool {
	for _, o := range others {
		if o.Start.Before(e.End.Add(12*time.Hour)) && o.End.After(e.Start.Add(-12*time.Hour)) {
			return true
		}
	}
	return false
}

// shown is what the record says about one fault, from one post.
type shown struct {
	fault   int
	visible bool
	why     string
	probes  int // of a zone's fault: how many probes show it here
}

// shownBy judges every fault of a post, and what the post shows of its zone's.
func (w *world) shownBy(rec *record) []shown {
	var out []shown
	for _, k := range w.faults[rec.post] {
		f := &w.v.Faults[k]
		s := shown{fault: k}
		if f.Subject == "logger" {
			s.visible, s.why = w.loggerShown(f, rec)
		} else {
			s.visible, s.why = w.probeShown(f, rec)
		}
		out = append(out, s)
	}
	for k, f := range w.v.Faults {
		if f.zone >= 0 && f.zone == w.v.Posts[rec.post].Zone {
			out = append(out, shown{fault: k, probes: w.zoneShown(&f, rec)})
		}
	}
	return out
}

func (w *world) probeShown(f *Fault, rec *record) (bool, string) {
	var s *series
	for k := range rec.probes {
		if rec.probes[k].probe == f.probe {
			s = &rec.probes[k]
		}
	}
	p := &w.v.Probes[f.probe]
	if f.Fault == "wrong_zone" {
		others := w.v.Zones[p.RegisteredZone].Waterings
		from := w.v.Until.Add(-28 * 24 * time.Hour)
		n, of := w.answered(p, s.clean, rec.grid, w.v.Posts[p.Post].Zone, from, others)
		return n >= 3, fmt.Sprintf("stands in zone %s; answers %d of the %d waterings there that zone %s did not share",
			w.v.Zones[w.v.Posts[p.Post].Zone].Name, n, of, w.v.Zones[p.RegisteredZone].Name)
	}
	n, of := w.differing(f, rec, []int{f.probe})
	need := max(1, int(math.Ceil(needHours[f.Fault]/rec.grid.hours())))
	why := fmt.Sprintf("%d of %d readings of the last 7 days differ from the clean twin; %d would do", n, of, need)
	if unit := unitOf[f.Fault+"/"+f.Form]; unit != "" {
		why = fmt.Sprintf("%g %s; %s", f.Strength, unit, why)
	}
	visible := n >= need
	if f.Fault == "missing_irrigation_response" {
		zone := w.v.Posts[p.Post].Zone
		twin, came := w.answered(p, s.clean, rec.grid, zone, f.Start, nil)
		own, _ := w.answered(p, s.faulty, rec.grid, zone, f.Start, nil)
		visible = visible && twin-own >= 2
		why += fmt.Sprintf("; of %d waterings since, the twin answers %d and it %d", came, twin, own)
	}
	return visible, why
}

// differing counts the readings of some probes in the judged span that a fault
// changed, and how many there should have been.
func (w *world) differing(f *Fault, rec *record, probes []int) (n, of int) {
	a, b := rec.grid.span(f, w.v.Until)
	a = max(a, rec.grid.at(w.v.Until.Add(-judged)))
	for _, s := range rec.probes {
		p := &w.v.Probes[s.probe]
		m := &w.v.Posts[rec.post].model
		for _, k := range probes {
			if k != s.probe {
				continue
			}
			of += rec.grid.n - rec.grid.at(w.v.Until.Add(-judged))
			for i := a; i < b; i++ {
				if !rec.telemetry.lost[i] && differs(p, m, s.faulty[i], s.clean[i]) {
					n++
				}
			}
		}
	}
	return n, of
}

func (w *world) loggerShown(f *Fault, rec *record) (bool, string) {
	a, b := rec.grid.span(f, w.v.Until)
	a = max(a, rec.grid.at(w.v.Until.Add(-judged)))
	switch f.Fault {
	case "logger_silent":
		hours := float64(b-a) * rec.grid.hours()
		return hours >= 24, fmt.Sprintf("nothing came for %.0f h of the last 7 days", hours)
	case "clock_error":
		n := 0
		for i := a; i < b; i++ {
			if !rec.telemetry.lost[i] {
				n++
			}
		}
		return n > 0, fmt.Sprintf("%g %s; %d records of the last 7 days bear a false stamp", f.Strength, unitOf[f.Fault+"/"+f.Form], n)
	default:
		n, of := w.differing(f, rec, f.ports)
		hours := float64(n) * rec.grid.hours() / float64(len(f.ports))
		return hours >= 3, fmt.Sprintf("%d of %d readings of %d ports in the last 7 days differ from the clean twins", n, of, len(f.ports))
	}
}

// zoneShown counts the post's probes that read otherwise, for six hours of the
// three days after, than they would have with the water as logged.
func (w *world) zoneShown(f *Fault, rec *record) int {
	a, b := rec.grid.at(f.Start), rec.grid.at(f.Start.Add(72*time.Hour))
	probes := 0
	for _, s := range rec.probes {
		n := 0
		for i := a; i < b; i++ {
			if differs(&w.v.Probes[s.probe], &w.v.Posts[rec.post].model, s.logged[i], s.clean[i]) {
				n++
			}
		}
		if float64(n)*rec.grid.hours() >= 6 {
			probes++
		}
	}
	return probes
}
