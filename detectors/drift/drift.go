package drift

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds probes of water content that wander away from their soil.
var Detector = &detect.Detector{
	Name:  "drift",
	Doc:   manual,
	Scope: detect.PerZone,
	Uses:  detect.NeedIrrigation | detect.NeedDepth | detect.NeedTexture,
	Params: []detect.Param{
		{Name: "below", Default: 0.04, Unit: "m3/m3",
			Why: "how far under the residual water of its texture a reading is no soil's: more than the usual offset of such probes", Source: "calibrations of such probes, 0.02 to 0.03 (manuals, from memory)"},
		{Name: "residual", Default: 0.034, Unit: "m3/m3",
			Why: "the least residual water of all textures, where the register has none", Source: "silt, Carsel & Parrish (1988), checked"},
		{Name: "sunk", Default: 0.015, Unit: "m3/m3",
			Why: "how far it must have come down to there: one that always read so low has an offset of its own", Source: "common practice, no source"},
		{Name: "steady", Default: 0.5, Unit: "1",
			Why: "how far it must have gone in the newer half of its way down, for the older half: soil dries ever more slowly near its end", Source: "common practice, no source"},
		{Name: "stay_days", Default: 3, Unit: "d",
			Why: "a cold night or a wet lead shows for a day", Source: "common practice, no source"},
		{Name: "answers", Default: 6, Unit: "waterings",
			Why: "that it answered: half of them, and the newest two, have three before them to scatter", Source: "common practice, no source"},
		{Name: "moved", Default: 0.03, Unit: "m3/m3",
			Why: "how far the level after waterings must have moved", Source: "calibrations of such probes, 0.02 to 0.03 (manuals, from memory)"},
		{Name: "capacity_kpa", Default: 10, Unit: "kPa",
			Why: "waterings must have filled the soil up to here, less moved: only then is the level after them the soil's own", Source: "field capacity of 10 to 33 kPa (checked), its wet end"},
		{Name: "scatters", Default: 6, Unit: "robust deviations",
			Why: "of that level in the first half: healthy ones came to 4.4", Source: "trials on simulated vineyards"},
		{Name: "dry_end", Default: 0.3, Unit: "share of the move",
			Why: "by so much the level before waterings must have moved along", Source: "common practice, no source"},
		{Name: "siblings", Default: 2, Unit: "siblings",
			Why: "at its depth, of its kind, that answered as well", Source: "common practice, no source"},
		{Name: "sibling_share", Default: 0.5, Unit: "share of the move",
			Why: "a sibling whose level moved so far the same way says that the water did it", Source: "common practice, no source"},
	},
	Since:    "0.3.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	l := newLook(p)
	unseen := map[int]detect.Why{}
	var findings []detect.Finding
	moist := 0
	for i := range l.members {
		m := &l.members[i]
		if !m.Probe.TellsWater() {
			continue
		}
		moist++
		f, why := l.judge(m)
		switch {
		case f != nil:
			findings = append(findings, *f)
		case why.Text != "":
			unseen[m.Probe.Index] = why
		}
	}
	switch {
	case moist == 0:
		return detect.Unable(detect.Absent, "the zone has no moisture probe")
	case len(unseen) == moist:
		for i := range l.members {
			if why, ok := unseen[l.members[i].Probe.Index]; ok {
				return detect.Outcome{Why: why}
			}
		}
	}
	out := detect.Faulty(findings...)
	if len(unseen) > 0 {
		out.Unseen = unseen
	}
	return out
}
