package simulate

import (
	"math"
	"slices"
	"time"
)

// lookAlike names what a healthy probe is easily mistaken for, from what it
// really exported: a probe that was laid out to dry and did not is none.
func (w *world) lookAlike(s *series, rec *record) string {
	v := w.v
	p := &v.Probes[s.probe]
	m := &v.Posts[p.Post].model
	g := rec.grid
	recent := s.clean[g.at(v.Until.Add(-14*24*time.Hour)):]
	post, zone := &v.Posts[p.Post], &v.Zones[v.Posts[p.Post].Zone]
	switch {
	case p.Predecessor || p.Meant == replaced:
		return replaced
	case p.Meant == noHistory || p.Meant == hotCable || p.Meant == partialWetting:
		return p.Meant
	case oneOf(zone.Look, noEventLog, dormant, eventEarly):
		return zone.Look
	case oneOf(post.Look, cadenceChange, sentAgain):
		return post.Look
	case p.Kind != dielectric && shareOf(recent, func(x int32) bool { return m.atScaleEnd(x) }) > 0.1:
		return scaleEnd
	case p.Kind == granularMatrix && shareOf(recent, func(x int32) bool { return m.atZero(x) }) > 0.5:
		return wetAtZero
	case zone.Look != "":
		return zone.Look
	case p.DepthCM >= 60 && w.unanswering(p, s, g):
		return deepSilent
	case p.DepthCM <= 30 && w.dailySwing(p, s, g) > 10:
		return dailySwing
	case post.Look != "":
		return post.Look
	case p.Unit == "kPa" && m.decimals == 0:
		return wholeKPa
	case w.answersStorm(p, s, g):
		return stormAnswer
	}
	return noLookAlike
}

// answersStorm: rain of 4 mm and more in the judged week wetted it.
func (w *world) answersStorm(p *Probe, s *series, g grid) bool {
	v := w.v
	sum := 0.0
	for at := v.Until.Add(-judged); at.Before(v.Until.Add(-12 * time.Hour)); at = at.Add(time.Hour) {
		sum = 0.8*sum + v.sky.rain[v.sky.hour(at)]
		if sum < 4 {
			continue
		}
		if _, ok := w.rise(p, s.clean, g, at.Add(-3*time.Hour), at.Add(21*time.Hour)); ok {
			return true
		}
		sum = 0
	}
	return false
}

// atScaleEnd: as dry as the export, or the block behind it, can show.
func (m *model) atScaleEnd(v int32) bool {
	switch {
	case m.unit == "ohm":
		return m.value(v) > 0.9*blockLimitOhms
	case m.kind == tensiometer:
		return m.value(v) > gaugeLimitKPa-1.5
	}
	return v >= m.count(m.end)
}

// atZero: as wet as the export can show, or next to it.
func (m *model) atZero(v int32) bool {
	switch {
	case m.unit == "ohm":
		return v <= 650
	case m.conversion == "shock_1998": // its formula ends near 8 kPa
		return m.value(v) <= 10
	default:
		return m.value(v) <= 1
	}
}

func shareOf(values []int32, is func(int32) bool) float64 {
	n, of := 0, 0
	for _, x := range values {
		if isValue(x) {
			of++
			if is(x) {
				n++
			}
		}
	}
	return float64(n) / float64(max(1, of))
}

// unanswering: four weeks with water, and not one answer.
func (w *world) unanswering(p *Probe, s *series, g grid) bool {
	answers, waterings := w.answered(p, s.clean, g, w.v.Posts[p.Post].Zone, w.v.Until.Add(-28*24*time.Hour), nil)
	return waterings >= 3 && answers == 0
}

// dailySwing is the median over the last two weeks of the swing at the daily
// period, as a multiple of the probe's noise.
func (w *world) dailySwing(p *Probe, s *series, g grid) float64 {
	m := &w.v.Posts[p.Post].model
	perDay := int(24 * time.Hour / g.every)
	var swings []float64
	for a := g.at(w.v.Until.Add(-14 * 24 * time.Hour)); a+perDay <= g.n; a += perDay {
		first, _ := m.workingOr(s.clean[a])
		last, ok := m.workingOr(s.clean[a+perDay-1])
		if !ok {
			continue
		}
		var c, d float64
		for i := range perDay {
			x, ok := m.workingOr(s.clean[a+i])
			if !ok {
				continue
			}
			x -= first + (last-first)*float64(i)/float64(perDay-1) // the day's drying is no swing
			c += x * math.Cos(2*math.Pi*float64(i)/float64(perDay))
			d += x * math.Sin(2*math.Pi*float64(i)/float64(perDay))
		}
		swings = append(swings, 4*math.Hypot(c, d)/float64(perDay)/p.noiseAt(m, s.clean[a]))
	}
	if len(swings) == 0 {
		return 0
	}
	slices.Sort(swings)
	return swings[len(swings)/2]
}

// workingOr is working of an exported count; ok is false for a missing one.
func (m *model) workingOr(v int32) (float64, bool) {
	if !isValue(v) {
		return 0, false
	}
	x, _ := m.working(m.value(v))
	return x, true
}
