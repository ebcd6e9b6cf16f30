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
	Uses:  detect.NeedIrrigation | detect.NeedRain | detect.NeedScaleEnd | detect.NeedTexture,
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
		{Name: "same_water", Default: 0.01, Unit: "m3/m3",
			Why:    "the same for water content",
			Source: "common practice, no source"},
		{Name: "snap_share", Default: 0.6, Unit: "1",
			Why:    "contact comes back by a step of at least this share of the way, in logarithms; what slides back is a spike",
			Source: "the mean of a dead and a live reading in ohms lies near the dead one (derived); share: common practice, no source"},
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
		{Name: "leak_step", Default: 1.15, Unit: "1",
			Why:    "the least factor in ohms or kPa by which a leak beside a history shows, down at the valve and up after it: 33 kohm beside 5 dry, or 7 beside 1 wetter",
			Source: "parallel resistors (derived); choice: common practice, no source"},
		{Name: "leak_gauge", Default: 1.12, Unit: "1",
			Why:    "the same of a tensiometer's gauge, which tells tenths of a kPa",
			Source: "common practice, no source"},
		{Name: "leak_back", Default: 0.4, Unit: "1",
			Why:    "the least share of the fall that is taken back in that time, in logarithms: water down a crack stays",
			Source: "common practice, no source"},
		{Name: "sag_step", Default: 0.015, Unit: "m3/m3",
			Why:    "the least fall of water content while water comes: no soil does that, and cold water moves a reading by less",
			Source: "common practice, no source"},
		{Name: "sag_share", Default: 0.08, Unit: "1",
			Why:    "and at least this share of the reading",
			Source: "common practice, no source"},
		{Name: "leak_calm", Default: 1.5, Unit: "1",
			Why:    "what moves by half of this factor in the hours before tells nothing of the water",
			Source: "common practice, no source"},
		{Name: "leak_rain", Default: 5, Unit: "mm",
			Why:    "rain of less may not reach a splice",
			Source: "common practice, no source"},
		{Name: "leak_hourly", Default: 3, Unit: "h",
			Why:    "rain measured over longer says not when it fell",
			Source: "common practice, no source"},
		{Name: "leak_drain", Default: 12, Unit: "h",
			Why:    "so long after the valve closed the splice has dripped and dried enough to show it",
			Source: "common practice, no source"},
		{Name: "leak_left", Default: 0.25, Unit: "1",
			Why:    "most of the fall is gone when at most this share of it is left within leak_hours of the valve's end",
			Source: "common practice, no source"},
		{Name: "leak_faster", Default: 2, Unit: "1",
			Why:    "a reading that dries this many times faster than the retention bound of its texture is no soil's",
			Source: "retention table of Carsel & Parrish 1988 (derived); margin: common practice, no source"},
		{Name: "leak_layer", Default: 0.3, Unit: "m",
			Why:    "the layer that the bound lets lose its water",
			Source: "common practice, no source"},
		{Name: "leak_demand", Default: 12, Unit: "mm/d",
			Why:    "what the bound lets roots and sun take from that layer alone: KcMax of FAO-56 and 10 mm/d",
			Source: "FAO-56 eq. 72 (from memory), derived"},
		{Name: "leak_share", Default: 0.75, Unit: "1",
			Why:    "a leak shows at every watering that finds the probe dry, but a valve may have stayed shut at one of four",
			Source: "common practice, no source"},
		{Name: "own_factor", Default: 3, Unit: "1",
			Why:    "the fall must be this many times, in logarithms, what the probe did at any earlier watering",
			Source: "common practice, no source"},
		{Name: "leak_clear", Default: 3, Unit: "1",
			Why:    "the fall must be this many times the farthest reading of the hours before from their median: where a dozen readings scatter so, the largest of the next few may lie twice as far",
			Source: "derived from the normal distribution, with a margin"},
		{Name: "leak_plateau", Default: 0.75, Unit: "1",
			Why:    "a bridge is there at once: so much of where the reading stands while water comes; water down a hole goes on wetting for hours",
			Source: "common practice, no source"},
		{Name: "leak_dried", Default: 1.5, Unit: "1",
			Why:    "or so large a factor, where the soil answers meanwhile and takes most of the way back",
			Source: "common practice, no source"},
		{Name: "leak_share_spread", Default: 0.35, Unit: "1",
			Why:    "the falls of a gauge that loses a share of its signal differ by at most this part of their median, in logarithms, at own_waterings or more",
			Source: "a share of a signal is the same at any level (derived); choice: common practice, no source"},
		{Name: "leak_sudden", Default: 0.6, Unit: "1",
			Why:    "and so much of it comes from one reading to the next, where soil needs several",
			Source: "common practice, no source"},
		{Name: "fade_share", Default: 0.05, Unit: "1",
			Why:    "a corroding plug shows when the level lies this share below the lowest day of before",
			Source: "common practice, no source"},
		{Name: "fade_scatter", Default: 1.25, Unit: "1",
			Why:    "and the readings scatter this many times as much: healthy ones came to 1.2 in a week",
			Source: "trials on simulated vineyards"},
		{Name: "fade_recent", Default: 5, Unit: "d",
			Why:    "the newest days, at the end of which the scatter is that of now",
			Source: "common practice, no source"},
		{Name: "fade_old", Default: 28, Unit: "d",
			Why:    "what is older is the time before",
			Source: "common practice, no source"},
		{Name: "fade_days", Default: 14, Unit: "d",
			Why:    "so many days before show how low it goes and how it scatters",
			Source: "common practice, no source"},
		{Name: "own_back", Default: 1.5, Unit: "1",
			Why:    "and the return this many times: soil dries back as well, but never before by so much within the same hours",
			Source: "common practice, no source"},
		{Name: "own_waterings", Default: 3, Unit: "waterings",
			Why:    "so many earlier ones without the sign show how the soil itself answers there",
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
	if most := p.ParamHours("hold_hours"); 2*p.Cadence() > most {
		return detect.Unable(detect.NoChance, "readings come every %s, within which soil wets and drains as far as contact flips: needs one every %s or more often", detect.Length(p.Cadence()), detect.Length(most/2))
	}
	s := newScan(p)
	all := order(s.valueFlips(), s.blankFlips())
	found := s.episodes(all)
	if f, ok := leak(p); ok {
		found = append(found, f)
	} else if f, ok := faded(p); ok && len(found) == 0 {
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
