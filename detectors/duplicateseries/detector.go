package duplicateseries

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds probes that give one and the same series.
var Detector = &detect.Detector{
	Name:  "duplicate_series",
	Doc:   manual,
	Scope: detect.PerFarm,
	Params: []detect.Param{
		{Name: "day_changes", Default: 6, Unit: "changes of value",
			Why: "a probe that stands still is equal to any other that does", Source: "common practice, no source"},
		{Name: "changes", Default: 60, Unit: "changes of value",
			Why: "were even half of the changes of twins in whole kPa to agree by chance, so many would in one of 10^18 pairs", Source: "derived: 0.5^60"},
		{Name: "equal_days", Default: 3, Unit: "d",
			Why: "a day may have been copied by hand to close a gap", Source: "common practice, no source"},
		{Name: "equal_share", Default: 0.8, Unit: "share of the days",
			Why: "a copy loses a record on its own way now and then; twins in coarse steps are equal on a day here and there", Source: "common practice, no source"},
		{Name: "distinct", Default: 8, Unit: "values",
			Why: "flicker between a few counts proves little", Source: "common practice, no source"},
		{Name: "lag_hours", Default: 48, Unit: "h",
			Why: "telemetry that delivers later than this leaves holes first, and clocks differ by half a day at most", Source: "common practice, no source"},
		{Name: "prints", Default: 6, Unit: "fingerprints of eight changes",
			Why: "two flickering series share one here and there, at any lag; not so many at one", Source: "derived: chance brings less than one at a lag"},
		{Name: "print_share", Default: 0.5, Unit: "share of the fingerprints",
			Why: "a record that was lost on the way spoils the fingerprints around it", Source: "common practice, no source"},
		{Name: "rounded_changes", Default: 40, Unit: "changes of a day's least or greatest value",
			Why: "were half of them to agree by chance, as in a twin that is never further away than a step, so many would in one of 10^12 pairs", Source: "derived: 0.5^40"},
	},
	Since:    "0.2.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	moving := 0
	for _, m := range p.Members() {
		for _, d := range m.Daily {
			if float64(d.Changes) >= p.Param("day_changes") {
				moving++
				break
			}
		}
	}
	if moving < 2 {
		return detect.Unable(detect.NoChance, "needs two probes that moved on a day, had %d: probes that stand still are all alike", moving)
	}
	return detect.Faulty(findings(p, copies(p))...)
}
