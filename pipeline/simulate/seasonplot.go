package simulate

import (
	"slices"
	"time"
)

// plot is one post over a season: its soil, run once over the whole record, and
// what its logger exported so far. Only a change of the zone's water runs the soil
// again, and then only what comes after it differs.
type plot struct {
	rec      record // faulty values, telemetry.lost and battery are those exported so far
	base     telemetry
	measured []float64        // what the logger's thermometer shows, degC
	soils    map[int]*column  // by position
	wet      map[spot]wetness // by position and depth
	lines    []line           // beside rec.probes
}

type spot struct{ position, depthCM int }

// wetness is the water content at a place with the water that came, and with the
// water that was logged; nil where these are the same.
type wetness struct{ came, logged []float64 }

// line is what a probe's faults made of its readings, one a fault of its own.
type line struct{ segments []segment }

type segment struct {
	fault  int // of Faults
	values []int32
}

func (s *Season) newPlot(post int) plot {
	w := s.w
	g := w.gridOf(post)
	p := plot{rec: record{post: post, grid: g}, soils: map[int]*column{}, wet: map[spot]wetness{}}
	p.base = w.telemetryOf(post, g, w.along(w.temps[30], g))
	p.rec.telemetry = telemetry{tempTenths: p.base.tempTenths, batteryCV: slices.Clone(p.base.batteryCV), lost: slices.Clone(p.base.lost)}
	p.measured = make([]float64, g.n)
	for i := range p.measured {
		p.measured[i] = float64(p.base.tempTenths[i]) / 10
	}
	p.water(s)
	for k := range s.v.Probes {
		if s.v.Probes[k].Post == post {
			p.add(s, k)
		}
	}
	return p
}

// water runs the soil of the post's holes with the zone's water as it is known now.
func (p *plot) water(s *Season) {
	v, w := s.v, s.w
	zone := v.Posts[p.rec.post].Zone
	every := int(p.rec.grid.every / columnStep)
	for position := range v.Positions {
		if v.Positions[position].Post != p.rec.post {
			continue
		}
		var depths []int
		for k := range v.Probes {
			if d := v.Probes[k].DepthCM; v.Probes[k].Position == position && !slices.Contains(depths, d) {
				depths = append(depths, d)
			}
		}
		came := rows(len(depths), p.rec.grid.n)
		v.run(position, w.supplies[zone], depths, every, came)
		logged := make([][]float64, len(depths))
		if w.logged[zone] != nil {
			logged = rows(len(depths), p.rec.grid.n)
			v.run(position, w.logged[zone], depths, every, logged)
		}
		for d, depth := range depths {
			p.wet[spot{position, depth}] = wetness{came[d], logged[d]}
		}
		p.soils[position] = newColumn(v.Zones[zone].Texture, v.Positions[position].texture)
	}
}

// rewet runs the soil again after the zone's water changed, and all that feel it.
func (p *plot) rewet(s *Season) {
	p.water(s)
	for k := range p.rec.probes {
		p.clean(s, k)
		for j := range p.lines[k].segments {
			seg := &p.lines[k].segments[j]
			seg.values = p.faulty(s, k, seg.fault)
		}
	}
}

// add puts a probe in the ground.
func (p *plot) add(s *Season, probe int) {
	values := make([]int32, p.rec.grid.n)
	for i := range values {
		values[i] = absent
	}
	p.rec.probes = append(p.rec.probes, series{probe: probe, faulty: values})
	p.lines = append(p.lines, line{})
	p.clean(s, len(p.rec.probes)-1)
}

// clean runs a probe without its faults.
func (p *plot) clean(s *Season, k int) {
	x := &p.rec.probes[k]
	probe := &s.v.Probes[x.probe]
	wet := p.wet[spot{probe.Position, probe.DepthCM}]
	x.theta, x.clean = wet.came, p.read(s, x.probe, wet.came, effect{})
	x.logged = nil
	if wet.logged != nil {
		x.logged = p.read(s, x.probe, wet.logged, effect{})
	}
}

// faulty runs a probe with one of its faults, as if nobody ever mended it.
func (p *plot) faulty(s *Season, k, fault int) []int32 {
	probe := p.rec.probes[k].probe
	pr := &s.v.Probes[probe]
	natural := s.v.Faults[fault]
	natural.End = s.account[fault].natural // a repair cuts it where it is used, and changes nothing before
	e := effectOf(&natural, s.w.siteOf(pr, p.rec.grid), s.v.Until, stream(s.options.Seed, forFault, 1<<24+fault))
	return p.read(s, probe, p.wet[spot{pr.Position, pr.DepthCM}].came, e)
}

func (p *plot) read(s *Season, probe int, theta []float64, e effect) []int32 {
	v, w := s.v, s.w
	pr := &v.Probes[probe]
	g := p.rec.grid
	in := signalInput{theta: theta, tempC: w.soilC(pr, g), loggerTemp: p.measured, airC: w.along(v.sky.air, g), hours: g.hours()}
	out := make([]int32, g.n)
	w.read(pr, p.soils[pr.Position], in, e, stream(v.options.Seed, forNoise, probe), out)
	w.keepWithin(pr, g, out)
	return out
}

// fail lays a fault over a probe from its start on.
func (p *plot) fail(s *Season, probe, fault int) {
	for k := range p.rec.probes {
		if p.rec.probes[k].probe == probe {
			p.lines[k].segments = append(p.lines[k].segments, segment{fault, p.faulty(s, k, fault)})
		}
	}
}

// fill settles what a week's readings were, with all that was mended by then.
func (p *plot) fill(s *Season, from, until time.Time) {
	g := p.rec.grid
	a, b := g.at(from), g.at(until)
	t := telemetry{tempTenths: p.base.tempTenths, batteryCV: slices.Clone(p.base.batteryCV), lost: slices.Clone(p.base.lost)}
	type starving struct {
		fault int
		a, b  int
	}
	var power []starving
	for k := range s.v.Faults {
		f := &s.v.Faults[k]
		if f.Subject != "logger" || f.post != p.rec.post {
			continue
		}
		first, last := g.span(f, s.v.Until)
		if f.Fault == "logger_power" {
			power = append(power, starving{k, first, last})
		}
		t.ail(f, g, s.v.Until, s.account[k].starved)
	}
	copy(p.rec.telemetry.batteryCV[a:b], t.batteryCV[a:b])
	copy(p.rec.telemetry.lost[a:b], t.lost[a:b])
	m := &s.v.Posts[p.rec.post].model
	for k := range p.rec.probes {
		x := &p.rec.probes[k]
		copy(x.faulty[a:b], x.clean[a:b])
		for _, seg := range p.lines[k].segments {
			first, last := g.span(&s.v.Faults[seg.fault], s.v.Until)
			for i := max(a, first); i < min(b, last); i++ {
				if x.clean[i] != absent {
					x.faulty[i] = seg.values[i]
				}
			}
		}
		for _, f := range power {
			if !slices.Contains(s.account[f.fault].probes, x.probe) {
				continue
			}
			for i := max(a, f.a); i < min(b, f.b); i++ {
				if x.clean[i] != absent && s.account[f.fault].starved(i) {
					x.faulty[i] = m.count(m.starvedAt)
				}
			}
		}
	}
	p.rewire(s, a, b)
}

// rewire lays over a week what two of the post's ports have together. Both are read
// as they were before either was changed.
func (p *plot) rewire(s *Season, a, b int) {
	type lead struct {
		fault *Fault
		to    int // of rec.probes
		from  []int32
	}
	var leads []lead
	for k := range s.v.Faults {
		f := &s.v.Faults[k]
		if f.post != p.rec.post || !pairs(f.Fault) || f.source {
			continue
		}
		first, last := p.rec.grid.span(f, s.v.Until)
		if last <= a || first >= b {
			continue
		}
		to := slices.IndexFunc(p.rec.probes, func(x series) bool { return x.probe == f.probe })
		leads = append(leads, lead{f, to, slices.Clone(p.rec.of(f.peer).faulty)})
	}
	m := &s.v.Posts[p.rec.post].model
	for _, l := range leads {
		x := &p.rec.probes[l.to]
		first, last := p.rec.grid.span(l.fault, s.v.Until)
		for i := max(a, first); i < min(b, last); i++ {
			if x.clean[i] != absent {
				x.faulty[i] = l.fault.copied(m, l.from, i)
			}
		}
	}
}

// pairs says whether a fault is one that two probes have together.
func pairs(fault string) bool { return oneOf(fault, "depth_order", "duplicate_series") }
