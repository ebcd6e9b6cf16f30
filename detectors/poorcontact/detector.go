package poorcontact

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector finds probes with air between them and the soil.
var Detector = &detect.Detector{
	Name:  "poor_contact",
	Doc:   doc,
	Scope: detect.PerZone,
	Needs: detect.NeedIrrigation,
	Uses:  detect.NeedRain,
	Since: "unreleased",
	Params: []detect.Param{
		{Name: "min_days", Default: 14, Unit: "d", Why: "less holds no habit to compare with", Source: "common practice, no source"},
		{Name: "min_jumps", Default: 4, Unit: "jumps", Why: "a cable that is pulled at once gives two", Source: "common practice, no source"},
		{Name: "drying_jumps", Default: 2, Unit: "jumps", Why: "soil may wet in an hour, and does not dry in one", Source: "derived: roots take a millimetre of water in an hour at most from all of their depth"},
		{Name: "wetting_jumps", Default: 1, Unit: "jumps", Why: "what only falls, and comes back slowly, is spikes", Source: "derived"},
		{Name: "min_waterings", Default: 3, Unit: "waterings", Why: "fewer give no usual answer", Source: "common practice, no source"},
		{Name: "jump_share", Default: 0.15, Unit: "of the usual answer", Why: "a smaller step is drainage after a watering, or the swing of the day", Source: "common practice, no source"},
		{Name: "jump_days", Default: 3, Unit: "d", Why: "work at the post is over in a day", Source: "common practice, no source"},
		{Name: "clean_days", Default: 7, Unit: "d", Why: "a contact that has been still for so long is one again", Source: "common practice, no source"},
		{Name: "answer_units", Default: 2, Unit: "times what quiet time brings", Why: "a probe that hardly answers has no delay to be measured", Source: "common practice, no source"},
	},
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	z := newZone(p)
	return detect.OfMembers(len(z.probes), func(i int) int { return z.probes[i].Probe.Index }, z.look)
}
