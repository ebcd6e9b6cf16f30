package corroborate

import (
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/fieldlog"
)

// Input is what the stage takes.
type Input struct {
	Probes  []detect.Probe
	Reports []detect.Report // by the probe's place in the register
	Stamps  []detect.Stamps
	Period  detect.Period
	Farm    detect.Span
	Loggers int // heard at all
	// Contradictions are the stamps with two values, by the probe's place, sorted.
	Contradictions [][]int64
	Irrigation     fieldlog.Irrigation
	Rain           []detect.Water
	HasRain        bool // somebody measured; known as well where there was rain
	Examiner       *detect.Examiner
	// Only says which groups are asked; nil: all.
	Only func(scope detect.Scope, name string) bool
}

// farmName is the name of the one group that holds every probe.
const farmName = "farm"

// Groups holds every logger's and every zone's probes against each other, and all
// of the farm's. The verdicts come loggers first and the farm last, each scope sorted
// by name.
func Groups(in Input) []Verdict {
	loggers := map[string]*detect.Group{}
	zones := map[string]*detect.Group{}
	farm := map[string]*detect.Group{}
	group := func(m map[string]*detect.Group, scope detect.Scope, name string) *detect.Group {
		g, ok := m[name]
		if !ok {
			g = &detect.Group{Scope: scope, Name: name, Period: in.Period, Farm: in.Farm, Loggers: in.Loggers,
				Rain: in.Rain, HasRain: in.HasRain || len(in.Rain) > 0}
			m[name] = g
		}
		return g
	}
	for i := range in.Probes {
		p := &in.Probes[i]
		joined := map[string]bool{}
		for _, w := range p.Wirings {
			if w.Logger == "" || joined[w.Logger] {
				continue
			}
			joined[w.Logger] = true
			g := group(loggers, detect.PerLogger, w.Logger)
			g.Members = append(g.Members, in.Reports[i].Summary)
			for _, t := range in.Contradictions[i] {
				if wiredAt(p, w.Logger, t) {
					g.Contradictions = append(g.Contradictions, t)
				}
			}
		}
		if p.Zone != "" {
			g := group(zones, detect.PerZone, p.Zone)
			g.Members = append(g.Members, in.Reports[i].Summary)
			g.Irrigation = in.Irrigation[p.Zone]
		}
		g := group(farm, detect.PerFarm, farmName)
		g.Members = append(g.Members, in.Reports[i].Summary)
		g.Zones = in.Irrigation
	}
	all := make([]detect.Summary, len(in.Reports))
	for i := range in.Reports {
		all[i] = in.Reports[i].Summary
	}
	for name, beats := range detect.Beats(all) {
		if g, ok := loggers[name]; ok {
			g.Beats = beats
		}
	}
	for _, s := range in.Stamps {
		if g, ok := loggers[s.Logger]; ok {
			g.Stamps = append(g.Stamps, s)
		}
	}
	var out []Verdict
	for _, m := range []map[string]*detect.Group{loggers, zones, farm} {
		names := make([]string, 0, len(m))
		for name := range m {
			names = append(names, name)
		}
		slices.Sort(names)
		for _, name := range names {
			g := m[name]
			if in.Only != nil && !in.Only(g.Scope, name) {
				continue
			}
			slices.Sort(g.Contradictions)
			g.Contradictions = append([]int64{}, slices.Compact(g.Contradictions)...)
			slices.SortFunc(g.Stamps, func(a, b detect.Stamps) int { return strings.Compare(a.File, b.File) })
			out = append(out, Verdict{Group: *g, Outcomes: in.Examiner.Group(g)})
		}
	}
	return out
}

// wiredAt says whether the probe was at the logger then.
func wiredAt(p *detect.Probe, logger string, t int64) bool {
	for _, w := range p.Wirings {
		if w.Logger == logger && w.Holds(t) {
			return true
		}
	}
	return false
}
