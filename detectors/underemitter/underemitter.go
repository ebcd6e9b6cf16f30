package underemitter

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds probes that sit right under an emitter.
var Detector = &detect.Detector{
	Name:  "under_emitter",
	Doc:   manual,
	Scope: detect.PerZone,
	Needs: detect.NeedIrrigation,
	Uses:  detect.NeedDepth | detect.NeedTexture,
	Params: []detect.Param{
		{Name: "wet_kpa", Default: 10, Unit: "kPa",
			Why: "soil that drains comes to rest here or drier, 10 kPa being the wet end of field capacity", Source: "field capacity of 10 to 33 kPa (checked)"},
		{Name: "dead_kpa", Default: 12, Unit: "kPa",
			Why: "the same for granular matrix sensors, which hardly respond where it is wetter", Source: "responses from 10 and 11.5 kPa on (published for two sands; checked)"},
		{Name: "dry_kpa", Default: 20, Unit: "kPa",
			Why: "twice as dry as wet_kpa: neighbours that dry between waterings", Source: "common practice, no source"},
		{Name: "wet_share", Default: 0.9, Unit: "share of the days",
			Why: "always wet, but for the days of a repair or of a failed watering", Source: "common practice, no source"},
		{Name: "spread", Default: 0.5, Unit: "1",
			Why: "in natural logarithms of ohms or kPa, from the wettest readings to the driest, but for one day in ten: soil that is drunk from passes half its tension between waterings", Source: "common practice, no source"},
		{Name: "days", Default: 28, Unit: "d",
			Why: "four weeks hold a few waterings; a wet week is weather", Source: "common practice, no source"},
		{Name: "recent_days", Default: 14, Unit: "d",
			Why: "over which the neighbours are asked how dry they are", Source: "common practice, no source"},
		{Name: "waterings", Default: 3, Unit: "waterings",
			Why: "a block that is not watered has no emitter that runs", Source: "common practice, no source"},
		{Name: "neighbours", Default: 3, Unit: "neighbours",
			Why: "two may stand dry where they should not", Source: "common practice, no source"},
		{Name: "dry_share", Default: 0.5, Unit: "share of the neighbours",
			Why: "where no more are dry, or one is as wet as the probe on most days, it is the block that is wet, or its water table", Source: "common practice, no source"},
		{Name: "near_cm", Default: 7.5, Unit: "cm",
			Why: "as deep as a neighbour", Source: "common practice, no source: a quarter of the usual step of depths"},
		{Name: "offset", Default: 0.02, Unit: "m3/m3",
			Why: "what a probe of water content may be off: it must be wetter than at wet_kpa by so much, and a neighbour that is never as wet counts from here on", Source: "calibrations of such probes, 0.02 to 0.03 (manuals, from memory)"},
	},
	Since:    "0.3.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	l := newLook(p)
	if len(l.members) == 0 {
		return detect.Unable(detect.Absent, "needs moisture probes with depth_cm whose readings have a tension: ohms, kPa, or m3/m3 with soil_texture; the zone has none")
	}
	if n := l.waterings(); n < int(p.Param("waterings")) {
		return detect.Unable(detect.NoChance, "needs %.0f waterings of the zone in the look-back, had %d", p.Param("waterings"), n)
	}
	var findings []detect.Finding
	unseen := map[int]detect.Why{}
	for i := range l.members {
		f, why := l.judge(&l.members[i])
		switch {
		case f != nil:
			findings = append(findings, *f)
		case why.Text != "":
			unseen[l.members[i].Probe.Index] = why
		}
	}
	if len(unseen) == len(l.members) {
		for _, m := range l.members {
			return detect.Outcome{Why: unseen[m.Probe.Index]}
		}
	}
	out := detect.Faulty(findings...)
	if len(unseen) > 0 {
		out.Unseen = unseen
	}
	return out
}
