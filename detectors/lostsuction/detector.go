package lostsuction

import (
	_ "embed" // the manual
	"slices"

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds tensiometers whose water column broke.
var Detector = &detect.Detector{
	Name:  "lost_suction",
	Doc:   manual,
	Scope: detect.PerZone,
	Uses:  detect.NeedIrrigation | detect.NeedRain | detect.NeedDepth,
	Params: []detect.Param{
		{Name: "near_zero", Default: 5, Unit: "kPa",
			Why: "an empty tensiometer shows its gauge's zero and the water left above it, not more", Source: "common practice, no source; two broken columns of an open record stood at 1.2 and 1.4 kPa (measured)"},
		{Name: "left_share", Default: 0.12, Unit: "share of the tension before",
			Why: "a column that is broken and not empty passes on a part of the tension", Source: "common practice, no source"},
		{Name: "from_kpa", Default: 10, Unit: "kPa",
			Why: "a fall from less is within what drained soil does, 10 kPa being the wet end of field capacity", Source: "field capacity of 10 to 33 kPa (checked)"},
		{Name: "fall_days", Default: 4, Unit: "d",
			Why: "a leak may take days to empty a tube", Source: "common practice, no source; the slower of two columns of an open record took three (measured)"},
		{Name: "stay_days", Default: 3, Unit: "d",
			Why: "wet soil drains and dries again within days, an empty tube does neither", Source: "common practice, no source: the usual drainage of a medium soil"},
		{Name: "dry_days", Default: 2, Unit: "d",
			Why: "a front that comes later than this after its water comes slowly", Source: "common practice, no source"},
		{Name: "rain_mm", Default: 2, Unit: "mm",
			Why: "less is held by the canopy and the mulch and wets no probe", Source: "common practice, no source"},
		{Name: "novelty", Default: 1.5, Unit: "1",
			Why: "how much larger than its largest earlier fall in as many days: water that it has met before makes no such fall", Source: "trials on simulated vineyards"},
		{Name: "sudden_days", Default: 1, Unit: "d",
			Why: "a front that wets a deep probe for the first time takes longer, a column that breaks stands near zero on the next day", Source: "trials on simulated vineyards"},
		{Name: "settled", Default: 1.3, Unit: "times the level that stays",
			Why: "where the day of the fall itself shows a level between, the next one must be at what stays, within 0.5 kPa more, the resolution of gauges", Source: "trials on simulated vineyards"},
		{Name: "shared", Default: 0.5, Unit: "share of its fall",
			Why: "a neighbour that wetted by so much says that water came", Source: "common practice, no source"},
		{Name: "shared_water_content", Default: 0.04, Unit: "m3/m3",
			Why: "the same for a neighbour in water content", Source: "common practice, no source"},
		{Name: "deeper_cm", Default: 15, Unit: "cm",
			Why: "water may stop above a neighbour that sits deeper by more", Source: "common practice, no source: half the usual step of depths"},
		{Name: "history_days", Default: 7, Unit: "d",
			Why: "fewer days before the fall do not tell how it answers water", Source: "common practice, no source"},
		{Name: "apart", Default: 1, Unit: "1",
			Why: "a neighbour at its depth that is now drier by a factor of 2.7 more than before says the same from another side", Source: "common practice, no source"},
		{Name: "sink_ratio", Default: 1.3, Unit: "1",
			Why: "how far apart the driest day since and the wettest before must lie, and 1 kPa at least: twice what two levels near zero are told apart by", Source: "common practice, no source"},
		{Name: "sink_kpa", Default: 7.5, Unit: "kPa",
			Why: "soil that drains does not stay wetter than field capacity, 10 kPa at the wet end", Source: "field capacity of 10 to 33 kPa (checked), less what gauges are off"},
		{Name: "sink_far", Default: 2.5, Unit: "1",
			Why: "above that the fall must be larger than what a wet spell does to deep soil", Source: "common practice, no source"},
		{Name: "sink_days", Default: 14, Unit: "d",
			Why: "a slow leak takes weeks to empty a tube", Source: "common practice, no source"},
		{Name: "before_days", Default: 21, Unit: "d",
			Why: "a few turns of watering and drying; the wet end of winter is no measure for summer", Source: "common practice, no source"},
		{Name: "sink_explains", Default: 0.3, Unit: "share of its own shift",
			Why: "a neighbour that is wetter than ever by so much says that there is more water", Source: "common practice, no source"},
		{Name: "sink_neighbours", Default: 3, Unit: "neighbours",
			Why: "as deep or shallower: whether the place became wetter is theirs to say", Source: "common practice, no source"},
		{Name: "sink_share", Default: 0.25, Unit: "share of the neighbours",
			Why: "one in a handful may stand in a wet spot of its own", Source: "common practice, no source"},
	},
	Since:    "0.2.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	z := newZone(p)
	var findings []detect.Finding
	tensiometers, short := 0, 0
	wet, blind := "", ""
	for i := range z.members {
		m := &z.members[i]
		if m.Probe.Kind != detect.Tensiometer || m.Probe.Quantity != detect.Tension {
			continue
		}
		tensiometers++
		if len(m.days) < int(p.Param("stay_days"))+1 {
			short++
			continue
		}
		falls := z.falls(m)
		if len(falls) == 0 && z.alwaysWet(m) {
			wet = m.Probe.Name
		}
		found := false
		for _, f := range falls {
			finding, why := z.judge(m, f)
			if why == proven {
				findings = append(findings, finding)
				found = true
				break
			}
			if why == noWitness {
				blind = m.Probe.Name
			}
		}
		if found {
			continue
		}
		if s, ok := z.sinks(m); ok {
			if f, ok := z.judgeSunk(m, s); ok {
				findings = append(findings, f)
			}
		}
	}
	switch {
	case tensiometers == 0:
		return detect.Unable(detect.Absent, "the zone has no tensiometer that reads kPa")
	case len(findings) > 0:
		slices.SortStableFunc(findings, func(a, b detect.Finding) int { return a.Probes[0] - b.Probes[0] })
		return detect.Faulty(findings...)
	case short == tensiometers:
		return detect.Unable(detect.TooShort, "needs %.0f days with readings of a tensiometer, and none of %d has them", p.Param("stay_days")+1, tensiometers)
	case wet != "":
		return detect.Unable(detect.NoChance, "%s has stood near zero since its readings begin, where an empty tensiometer and wet soil read alike: give more look-back, or wait", wet)
	case blind != "":
		return detect.Unable(detect.Absent, "%s fell to near zero, and neither a log of waterings for the zone nor a neighbour says whether water came", blind)
	}
	return detect.Healthy()
}
