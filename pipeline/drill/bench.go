package drill

import (
	"context"
	"maps"
	"slices"
	"sort"

	"golang.org/x/sync/errgroup"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
	"probeward/pipeline/corroborate"
	"probeward/pipeline/examine"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// world is what a scan has to go by: the farm as it is, or with one input less.
type world struct {
	probes  []detect.Probe
	peaks   []arrange.Peak
	water   fieldlog.Irrigation
	weather fieldlog.Weather
	// see is what this world's export leaves of a series in standard units; nil: all.
	see func(place int, s *detect.Series)
	// alone withholds a touched zone's other probes.
	alone bool
}

// groupKey names a logger, a zone or the farm.
type groupKey struct {
	scope detect.Scope
	name  string
}

// bench is a world examined and judged without any injected fault, and what is needed
// to do so again with some probes changed.
type bench struct {
	in       *Input
	world    *world
	contexts []detect.Context
	reports  []detect.Report
	groups   []corroborate.Verdict
	judged   *judge.Result
	known    map[findingKey]bool // what the plain run finds, unmasked
}

// findingKey is a finding by what it says of whom.
type findingKey struct {
	subject schemas.Subject
	name    string
	fault   string
}

// asExported leaves exported values as they are.
var asExported = detect.Probe{Scale: 1}

// newBench examines and judges a world.
func newBench(ctx context.Context, in *Input, w *world, workers int) (*bench, error) {
	b := &bench{in: in, world: w}
	b.contexts = examine.Contexts(w.probes, w.peaks, w.water, w.weather, in.Examine.Period)
	b.reports = make([]detect.Report, len(w.probes))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(workers)
	const stretch = 16 // probes a task
	for from := 0; from < len(w.probes); from += stretch {
		g.Go(func() error {
			e, err := b.examiner()
			if err != nil {
				return err
			}
			var s detect.Series
			for i := from; i < min(from+stretch, len(w.probes)); i++ {
				if err := ctx.Err(); err != nil {
					return err
				}
				b.view(i).Series(&in.Examine.Probes[i], &s)
				b.sight(i, &s)
				b.reports[i] = e.Probe(&w.probes[i], &s, &b.contexts[i], in.Examine.Period)
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	e, err := b.examiner()
	if err != nil {
		return nil, err
	}
	b.groups = corroborate.Groups(b.corroboration(e, w.probes, b.reports, w.water))
	b.judged = judge.Judge(b.judgement(e, w.probes, b.reports, b.groups, in.Times()))
	b.known = map[findingKey]bool{}
	for i := range b.judged.Findings {
		if f := &b.judged.Findings[i]; f.MaskedBy == "" {
			b.known[keyOf(f)] = true
		}
	}
	return b, nil
}

func keyOf(f *judge.Finding) findingKey { return findingKey{f.Subject, f.Name, f.Fault} }

func (b *bench) examiner() (*detect.Examiner, error) {
	e, err := detect.NewExaminer(b.in.Examine.Detectors, b.in.Examine.Thresholds)
	if err == nil {
		e.For = b.in.Examine.For
	}
	return e, err
}

// view finds a probe's readings as arranged.
func (b *bench) view(place int) arrange.View {
	parts := b.in.Examine.Partitions
	n := sort.Search(len(parts), func(i int) bool { return parts[i].First > place }) - 1
	return parts[n].View(place - parts[n].First)
}

// sight leaves of a series in standard units what the world's export has.
func (b *bench) sight(place int, s *detect.Series) {
	if b.world.see != nil {
		b.world.see(place, s)
	}
}

func (b *bench) corroboration(e *detect.Examiner, probes []detect.Probe, reports []detect.Report, water fieldlog.Irrigation) corroborate.Input {
	in := b.in.Corroborate
	in.Probes, in.Reports, in.Examiner, in.Irrigation = probes, reports, e, water
	in.Rain, in.HasRain = b.world.weather.Rain, b.in.Corroborate.HasRain && b.world.weather.HasRain
	return in
}

func (b *bench) judgement(e *detect.Examiner, probes []detect.Probe, reports []detect.Report, groups []corroborate.Verdict, times func(int) []int64) judge.Input {
	in := b.in.Judge
	in.Probes, in.Reports, in.Groups, in.Times = probes, reports, groups, times
	in.ProbeDetectors, in.GroupDetectors = e.ProbeDetectors(), e.GroupDetectors()
	return in
}

func (b *bench) isFit(place int) bool { return b.judged.States[place].Verdict == schemas.Fit }

// variant is the farm with some faults in it: what differs from the bench.
type variant struct {
	series map[int]*detect.Series // as exported, by place
	probes map[int]detect.Probe   // register rows, by place
	water  map[string][]detect.Water
}

func newVariant() *variant {
	return &variant{map[int]*detect.Series{}, map[int]detect.Probe{}, map[string][]detect.Water{}}
}

// strip is a probe's readings in this variant, as exported, to be changed.
func (v *variant) strip(b *bench, place int) *detect.Series {
	s, ok := v.series[place]
	if !ok {
		s = &detect.Series{}
		b.view(place).Series(&asExported, s)
		v.series[place] = s
	}
	return s
}

// judge examines what a variant changed, corroborates the groups that hold it, and
// judges the whole.
func (b *bench) judge(e *detect.Examiner, v *variant) *judge.Result {
	probes, water := b.world.probes, b.world.water
	if len(v.probes) > 0 {
		probes = slices.Clone(probes)
		for i, p := range v.probes {
			probes[i] = p
		}
	}
	if len(v.water) > 0 && water != nil {
		water = maps.Clone(water)
		maps.Copy(water, v.water)
	}
	touched := b.touched(v)
	asked := map[groupKey]bool{{detect.PerFarm, "farm"}: true}
	reports := slices.Clone(b.reports)
	values := map[int][]int64{}
	for _, i := range touched {
		p := &probes[i]
		// The register's scale makes exported values standard, unless the variant is
		// about the register's unit.
		from := &b.in.Examine.Probes[i]
		if p.Quantity != b.world.probes[i].Quantity {
			from = p
		}
		var s detect.Series
		peak := b.world.peaks[i]
		if strip, ok := v.series[i]; ok {
			s = detect.Series{Time: strip.Time, Temperature: strip.Temperature, Battery: strip.Battery, Blank: strip.Blank, Coded: strip.Coded}
			s.Value = make([]float64, len(strip.Value))
			for k, raw := range strip.Value {
				s.Value[k] = from.Scale * (raw - from.Offset)
			}
			values[i] = strip.Time
			peak = peakOf(strip.Value)
		} else {
			b.view(i).Series(from, &s)
		}
		b.sight(i, &s)
		if p.Unit != b.in.Examine.Probes[i].Unit {
			peak = peakOf(s.Value)
		}
		c := b.contextOf(i, p, peak, water)
		reports[i] = e.Probe(p, &s, &c, b.in.Examine.Period)
		for _, w := range slices.Concat(p.Wirings, b.world.probes[i].Wirings) {
			asked[groupKey{detect.PerLogger, w.Logger}] = true
		}
		asked[groupKey{detect.PerZone, p.Zone}] = true
		asked[groupKey{detect.PerZone, b.world.probes[i].Zone}] = true
	}
	in := b.corroboration(e, probes, reports, water)
	in.Only = func(scope detect.Scope, name string) bool { return asked[groupKey{scope, name}] }
	if b.world.alone {
		in.Probes, in.Reports, in.Contradictions = b.apart(touched, asked, in)
	}
	groups := corroborate.Groups(in)
	for i := range b.groups {
		if g := &b.groups[i].Group; !asked[groupKey{g.Scope, g.Name}] {
			groups = append(groups, b.groups[i])
		}
	}
	others := b.in.Times()
	times := func(i int) []int64 {
		if t, ok := values[i]; ok {
			return t
		}
		return others(i)
	}
	return judge.Judge(b.judgement(e, probes, reports, groups, times))
}

// touched are the places of probes that a variant changes, by readings, register or
// the water of their zone.
func (b *bench) touched(v *variant) (out []int) {
	for i := range b.world.probes {
		_, strip := v.series[i]
		_, row := v.probes[i]
		_, wet := v.water[b.world.probes[i].Zone]
		if strip || row || wet {
			out = append(out, i)
		}
	}
	return out
}

// contextOf is what is known beside one changed probe, all others as they were.
func (b *bench) contextOf(place int, p *detect.Probe, peak arrange.Peak, water fieldlog.Irrigation) detect.Context {
	probes, peaks := slices.Clone(b.world.probes), slices.Clone(b.world.peaks)
	probes[place], peaks[place] = *p, peak
	c := examine.Contexts(probes, peaks, water, b.world.weather, b.in.Examine.Period)[place]
	if b.world.alone {
		c.Siblings = 0
	}
	return c
}

// apart leaves out of the touched zones the probes that were not touched.
func (b *bench) apart(touched []int, asked map[groupKey]bool, in corroborate.Input) (probes []detect.Probe, reports []detect.Report, twice [][]int64) {
	for i := range in.Probes {
		if asked[groupKey{detect.PerZone, in.Probes[i].Zone}] && !slices.Contains(touched, i) {
			continue
		}
		probes, reports = append(probes, in.Probes[i]), append(reports, in.Reports[i])
		twice = append(twice, in.Contradictions[i])
	}
	return probes, reports, twice
}

// peakOf is the highest exported value and its longest stand.
func peakOf(raw []float64) (p arrange.Peak) {
	run := 0
	for i, v := range raw {
		switch {
		case p.Stand == 0 || v > p.Value:
			p, run = arrange.Peak{Value: v, Stand: 1}, 1
		case v == p.Value && raw[i-1] == v:
			run++
			p.Stand = max(p.Stand, run)
		case v == p.Value:
			run = 1
		}
	}
	return p
}
