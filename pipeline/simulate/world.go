package simulate

import (
	"math"
	"slices"
	"time"
)

// world is the vineyard ready to run: what its posts share, read only.
type world struct {
	v        *Vineyard
	curve    blockCurve
	supplies [][]float64       // by zone: the water that came
	logged   [][]float64       // by zone: the water that the log has; nil where it is the same
	temps    map[int][]float64 // hourly, by depth, at the usual swing
	faults   [][]int           // of Faults, by post
}

func newWorld(v *Vineyard) *world {
	w := &world{v: v, curve: newBlockCurve(), temps: map[int][]float64{}, faults: make([][]int, len(v.Posts))}
	for z := range v.Zones {
		w.supplies = append(w.supplies, v.supply(z, false))
		w.logged = append(w.logged, nil)
	}
	for k, f := range v.Faults {
		if f.post >= 0 {
			w.faults[f.post] = append(w.faults[f.post], k)
		}
		if f.zone >= 0 {
			w.logged[f.zone] = v.supply(f.zone, true)
		}
	}
	for _, p := range v.Probes {
		if w.temps[p.DepthCM] == nil {
			w.temps[p.DepthCM] = v.sky.soilTemperature(p.DepthCM, 1)
		}
	}
	if w.temps[30] == nil {
		w.temps[30] = v.sky.soilTemperature(30, 1)
	}
	return w
}

// series is one probe's record: what its logger exported, what it would have
// without the probe's or the logger's fault (the same slice where there is
// none), and without the zone's (nil where there is none).
type series struct {
	probe                 int
	faulty, clean, logged []int32
	theta                 []float64
}

// record is one post's.
type record struct {
	post      int
	grid      grid
	probes    []series
	telemetry telemetry
	balances  []balance // by position
	clock     *Fault    // nil: its stamps are right
}

func (w *world) gridOf(post int) grid {
	every := w.v.Posts[post].Cadence
	return grid{start: w.v.Start, every: every, n: int(w.v.Until.Sub(w.v.Start) / every)}
}

// live runs one post through the record.
func (w *world) live(post int) record {
	v := w.v
	g := w.gridOf(post)
	rec := record{post: post, grid: g}
	loggerTemp := w.along(w.temps[30], g)
	rec.telemetry = w.telemetryOf(post, g, loggerTemp)
	measured := make([]float64, g.n)
	for i := range measured {
		measured[i] = float64(rec.telemetry.tempTenths[i]) / 10
	}
	starved := w.ailments(post, g, &rec)
	for position := range v.Positions {
		if v.Positions[position].Post == post {
			w.liveAt(position, g, measured, starved, &rec)
		}
	}
	slices.SortStableFunc(rec.probes, func(a, b series) int { return a.probe - b.probe })
	w.rewire(&rec)
	return rec
}

// ailments lays the logger's faults over the record and tells when its ports
// are starved; nil: never.
func (w *world) ailments(post int, g grid, rec *record) func(i int) bool {
	var starved func(i int) bool
	for _, k := range w.faults[post] {
		f := &w.v.Faults[k]
		if f.Subject != "logger" {
			continue
		}
		switch f.Fault {
		case "logger_power":
			starved = starving(f, g, w.v.Until, w.v.options.Seed, post)
		case "clock_error":
			rec.clock = f
		}
		rec.telemetry.ail(f, g, w.v.Until, starved)
	}
	return starved
}

// liveAt runs one hole and its probes.
func (w *world) liveAt(position int, g grid, measured []float64, starved func(int) bool, rec *record) {
	v := w.v
	p := v.Positions[position]
	zone := v.Posts[p.Post].Zone
	var probes, depths []int
	for k := range v.Probes {
		if v.Probes[k].Position == position {
			probes = append(probes, k)
			depths = append(depths, v.Probes[k].DepthCM)
		}
	}
	every := int(g.every / columnStep)
	theta := rows(len(probes), g.n)
	rec.balances = append(rec.balances, v.run(position, w.supplies[zone], depths, every, theta))
	var logged [][]float64
	if w.logged[zone] != nil {
		logged = rows(len(probes), g.n)
		v.run(position, w.logged[zone], depths, every, logged)
	}
	soilOf := newColumn(v.Zones[zone].Texture, p.texture)
	airC := w.along(v.sky.air, g)
	for j, k := range probes {
		probe := &v.Probes[k]
		in := signalInput{theta: theta[j], tempC: w.soilC(probe, g), loggerTemp: measured, airC: airC, hours: g.hours()}
		run := func(e effect) []int32 {
			out := make([]int32, g.n)
			w.read(probe, soilOf, in, e, stream(v.options.Seed, forNoise, k), out)
			w.keepWithin(probe, g, out)
			return out
		}
		s := series{probe: k, theta: theta[j], clean: run(effect{})}
		s.faulty = s.clean
		if len(w.faults[p.Post]) > 0 {
			if e, ok := w.effectOn(k, w.siteOf(probe, g), starved); ok {
				s.faulty = run(e)
			}
		}
		if logged != nil {
			in.theta = logged[j]
			s.logged = run(effect{})
		}
		rec.probes = append(rec.probes, s)
	}
}

// siteOf is where a probe stands, for what may befall it.
func (w *world) siteOf(p *Probe, g grid) *site {
	post := &w.v.Posts[p.Post]
	return &site{probe: p, model: &post.model, grid: g,
		texture: newColumn(w.v.Zones[post.Zone].Texture, w.v.Positions[p.Position].texture).texture,
		wet:     func() []float64 { return w.surface(p, g) },
		water:   func() []float64 { return w.arriving(p, g) },
		tempC:   func() []float64 { return w.soilC(p, g) },
	}
}

// soilC is the soil's temperature at a probe, one value a reading.
func (w *world) soilC(p *Probe, g grid) []float64 {
	temps := w.temps[p.DepthCM]
	if swing := w.v.Positions[p.Position].Swing; swing != 1 {
		temps = w.v.sky.soilTemperature(p.DepthCM, swing)
	}
	return w.along(temps, g)
}

// effectOn is what the probe's own faults, or its logger's starving, do to it, one
// after the other.
func (w *world) effectOn(probe int, at *site, starved func(int) bool) (all effect, any bool) {
	v := w.v
	faults := 0
	for _, k := range w.faults[at.probe.Post] {
		f := &v.Faults[k]
		switch {
		case f.probe == probe && f.changesReadings():
			all = all.then(effectOf(f, at, v.Until, stream(v.options.Seed, forFault, probe+faults<<24)))
			any = true
			faults++
		case f.Fault == "logger_power" && slices.Contains(f.ports, probe):
			all = all.then(effect{record: replaceBy(at.model.count(at.model.starvedAt), starved)})
			any = true
		}
	}
	return all, any
}

// changesReadings: not so a fault of the register, or of a place whose readings
// are true; what two probes have together is laid over their records at last.
func (f *Fault) changesReadings() bool {
	return !oneOf(f.Fault, "wrong_zone", "under_emitter", "depth_order", "duplicate_series") && !(f.Fault == "wrong_kind" && f.Form == "unit")
}

// keepWithin blanks what was before the probe was on its port, or after.
func (w *world) keepWithin(p *Probe, g grid, out []int32) {
	if !p.ValidFrom.IsZero() {
		for i := range g.at(p.ValidFrom) {
			out[i] = absent
		}
	}
	if !p.ValidTo.IsZero() {
		for i := g.at(p.ValidTo); i < g.n; i++ {
			out[i] = absent
		}
	}
}

// surface is the wetness of a splice box at the surface: full within minutes of
// water, and half dry again after hours.
func (w *world) surface(p *Probe, g grid) []float64 {
	v := w.v
	out := make([]float64, g.n)
	supply := w.supplies[v.Posts[p.Post].Zone]
	keep := math.Exp(-columnStep.Hours() / 14)
	every, lead := int(g.every/columnStep), int(spinUp/columnStep)
	perHour := int(time.Hour / columnStep)
	wet := 0.0
	for s, mm := range supply {
		wet *= keep
		if mm > 0 || v.sky.rain[s/perHour] > 0.5 {
			wet += 0.35 * (1 - wet)
		}
		if i := (s - lead) / every; s >= lead && (s-lead)%every == 0 {
			out[i] = wet
		}
	}
	return out
}

// arriving is the water in mm that reached the surface over a probe's hole since
// the reading before.
func (w *world) arriving(p *Probe, g grid) []float64 {
	v := w.v
	out := make([]float64, g.n)
	every, lead := int(g.every/columnStep), int(spinUp/columnStep)
	perHour := int(time.Hour / columnStep)
	coupling := v.Positions[p.Position].Coupling
	sum := 0.0
	for s, mm := range w.supplies[v.Posts[p.Post].Zone] {
		sum += float64(mm*coupling) + 0.85*v.sky.rain[s/perHour]/float64(perHour)
		if s >= lead && (s-lead)%every == 0 {
			out[(s-lead)/every] = sum
			sum = 0
		}
	}
	return out
}

// along reads an hourly series at a grid's times.
func (w *world) along(hourly []float64, g grid) []float64 {
	out := make([]float64, g.n)
	first := g.start.Sub(w.v.sky.start).Hours()
	for i := range out {
		x := first + float64(float64(i)*g.hours())
		h := int(x)
		x -= float64(h)
		out[i] = hourly[h] + float64(x*(hourly[h+1]-hourly[h]))
	}
	return out
}

func rows(n, length int) [][]float64 {
	flat := make([]float64, n*length)
	out := make([][]float64, n)
	for i := range out {
		out[i] = flat[i*length : (i+1)*length : (i+1)*length]
	}
	return out
}
