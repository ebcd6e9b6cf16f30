package depthorder

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds probes of a post that answer in another order than their depths.
var Detector = &detect.Detector{
	Name:  "depth_order",
	Doc:   manual,
	Scope: detect.PerZone,
	Needs: detect.NeedIrrigation,
	Uses:  detect.NeedDepth | detect.NeedRain,
	Params: []detect.Param{
		{Name: "apart_cm", Default: 15, Unit: "cm",
			Why: "probes that sit nearer to each other answer in any order", Source: "common practice, no source: half the usual step of depths"},
		{Name: "events", Default: 4, Unit: "waterings",
			Why: "that told the two apart: three may be chance", Source: "derived: one in sixteen for a coin"},
		{Name: "inverted_share", Default: 0.8, Unit: "share of them",
			Why: "a storm that was not logged, or a crack, turns one in a handful", Source: "common practice, no source"},
		{Name: "larger", Default: 1.5, Unit: "1",
			Why: "soils of two depths differ by less in how they answer the same front", Source: "common practice, no source"},
		{Name: "soon_hours", Default: 1, Unit: "h",
			Why: "an answer is dated to the readings and their noise", Source: "common practice, no source"},
		{Name: "swing_ratio", Default: 2.5, Unit: "1",
			Why: "how much more the deeper one swings on calm days, where the other has no hour of its own: damping over 15 cm takes three quarters", Source: "damping of the daily heat wave, 0.08 to 0.12 m for 1/e (physics)"},
		{Name: "phase_hours", Default: 1.5, Unit: "h",
			Why: "by how much the daily swing of the deeper one comes earlier on calm days: heat takes five hours and more for 15 cm, uptake less", Source: "a lag of one radian, 3.8 h, at each 0.08 to 0.12 m (physics), less what uptake does"},
		{Name: "phase_days", Default: 2.5, Unit: "1",
			Why: "on so many times more calm days the deeper one has a clear swing, where the other has no hour of its own", Source: "common practice, no source"},
		{Name: "swap_hours", Default: 3, Unit: "h",
			Why: "a visit takes minutes, and the smoothing over three hours moves a jump by half of that", Source: "common practice, no source"},
		{Name: "swap_gap", Default: 0.4, Unit: "1",
			Why: "difference of the two levels, in natural logarithms of ohms or kPa, from which a day shows that they were exchanged", Source: "common practice, no source"},
		{Name: "swap_gap_water_content", Default: 0.03, Unit: "m3/m3",
			Why: "the same in water content", Source: "common practice, no source"},
		{Name: "swap_novelty", Default: 1.5, Unit: "1",
			Why: "how much faster than ever else one of them must dry in two days", Source: "common practice, no source"},
		{Name: "swap_left", Default: 0.3, Unit: "share of the step",
			Why: "by how much two jumps of a swap may differ: the soil goes on meanwhile", Source: "common practice, no source"},
	},
	Since:    "0.3.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	l := newLook(p)
	pairs := l.pairs()
	if len(pairs) == 0 {
		return detect.Unable(detect.Absent, "needs two probes of one kind and unit at a post, with depth_cm apart by %.0f cm; the zone has none", p.Param("apart_cm"))
	}
	judged := map[int]bool{}
	var candidates []candidate
	for _, q := range pairs {
		c := l.judge(q)
		if c.seen {
			judged[q.u.Probe.Index], judged[q.d.Probe.Index] = true, true
		}
		if c.found {
			candidates = append(candidates, c)
		}
	}
	if len(judged) == 0 {
		return detect.Unable(detect.NoChance, "needs %.0f waterings that one of two probes of a post answered, and no pair of %d had them", p.Param("events"), len(pairs))
	}
	out := detect.Faulty(l.findings(candidates)...)
	for i := range l.members {
		m := &l.members[i]
		if !judged[m.Probe.Index] {
			if out.Unseen == nil {
				out.Unseen = map[int]detect.Why{}
			}
			out.Unseen[m.Probe.Index] = detect.Why{Cause: detect.NoChance,
				Text: "no other depth of its kind at the post, or too few waterings that either answered, to tell their order"}
		}
	}
	return out
}
