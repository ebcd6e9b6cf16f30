package missingresponse

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector finds probes that stopped answering their waterings.
var Detector = &detect.Detector{
	Name:  "missing_irrigation_response",
	Doc:   doc,
	Scope: detect.PerZone,
	Needs: detect.NeedIrrigation,
	Uses:  detect.NeedRain,
	Since: "0.1",
	Params: []detect.Param{
		{Name: "min_days", Default: 14, Unit: "d",
			Why: "less holds too few waterings", Source: "common practice, no source"},
		{Name: "answer_units", Default: 1.5, Unit: "1",
			Why: "the unit is already more than quiet time brings; half as much again is no accident", Source: "common practice, no source"},
		{Name: "weak_share", Default: 0.4, Unit: "1",
			Why: "answers of equal waterings differ by half, and one below this share is no full answer", Source: "common practice, no source"},
		{Name: "size_share", Default: 1, Unit: "1",
			Why: "a watering smaller than any that was answered need not reach as deep; of the second smallest, so that one odd entry of the log does not rule", Source: "Shock, Barnum & Seddigh (1998) on partial rewetting (from memory); the number is common practice, no source"},
		{Name: "min_misses", Default: 2, Unit: "1",
			Why: "one watering may have failed for one row", Source: "common practice, no source"},
		{Name: "min_answers", Default: 4, Unit: "1",
			Why: "fewer give no share of answers", Source: "derived: the lower Wilson bound of 4 of 4 is 0.71"},
		{Name: "memory", Default: 8, Unit: "1",
			Why: "waterings that tell how it answers lately: a month of two a week", Source: "common practice, no source"},
		{Name: "wilson_z", Default: 1.28, Unit: "1",
			Why: "the lower bound at 90 %, one-sided", Source: "Wilson (1927)"},
		{Name: "max_chance", Default: 0.1, Unit: "1",
			Why: "how probable the run of misses may be from a probe that answers as before; weak responders so need more", Source: "common practice, no source"},
		{Name: "steady_share", Default: 0.6, Unit: "1",
			Why: "answers that shrink before they vanish are deficit", Source: "trials on simulated vineyards"},
		{Name: "break_share", Default: 0.5, Unit: "1",
			Why: "after a loss no rise is half as large as the last two answers were on average; fading has no such break", Source: "trials on simulated vineyards"},
		{Name: "dry_share", Default: 0.1, Unit: "1",
			Why: "how much drier than at an answered watering, in usual answers, still counts as no drier", Source: "trials on simulated vineyards"},
		{Name: "moist_kpa", Default: 60, Unit: "kPa",
			Why: "up to here water is readily available, and a soil that conducts passes its water on", Source: "vineyard handbooks, 10-60 kPa (checked)"},
		{Name: "min_siblings", Default: 2, Unit: "probes",
			Why: "one other probe may stand under a lucky emitter", Source: "common practice, no source"},
		{Name: "depth_class_cm", Default: 15, Unit: "cm",
			Why: "probes are set at steps of 15 to 30 cm; nearer ones wet alike", Source: "common practice, no source"},
		{Name: "came_share", Default: 0.5, Unit: "of their usual size",
			Why: "a watering that the siblings answered by less proves nothing of this probe", Source: "common practice, no source"},
		{Name: "clear_units", Default: 2, Unit: "1",
			Why: "an answer must be expected to stand clear of quiet time before its absence can show", Source: "common practice, no source"},
		{Name: "vouched_share", Default: 0.75, Unit: "1",
			Why: "as size_share, where siblings answered the watering in full", Source: "common practice, no source"},
		{Name: "more_share", Default: 1.5, Unit: "of their usual size",
			Why: "beyond that a probe need not follow its siblings: answers grow out of proportion with the water, and differently", Source: "common practice, no source"},
		{Name: "reliable_share", Default: 0.75, Unit: "of the waterings",
			Why: "only of a probe that answers most of its waterings do the sizes speak", Source: "common practice, no source"},
		{Name: "least_spread", Default: 0.2, Unit: "1",
			Why: "few answers may agree by chance; a fifth is how far equal waterings differ", Source: "common practice, no source"},
		{Name: "drying_share", Default: 0.7, Unit: "of its usual rate",
			Why: "soil that is no longer watered dries on as fast as between waterings, a little less as it gets dry", Source: "derived"},
		{Name: "sibling_answers", Default: 3, Unit: "1",
			Why: "with siblings that answered all along three answers show that it could", Source: "common practice, no source"},
	},
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	z := newZone(p)
	return detect.OfMembers(len(z.probes), func(i int) int { return z.probes[i].Probe.Index }, z.look)
}
