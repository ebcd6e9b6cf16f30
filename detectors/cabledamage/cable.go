package cabledamage

import (
	_ "embed"
	"math"

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds cables and splices that make contact only at times, or leak.
var Detector = &detect.Detector{
	Name:  "cable_damage",
	Doc:   manual,
	Scope: detect.PerProbe,
	Needs: detect.NeedWetness,
	Uses:  detect.NeedIrrigation | detect.NeedScaleEnd | detect.NeedTexture,
	Params: []detect.Param{
		{Name: "leap_factor", Default: 3, Unit: "1",
			Why:    "the least step in ohms or kPa that counts as a leap: a granular matrix sensor needs an hour or more for it",
			Source: "common practice, no source"},
		{Name: "leap_water", Default: 0.10, Unit: "m3/m3",
			Why:    "the least step in water content that counts as a leap",
			Source: "common practice, no source; ten times the least drop of Dorigo et al. 2013, D07 (from memory)"},
		{Name: "most_leaps", Default: 2, Unit: "1",
			Why:    "a leap need never be more than this many least ones: flips in half of the readings would otherwise pass for their own noise",
			Source: "common practice, no source"},
		{Name: "hold_hours", Default: 24, Unit: "h",
			Why:    "a leap that is not taken back within this is a new level and no flip; readings outside all limits may last longer",
			Source: "common practice, no source"},
		{Name: "return_dry", Default: 0.5, Unit: "1",
			Why:    "a leap towards dry, or out of all limits, is taken back when at most this share of it is left",
			Source: "common practice, no source"},
		{Name: "return_wet", Default: 0.25, Unit: "1",
			Why:    "the same for a leap towards wet: coarse soil drains some of a storm between two readings",
			Source: "common practice, no source"},
		{Name: "same_level", Default: 0.15, Unit: "1",
			Why:    "a lost contact falls to one state, give or take what is left of the contact: at least half of an episode's flips lie within this difference of logarithms",
			Source: "common practice, no source"},
		{Name: "same_water", Default: 0.05, Unit: "m3/m3",
			Why:    "the same for water content",
			Source: "common practice, no source"},
		{Name: "min_flips", Default: 3, Unit: "flips",
			Why:    "one or two are lightning, a visit or a converter's slip",
			Source: "common practice, no source"},
		{Name: "min_blank_runs", Default: 8, Unit: "runs a week",
			Why:    "blanks that come in fewer runs are an outage and no contact that comes and goes",
			Source: "common practice, no source"},
		{Name: "blank_share", Default: 0.10, Unit: "1",
			Why:    "a sound digital probe misses a call now and then; nobody's misses every tenth for a week",
			Source: "common practice, no source"},
		{Name: "blank_weight", Default: 0.25, Unit: "flips",
			Why:    "a run of blanks is a weaker sign than a reading that no soil gives",
			Source: "common practice, no source"},
		{Name: "join_days", Default: 3, Unit: "days",
			Why:    "flips count together when they come within this of each other",
			Source: "common practice, no source"},
		{Name: "quiet_days", Default: 7, Unit: "days",
			Why:    "contact that once came and went stands until a week passed without a flip, and comes back within one as the same fault",
			Source: "common practice, no source"},
		{Name: "hidden_share", Default: 0.95, Unit: "1",
			Why:    "with so many readings at the scale's end flips towards it cannot be seen",
			Source: "common practice, no source"},
		{Name: "leak_minutes", Default: 60, Unit: "min",
			Why:    "a leak answers the valve; soil at depth takes longer. Two cadences where that is more",
			Source: "common practice, no source"},
		{Name: "leak_hours", Default: 24, Unit: "h",
			Why:    "the splice drips dry within a day, soil does not",
			Source: "common practice, no source"},
		{Name: "leak_fall", Default: 9, Unit: "1",
			Why:    "ohms or kPa must fall by this factor, two leaps, and come back: no soil but sand dries so far within a day",
			Source: "days to dry by the retention table of Carsel & Parrish 1988 (derived)"},
		{Name: "leak_return", Default: 1.35, Unit: "1",
			Why:    "back at the level of before within this factor",
			Source: "common practice, no source"},
		{Name: "leak_events", Default: 2, Unit: "waterings",
			Why:    "one may be water down the hole or a coincidence",
			Source: "a trial on simulated faults; common practice, no source"},
	},
	MinReadings: 12,
	Since:       "1.0",
	Run:         run,
}

func run(p *detect.Pass) detect.Outcome {
	s := newScan(p)
	all := order(s.valueFlips(), s.blankFlips())
	found := s.episodes(all)
	if f, ok := leak(p); ok {
		found = append(found, f)
	}
	if len(found) == 0 && s.atEnd() {
		return detect.Unable(detect.NoChance, "nearly all readings stand at the scale's end, %.4g %s: contact that opens at times reads the same there; ohms, or wetter soil, would show it", p.ScaleEnd().V, s.q.Unit())
	}
	return detect.Faulty(found...)
}

// atEnd says whether the readings stand at the dry end of the scale nearly always.
func (s *scan) atEnd() bool {
	if s.q == detect.WaterContent || !s.p.Has(detect.NeedScaleEnd) {
		return false
	}
	end := s.p.ScaleEnd().V
	end -= math.Max(2*s.p.Quantum(), 2*s.q.SensorNoise()/s.q.WetnessSlope(end))
	n := 0
	for _, v := range s.v {
		if v >= end {
			n++
		}
	}
	return float64(n) >= s.p.Param("hidden_share")*float64(len(s.v))
}
