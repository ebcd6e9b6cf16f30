package simulate

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// judged is the end of the record in which a weekly scan would have to see a
// fault; recalled is how far it would look back for answers to water.
const (
	judged   = 7 * 24 * time.Hour
	recalled = 28 * 24 * time.Hour
)

// needHours is for how long the readings must differ from their clean twin for
// a fault to count as visible: an hour for what is gross, half a day and more
// for what must be told from weather.
var needHours = map[string]float64{
	"open_circuit": 1, "short_circuit": 1, "out_of_range": 0.2, "dry_out_spike": 0.6, "noise": 3,
	"cable_damage": 1, "settling": 6, "gap": 12, "lost_suction": 12, "flat_line": 12,
	"missing_irrigation_response": 12, "drift": 24, "poor_contact": 24, "bypass_flow": 3,
	"wrong_kind": 24, "duplicate_series": 24, "depth_order": 12, "under_emitter": 0,
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

// shown is what the record says about one fault, from one post.
type shown struct {
	fault   int
	visible bool
	why     string
	probes  int // of a zone's fault: how many probes show it here
	// Of a probe under an emitter, and of all around it (fault -1): the depth, and
	// the soil's median tension there in the last two weeks.
	depthCM, zone int
	kPa           float64
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
	return w.wetnessAround(rec, out)
}

func (rec *record) of(probe int) *series {
	k := slices.IndexFunc(rec.probes, func(s series) bool { return s.probe == probe })
	if k < 0 {
		return nil
	}
	return &rec.probes[k]
}

func (w *world) probeShown(f *Fault, rec *record) (bool, string) {
	s := rec.of(f.probe)
	p := &w.v.Probes[f.probe]
	if !f.ends(w.v.Until).After(w.v.Until.Add(-judged)) {
		return false, "over before the last 7 days"
	}
	switch f.Fault {
	case "wrong_zone":
		others := w.v.Zones[p.RegisteredZone].Waterings
		from := w.v.Until.Add(-recalled)
		n, of := w.answered(p, s.clean, rec.grid, w.v.Posts[p.Post].Zone, from, others)
		return n >= 3, fmt.Sprintf("stands in zone %s; answers %d of the %d waterings there that zone %s did not share",
			w.v.Zones[w.v.Posts[p.Post].Zone].Name, n, of, w.v.Zones[p.RegisteredZone].Name)
	case "under_emitter":
		return false, "" // known when all of the zone has run
	}
	n, of := w.differing(f, rec, []int{f.probe})
	need := max(1, int(math.Ceil(needHours[f.Fault]/rec.grid.hours())))
	if f.Form == "patchy" { // holes count from a tenth of the week
		need = int(math.Ceil(0.1 * judged.Hours() / rec.grid.hours()))
	}
	why := fmt.Sprintf("%d of %d readings of the last 7 days differ from the clean twin; %d would do", n, of, need)
	visible := n >= need
	if p.Unit != w.v.Posts[p.Post].model.unit {
		visible, why = true, fmt.Sprintf("gives %s, and %s is registered", w.v.Posts[p.Post].model.unit, p.Unit)
	}
	if unit := unitOf(f.Fault, f.Form); unit != "" {
		why = fmt.Sprintf("%g %s; %s", f.Strength, unit, why)
	}
	also, how := true, ""
	switch f.Fault {
	case "missing_irrigation_response":
		also, how = w.answerLost(f, rec, s)
	case "cable_damage":
		also, how = w.cableShown(f, rec, s)
	case "wrong_kind":
		also, how = w.kindShown(f, rec, s)
	case "poor_contact":
		also, how = w.contactShown(f, rec, s)
	case "bypass_flow":
		also, how = w.bypassShown(f, rec, s)
	case "depth_order":
		also, how = w.orderShown(f, rec, s)
		visible = true // a step is not asked for: what answers first tells
	case "duplicate_series":
		also, how = w.copyShown(f, rec)
		visible = visible || f.source
	case "drift":
		also, how = w.driftShown(f, rec, s)
	}
	return visible && also, why + how
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

// cableShown: a leak has shown at two times at least; corrosion has lifted the level
// out of its range, or the wettest readings where water still comes.
func (w *world) cableShown(f *Fault, rec *record, s *series) (bool, string) {
	p, m := &w.v.Probes[f.probe], &w.v.Posts[rec.post].model
	switch f.Form {
	case "leaking_splice", "wet_connector":
		a, b := rec.grid.span(f, w.v.Until)
		a = max(a, rec.grid.at(w.v.Until.Add(-recalled)))
		day := int(24 / rec.grid.hours())
		times, last := 0, a-day-1
		for i := a; i < b; i++ {
			if !rec.telemetry.lost[i] && differs(p, m, s.faulty[i], s.clean[i]) {
				if i-last > day {
					times++
				}
				last = i
			}
		}
		return times >= 2, fmt.Sprintf("; showed at %d times", times)
	case "corroded_joint", "corroded_plug":
		wandered, how := w.driftShown(f, rec, s)
		from := w.v.Until.Add(-2 * judged)
		n, _ := w.answered(p, s.clean, rec.grid, w.v.Posts[p.Post].Zone, from, nil)
		lifted, spread := wettest(p, m, s.faulty[rec.grid.at(from):])-wettest(p, m, s.clean[rec.grid.at(from):]), w.spread(rec, s, f)
		if p.Kind == dielectric {
			lifted = -lifted
		}
		return wandered || n >= 2 && spread > 0 && lifted > spread/4, how + fmt.Sprintf("; the wettest readings lie %.0f %% of it drier", 100*lifted/max(spread, 1e-9))
	}
	return true, ""
}

// wettest is the working value that a twentieth of the readings exceed in wetness.
func wettest(p *Probe, m *model, values []int32) float64 {
	var all []float64
	for _, v := range values {
		if x, ok := m.workingOr(v); ok {
			all = append(all, x)
		}
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	if p.Kind == dielectric {
		return all[len(all)*19/20]
	}
	return all[len(all)/20]
}

// kindShown: another unit, ohms of another order or water content above one give it
// away; else it takes water that its twin answers.
func (w *world) kindShown(f *Fault, rec *record, s *series) (bool, string) {
	p, m := &w.v.Probes[f.probe], &w.v.Posts[rec.post].model
	if f.Form == "unit" || f.Form == "tension" && m.unit == "m3/m3" {
		return true, ""
	}
	n, of := w.answered(p, s.clean, rec.grid, w.v.Posts[p.Post].Zone, w.since(f), nil)
	return n >= 3, fmt.Sprintf("; its twin answers %d of %d waterings", n, of)
}

// spread is the range of nine tenths of a probe's readings before a fault; 0 where
// there are too few.
func (w *world) spread(rec *record, s *series, f *Fault) float64 {
	m := &w.v.Posts[rec.post].model
	var before []float64
	for _, x := range s.clean[:rec.grid.at(f.Start)] {
		if y, ok := m.workingOr(x); ok {
			before = append(before, y)
		}
	}
	if len(before) < 100 {
		return 0
	}
	slices.Sort(before)
	return before[len(before)*19/20] - before[len(before)/20]
}

// copyShown: what is copied must have moved, or any two dull series are alike.
func (w *world) copyShown(f *Fault, rec *record) (bool, string) {
	copied := f.probe
	if f.source {
		copied = f.peer
	}
	values, last, changes := rec.of(copied).faulty, blank, 0
	for i := rec.grid.at(w.v.Until.Add(-judged)); i < rec.grid.n; i++ {
		if rec.telemetry.lost[i] || !isValue(values[i]) {
			continue
		}
		if last != blank && values[i] != last {
			changes++
		}
		last = values[i]
	}
	return changes >= 60, fmt.Sprintf("; the copy changed %d times", changes)
}

// driftShown: it must have wandered half as far as its readings went in all of the
// time before, or it lies within what the soil does.
func (w *world) driftShown(f *Fault, rec *record, s *series) (bool, string) {
	m := &w.v.Posts[rec.post].model
	spread := w.spread(rec, s, f)
	var apart []float64
	for i := rec.grid.at(w.v.Until.Add(-judged)); i < rec.grid.n; i++ {
		x, okX := m.workingOr(s.clean[i])
		y, okY := m.workingOr(s.faulty[i])
		if okX && okY {
			apart = append(apart, math.Abs(y-x))
		}
	}
	if spread == 0 || len(apart) == 0 {
		return false, "; there is no time before to compare with"
	}
	slices.Sort(apart)
	far := apart[len(apart)/2]
	return far >= spread/2, fmt.Sprintf("; wandered %.0f %% of the range that it had before", 100*far/spread)
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
		visible, how := w.clockShown(f, rec)
		return n > 0 && visible, fmt.Sprintf("%g %s; %d records of the last 7 days bear a false stamp%s", f.Strength, unitOf(f.Fault, f.Form), n, how)
	default:
		n, of := w.differing(f, rec, f.ports)
		hours := float64(n) * rec.grid.hours() / float64(len(f.ports))
		return hours >= 3, fmt.Sprintf("%d of %d readings of %d ports in the last 7 days differ from the clean twins", n, of, len(f.ports))
	}
}

// clockShown: stamps that go back, that cannot be, or that leave a hole of hours
// show by themselves. A clock that is wrong by the same hours all along shows only
// by when its ports answer water.
func (w *world) clockShown(f *Fault, rec *record) (bool, string) {
	switch f.Form {
	case "zone_ahead", "zone_behind":
		early, ports := 0, 0
		for _, s := range rec.probes {
			n, _ := w.answered(&w.v.Probes[s.probe], s.clean, rec.grid, w.v.Posts[rec.post].Zone, w.v.Until.Add(-recalled), nil)
			if n >= 3 {
				ports++
			}
			early += n
		}
		return ports >= 2 && f.Strength >= 3, fmt.Sprintf("; %d of its ports answer water, %d times in all", ports, early)
	case "hours_ahead":
		hours := math.Round(f.Strength)
		return hours >= 3, fmt.Sprintf("; a hole of %.0f h", hours)
	case "loses_time":
		minutes := -f.clockWrong(w.v.Until).Minutes()
		return minutes >= rec.grid.every.Minutes(), fmt.Sprintf("; %.0f min at the end", minutes)
	}
	return true, ""
}
