package simulate

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// rise is how many hours after an instant a series has wetted beyond its noise and
// one step of the export; false where it does not before the other instant.
func (w *world) rise(p *Probe, values []int32, g grid, from, to time.Time) (hours float64, ok bool) {
	m := &w.v.Posts[p.Post].model
	a, b := g.at(from), g.at(to)
	if a >= g.n || !isValue(values[a]) {
		return 0, false
	}
	before, quantum := m.working(m.value(values[a]))
	width := float64(5*p.noiseAt(m, values[a])) + quantum
	for i := a; i < b; i++ {
		if !isValue(values[i]) {
			continue
		}
		now, _ := m.working(m.value(values[i]))
		if wetter := before - now; (p.Kind == dielectric && -wetter > width) || (p.Kind != dielectric && wetter > width) {
			return float64(i-a) * g.hours(), true
		}
	}
	return 0, false
}

// height is how far a series wetted at most between two instants, in its working
// space.
func (w *world) height(p *Probe, values []int32, g grid, from, to time.Time) float64 {
	m := &w.v.Posts[p.Post].model
	a, b := g.at(from), g.at(to)
	if a >= g.n || !isValue(values[a]) {
		return 0
	}
	before, _ := m.working(m.value(values[a]))
	most := 0.0
	for i := a; i < b; i++ {
		if now, ok := m.workingOr(values[i]); ok {
			most = max(most, map[bool]float64{true: now - before, false: before - now}[p.Kind == dielectric])
		}
	}
	return most
}

// events are the zone's logged waterings from an instant on that came and had a
// day to be answered; one that any of the other ones could stand for is left out.
func (w *world) events(zone int, from time.Time, others []Watering) (out []Watering) {
	for _, e := range w.v.Zones[zone].Waterings {
		if e.Start.Before(from) || e.End.Add(24*time.Hour).After(w.v.Until) || !e.Logged || !e.Delivered || e.Lost > 0 || e.LoggedSoon != 0 || overlaps(e, others) {
			continue
		}
		out = append(out, e)
	}
	return out
}

// answered counts the waterings of a span that a series answers by wetting beyond
// its noise within a day and a half of the valve's opening.
func (w *world) answered(p *Probe, values []int32, g grid, zone int, from time.Time, others []Watering) (answers, waterings int) {
	for _, e := range w.events(zone, from, others) {
		waterings++
		if _, ok := w.rise(p, values, g, e.Start, e.Start.Add(36*time.Hour)); ok {
			answers++
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

// answerLost: the twin answered two waterings more since.
func (w *world) answerLost(f *Fault, rec *record, s *series) (bool, string) {
	p := &w.v.Probes[f.probe]
	zone := w.v.Posts[p.Post].Zone
	twin, came := w.answered(p, s.clean, rec.grid, zone, f.Start, nil)
	own, _ := w.answered(p, s.faulty, rec.grid, zone, f.Start, nil)
	return twin-own >= 2, fmt.Sprintf("; of %d waterings since, the twin answers %d and it %d", came, twin, own)
}

// since is the later of a fault's start and what is looked back on.
func (w *world) since(f *Fault) time.Time {
	if from := w.v.Until.Add(-recalled); from.After(f.Start) {
		return from
	}
	return f.Start
}

// contactShown: of the waterings that the twin answers it answers two or more not at
// all, three hours later, or half as high; or it jumps where the twin does not. Where
// there is no time before to compare with, healthy places differ by more: it must be
// three waterings and most of them, eight hours, and a quarter of the height.
func (w *world) contactShown(f *Fault, rec *record, s *series) (bool, string) {
	p := &w.v.Probes[f.probe]
	m := &w.v.Posts[rec.post].model
	of, less, jumps := 0, 0, 0
	late, low := 3.0, 0.5
	always := !f.Start.After(w.v.Start)
	if always {
		late, low = 8, 0.25
	}
	for _, e := range w.events(w.v.Posts[p.Post].Zone, w.since(f), nil) {
		to := e.Start.Add(36 * time.Hour)
		twin, ok := w.rise(p, s.clean, rec.grid, e.Start, to)
		if !ok {
			continue
		}
		of++
		own, ok := w.rise(p, s.faulty, rec.grid, e.Start, to)
		if !ok || own >= twin+late || w.height(p, s.faulty, rec.grid, e.Start, to) < low*w.height(p, s.clean, rec.grid, e.Start, to) {
			less++
		}
	}
	for i := rec.grid.at(w.v.Until.Add(-judged)); i < rec.grid.n; i++ {
		a, okA := m.workingOr(s.faulty[i-1])
		b, okB := m.workingOr(s.faulty[i])
		c, okC := m.workingOr(s.clean[i-1])
		d, okD := m.workingOr(s.clean[i])
		if okA && okB && okC && okD {
			_, quantum := m.working(m.value(s.clean[i]))
			if math.Abs((b-a)-(d-c)) > float64(8*p.noiseAt(m, s.clean[i]))+2*quantum {
				jumps++
			}
		}
	}
	enough := less >= 2
	if always {
		enough = less >= 3 && 3*less >= 2*of
	}
	return enough || jumps >= 3, fmt.Sprintf("; answers %d of the twin's %d late, low or not at all; %d jumps", less, of, jumps)
}

// bypassShown: two waterings or more reach it within four hours, before the probe
// above it and three hours before its twin, or where its twin has no answer.
func (w *world) bypassShown(f *Fault, rec *record, s *series) (bool, string) {
	p := &w.v.Probes[f.probe]
	var above *series
	for k := range rec.probes {
		o := &rec.probes[k]
		if q := &w.v.Probes[o.probe]; q.Position == p.Position && q.DepthCM < p.DepthCM && !q.Predecessor && (above == nil || q.DepthCM < w.v.Probes[above.probe].DepthCM) {
			above = o
		}
	}
	first, of := 0, 0
	for _, e := range w.events(w.v.Posts[p.Post].Zone, w.since(f), nil) {
		of++
		to := e.Start.Add(36 * time.Hour)
		own, ok := w.rise(p, s.faulty, rec.grid, e.Start, to)
		if !ok || own > 4 {
			continue
		}
		if twin, ok := w.rise(p, s.clean, rec.grid, e.Start, to); ok && twin < own+3 {
			continue
		}
		if above != nil {
			if upper, ok := w.rise(&w.v.Probes[above.probe], above.clean, rec.grid, e.Start, to); ok && upper <= own {
				continue
			}
		}
		first++
	}
	return first >= 2, fmt.Sprintf("; of %d waterings %d reach it at once", of, first)
}

// orderShown: three waterings or more tell the two depths apart, by only one
// answering or by three hours between them.
func (w *world) orderShown(f *Fault, rec *record, s *series) (bool, string) {
	own, other := s, rec.of(f.peer)
	p, q := &w.v.Probes[f.probe], &w.v.Probes[f.peer]
	apart, of := 0, 0
	for _, e := range w.events(w.v.Posts[p.Post].Zone, w.since(f), nil) {
		of++
		to := e.Start.Add(36 * time.Hour)
		a, okA := w.rise(p, own.clean, rec.grid, e.Start, to)
		b, okB := w.rise(q, other.clean, rec.grid, e.Start, to)
		if okA != okB || okA && math.Abs(a-b) >= 3 {
			apart++
		}
	}
	return apart >= 3, fmt.Sprintf("; %d of %d waterings tell the two depths apart", apart, of)
}

// zoneShown counts the post's probes that answer the water as logged and not the
// water that came, or the other way about; half of the height is no answer.
func (w *world) zoneShown(f *Fault, rec *record) int {
	from, to := f.Start, f.ends(w.v.Until).Add(36*time.Hour)
	probes := 0
	for _, s := range rec.probes {
		p := &w.v.Probes[s.probe]
		with, without := s.clean, s.logged
		if f.Fault == "irrigation_failure" {
			with, without = without, with
		}
		if _, ok := w.rise(p, with, rec.grid, from, to); !ok {
			continue
		}
		if _, ok := w.rise(p, without, rec.grid, from, to); !ok || w.height(p, without, rec.grid, from, to) < 0.5*w.height(p, with, rec.grid, from, to) {
			probes++
		}
	}
	return probes
}

// wetnessAround adds, where the zone has a probe under an emitter, the median
// tension of the soil at every probe of the post.
func (w *world) wetnessAround(rec *record, out []shown) []shown {
	zone := w.v.Posts[rec.post].Zone
	under := map[int]int{} // fault by probe
	asked := false
	for k, f := range w.v.Faults {
		if f.Fault == "under_emitter" {
			under[f.probe] = k
			asked = asked || w.v.Posts[f.post].Zone == zone
		}
	}
	if !asked {
		return out
	}
	for _, s := range rec.probes {
		p := &w.v.Probes[s.probe]
		if p.Predecessor {
			continue
		}
		c := newColumn(w.v.Zones[zone].Texture, w.v.Positions[p.Position].texture)
		var kPa []float64
		for _, theta := range s.theta[rec.grid.at(w.v.Until.Add(-2*judged)):] {
			kPa = append(kPa, math.Exp(c.at(&c.lnTension, theta)))
		}
		slices.Sort(kPa)
		e := shown{fault: -1, depthCM: p.DepthCM, zone: zone, kPa: kPa[len(kPa)/2]}
		if k, ok := under[s.probe]; ok {
			e.fault, e.kPa = k, kPa[len(kPa)*9/10]
		}
		out = append(out, e)
	}
	return out
}

// emitterShown: nine tenths of two weeks it was wetter than 10 kPa, and in that
// time most of three or more others of its zone and depth were drier than 20.
func emitterShown(under shown, evidence [][]shown) (bool, string) {
	dry, of := 0, 0
	for _, list := range evidence {
		for _, s := range list {
			if s.depthCM == under.depthCM && s.zone == under.zone && s.fault < 0 {
				of++
				if s.kPa > 20 {
					dry++
				}
			}
		}
	}
	return under.kPa < 10 && of >= 3 && 2*dry > of,
		fmt.Sprintf("soil wetter than %.1f kPa for nine tenths of two weeks; drier than 20 kPa at %d of %d others at its depth", under.kPa, dry, of)
}
