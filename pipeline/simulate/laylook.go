package simulate

import (
	"math/rand/v2"
	"slices"
	"time"

	"probeward/detectors/soil"
)

// What a healthy probe may easily be taken for a fault by: what it was laid out
// to be, and what it turned out to be.
const (
	scaleEnd       = "dry_to_scale_end"
	deepSilent     = "deep_unanswering"
	wetAtZero      = "wet_at_zero"
	wholeKPa       = "whole_kpa"
	dailySwing     = "shallow_daily_swing"
	manyHoles      = "telemetry_holes"
	noHistory      = "new_no_history"
	replaced       = "replaced"
	hotCable       = "hot_cable"
	partialWetting = "partial_wetting"
	cadenceChange  = "cadence_change"
	sentAgain      = "records_sent_again"
	dormant        = "dormant_block"
	noEventLog     = "no_event_log"
	eventEarly     = "event_logged_early"
	halfWatered    = "half_watered"
	stormAnswer    = "storm_answer"
	noLookAlike    = "none"
)

// layLookAlikes places healthy probes that a careless test takes for faults. A
// farm of a few posts has room for none of them. A farm to look at has the first
// eight; where faults are measured each farm has some, by its seed.
func (v *Vineyard) layLookAlikes() {
	if len(v.Posts) < 7 {
		return
	}
	l := looks{v: v, taken: map[int]bool{}}
	places := []func(){l.dry, l.wet, l.swings, l.isNew, l.isReplaced, l.holes}
	if v.options.Measure {
		places = []func(){l.dry, l.hot, l.wet, l.clogged, l.swings, l.changesCadence, l.isNew, l.outside, l.holes, l.resends}
		n := v.turn()
		places = append(slices.Concat(places, places)[n*3%len(places):][:5], l.isReplaced)
		v.Zones[n*2%len(v.Zones)].Look = [...]string{noEventLog, dormant, eventEarly, halfWatered, ""}[n%5]
	}
	for _, place := range places {
		place()
	}
}

// looks places look-alikes, one a post.
type looks struct {
	v     *Vineyard
	taken map[int]bool // by post
}

// post takes the first free post that fits; -1: none.
func (l *looks) post(fits func(Post) bool) int {
	for i, p := range l.v.Posts {
		if !l.taken[i] && fits(p) {
			l.taken[i] = true
			return i
		}
	}
	return -1
}

// hole takes the last hole of a free post that fits: the first stays ordinary.
func (l *looks) hole(meant string, fits func(Post) bool) int {
	post := l.post(fits)
	for j := len(l.v.Positions) - 1; j >= 0 && post >= 0; j-- {
		if l.v.Positions[j].Post == post {
			l.mean(j, meant)
			return j
		}
	}
	return -1
}

func (l *looks) mean(position int, meant string) {
	for k := range l.v.Probes {
		if l.v.Probes[k].Position == position {
			l.v.Probes[k].Meant = meant
		}
	}
}

func (l *looks) granular(p Post) bool { return p.model.kind == granularMatrix }
func (l *looks) inKPa(p Post) bool {
	return l.granular(p) && (p.model.unit == "kPa" || l.v.options.Export == "ohm")
}
func (l *looks) noTensiometer(p Post) bool { return p.model.kind != tensiometer }

// dry: out of the water's reach for so long that the scale ends.
func (l *looks) dry() {
	if j := l.hole(scaleEnd, func(p Post) bool { return l.inKPa(p) && p.model.decimals == 0 }); j >= 0 {
		l.v.Positions[j].Coupling, l.v.Positions[j].Uptake = 0.04, 2.4
	}
}

// wet: a low spot above a layer that lets 4 mm a day through. All of the post
// stands in it, unlike what stands under one emitter.
func (l *looks) wet() {
	post := l.post(l.inKPa)
	for j := range l.v.Positions {
		p := &l.v.Positions[j]
		if p.Post != post {
			continue
		}
		l.mean(j, wetAtZero)
		p.Coupling, p.Uptake = 5, 0.15
		t, _ := soil.TextureNamed(l.v.Zones[l.v.Posts[p.Post].Zone].Texture)
		p.texture = textureDraw{alpha: 0.45, n: 1, ks: 0.4 / t.Ks}
	}
}

func (l *looks) swings() {
	fits := func(p Post) bool { return l.inKPa(p) && p.model.referenceC != 0 }
	if l.v.options.Measure { // ohms and water content feel the day as well
		fits = l.noTensiometer
	}
	if j := l.hole(dailySwing, fits); j >= 0 {
		l.v.Positions[j].Swing = 4
	}
}

func (l *looks) isNew() {
	days := 26
	if l.v.options.Measure {
		days = 12 + int(l.v.options.Seed%5)*5
	}
	if j := l.hole(noHistory, l.noTensiometer); j >= 0 {
		for k := range l.v.Probes {
			if p := &l.v.Probes[k]; p.Position == j {
				p.Installed = l.v.dayBefore(days)
				p.ValidFrom = p.Installed
			}
		}
	}
}

func (l *looks) isReplaced() {
	if l.v.ports() == l.v.options.Probes {
		return
	}
	if j := l.hole(replaced, l.noTensiometer); j >= 0 {
		l.v.replaceFirst(j)
	}
}

func (l *looks) holes() {
	for i := range l.v.Posts {
		if !l.taken[i] && i%10 == 2 {
			l.v.Posts[i].HoleShare, l.v.Posts[i].Look = 0.05, manyHoles
			l.taken[i] = true
		}
	}
}

// hot: cables that lie in the sun carry the air's temperature into the reading.
func (l *looks) hot() {
	post := l.post(l.noTensiometer)
	r := l.stream(1)
	for k := range l.v.Probes {
		if p := &l.v.Probes[k]; p.Post == post {
			p.Meant = hotCable
			p.hotPerC = between(r, 0.003, 0.01)
			if p.Kind == dielectric {
				p.hotPerC *= 0.12
			}
		}
	}
}

// clogged: the emitter beside the hole stops some weeks before the end, and the
// soil there dries like soil. Nothing is wrong with the probes.
func (l *looks) clogged() {
	if j := l.hole(partialWetting, l.noTensiometer); j >= 0 {
		p := &l.v.Positions[j]
		p.Coupling = max(p.Coupling, 1.5)
		p.ClogsAt = l.v.dayBefore(18 + int(l.v.options.Seed%3)*7)
	}
}

// outside: at the edge of the wetted soil, where only long waterings come.
func (l *looks) outside() {
	if j := l.hole(partialWetting, l.noTensiometer); j >= 0 {
		l.v.Positions[j].Coupling, l.v.Positions[j].Uptake = 0.35, 0.6
	}
}

func (l *looks) changesCadence() {
	o := l.v.options
	post := l.post(func(p Post) bool { return time.Hour%(2*p.Cadence) == 0 })
	if post < 0 {
		return
	}
	p := &l.v.Posts[post]
	p.Look, p.Slower, p.WasSlower = cadenceChange, 2, 1
	if o.Seed/4%2 == 0 {
		p.Slower, p.WasSlower = 1, 2
	}
	p.ChangedAt = l.v.dayBefore(4 + int(o.Seed%5)*7)
}

func (l *looks) resends() {
	if post := l.post(func(Post) bool { return true }); post >= 0 {
		l.v.Posts[post].Resends, l.v.Posts[post].Look = true, sentAgain
	}
}

func (l *looks) stream(n int) *rand.Rand { return stream(l.v.options.Seed, forChoice, 100+n) }

// applyLook changes a zone's waterings and their log to what it looks like.
func (v *Vineyard) applyLook(zone int) {
	z := &v.Zones[zone]
	switch z.Look {
	case noEventLog:
		for k := range z.Waterings {
			z.Waterings[k].Logged = false
		}
	case dormant: // the vines are out, and the valve is shut since
		z.Waterings = slices.DeleteFunc(z.Waterings, func(w Watering) bool { return w.Start.After(v.dayBefore(40)) })
	case eventEarly:
		for k := len(z.Waterings) - 1; k >= 0; k-- {
			if z.Waterings[k].End.Before(v.Until.Add(-36 * time.Hour)) {
				z.Waterings[k].LoggedSoon = 24 * time.Hour
				break
			}
		}
	case halfWatered:
		for k := range z.Waterings {
			if w := &z.Waterings[k]; w.Start.After(v.dayBefore(28)) {
				w.End = w.Start.Add(time.Duration(0.3 * float64(w.End.Sub(w.Start)))).Truncate(time.Minute)
				w.DepthMM = round3(0.3 * w.DepthMM)
			}
		}
	}
}
