package bypassflow

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector finds probes that water reaches down their hole or cable.
var Detector = &detect.Detector{
	Name:  "bypass_flow",
	Doc:   doc,
	Scope: detect.PerZone,
	Needs: detect.NeedIrrigation,
	Uses:  detect.NeedRain | detect.NeedDepth,
	Since: "unreleased",
	Params: []detect.Param{
		{Name: "quick_hours", Default: 2, Unit: "h",
			Why: "a front in soil needs hours to a probe below another one", Source: "derived: at 5 mm/h into soil that takes up 0.1 m3/m3 it goes 5 cm an hour"},
		{Name: "below_cm", Default: 15, Unit: "cm",
			Why: "nearer probes of one hole wet together", Source: "common practice, no source"},
		{Name: "left_share", Default: 0.5, Unit: "of the rise",
			Why: "half a day after the water a soil keeps most of it, and a hole has emptied into the soil beside it", Source: "common practice, no source"},
		{Name: "peak_hours", Default: 3, Unit: "h",
			Why: "a hole stands fullest while water runs; a soil at depth wets on for a day", Source: "common practice, no source"},
		{Name: "rise_units", Default: 1.5, Unit: "times what quiet time brings",
			Why: "half as much again is no accident", Source: "common practice, no source"},
		{Name: "soon_share", Default: 0.5, Unit: "of the rise",
			Why: "a hole fills in the first hours, or while water runs where that is longer", Source: "common practice, no source"},
		{Name: "flood_mm_h", Default: 25, Unit: "mm/h",
			Why: "more than loam takes up: the water stands on the surface and fills cracks, too", Source: "basic infiltration rates, FAO Irrigation Manual 5: loam 10-20 mm/h, sandy loam 20-30 (from memory)"},
		{Name: "min_events", Default: 2, Unit: "waterings",
			Why: "once may be a puddle", Source: "common practice, no source"},
		{Name: "most_share", Default: 0.6, Unit: "of the waterings since",
			Why: "a path that is open stays open", Source: "common practice, no source"},
		{Name: "others_share", Default: 0.5, Unit: "of the deep probes at other posts",
			Why: "where most do it, the soil is cracked, or the log or a clock is late", Source: "common practice, no source"},
	},
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	z := newZone(p)
	return detect.OfMembers(len(z.probes), func(i int) int { return z.probes[i].Probe.Index }, z.look)
}
