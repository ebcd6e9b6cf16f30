package unloggedwater

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector finds water that came to a zone and stands in no log.
var Detector = &detect.Detector{
	Name:  "unlogged_water",
	Doc:   doc,
	Scope: detect.PerZone,
	Needs: detect.NeedIrrigation | detect.NeedRain,
	Params: []detect.Param{
		{Name: "merge_hours", Default: 6, Unit: "h", Why: "pulses of one night are one watering to the soil", Source: "common practice, no source"},
		{Name: "response_hours", Default: 36, Unit: "h", Why: "a front needs up to a day and a half to a deep probe in slow soil", Source: "common practice, no source"},
		{Name: "early_hours", Default: 2, Unit: "h", Why: "valve controllers and loggers keep different clocks, an hour of summer time included, and an onset is dated by the lowest of noisy readings", Source: "common practice, no source"},
		{Name: "plateau_hours", Default: 24, Unit: "h", Why: "on a calm series the lowest reading before a rise may be so much older than the rise", Source: "common practice, no source"},
		{Name: "answer_share", Default: 0.4, Unit: "of the usual size", Why: "answers to equal waterings differ by half, and one below this share is no full answer", Source: "common practice, no source"},
		{Name: "quiet_times", Default: 1.5, Unit: "times the quiet days' rise", Why: "a rise that a day without water brings as well, by the swing of temperature, is no answer; half as much again is no accident", Source: "common practice, no source"},
		{Name: "quiet_days", Default: 3, Unit: "d", Why: "the upper quartile of fewer is a guess", Source: "common practice, no source"},
		{Name: "covered_share", Default: 0.7, Unit: "share of the window", Why: "an answer lasts longer than the third of a window that may be missing", Source: "common practice, no source"},
		{Name: "rain_mm", Default: 2, Unit: "mm", Why: "less is held by the canopy and the mulch and wets no probe", Source: "common practice, no source"},
		{Name: "rain_hours", Default: 48, Unit: "h", Why: "a storm reaches deep probes later than a watering does, since the soil between the rows drains into theirs", Source: "common practice, no source"},
		{Name: "wilson_z", Default: 1.28, Unit: "1", Why: "90 % one-sided: what a probe that seldom was asked may answer by luck", Source: "normal distribution"},
		{Name: "normal_share", Default: 0.6, Unit: "share of the waterings", Why: "a probe that answers most waterings for sure shows one that nobody logged", Source: "derived from Wilson (1927): 3/(3+z^2) = 0.65"},
		{Name: "min_probes", Default: 3, Unit: "probes", Why: "one onset is nothing, and two are one hole's", Source: "common practice, no source"},
		{Name: "min_posts", Default: 2, Unit: "posts", Why: "a leak at one post, or its logger, is not the zone's water", Source: "common practice, no source"},
		{Name: "away_hours", Default: 12, Unit: "h", Why: "beyond the lag that nine of ten answers of a probe keep to: an answer may come late, and the daily swing lifts it once more", Source: "common practice, no source"},
		{Name: "together_hours", Default: 12, Unit: "h", Why: "how far apart the onsets of one watering lie, each taken back by the probe's usual lag: the length of a watering, after which lags differ with the wetness of the soil", Source: "common practice, no source"},
		{Name: "most_share", Default: 0.6, Unit: "share of the probes", Why: "most of the zone, and not a half that happens to be wet", Source: "common practice, no source"},
		{Name: "max_chance", Default: 0.001, Unit: "a period", Why: "how often onsets that each probe has on its own may fall together so", Source: "derived: 1 false alarm in 1000 scans of a zone"},
		{Name: "misdated_hours", Default: 40, Unit: "h", Why: "a row a day off, and the longest watering: a log that has the water on another day has it", Source: "common practice, no source"},
		{Name: "lift_hours", Default: 24, Unit: "h", Why: "so long do shallow and middle probes take to one water, and a day later the swing of the day comes again", Source: "derived"},
		{Name: "lift_looks", Default: 24, Unit: "looks", Why: "three days of them: fewer do not tell what quiet time brings", Source: "common practice, no source"},
		{Name: "lift_share", Default: 0.1, Unit: "of the usual answer", Why: "a cloudy day lets all probes rise a little", Source: "common practice, no source"},
		{Name: "lift_upper", Default: 0.4, Unit: "share of the posts' shallowest probes", Why: "water comes from above; what only deep probes show is an old storm", Source: "derived"},
		{Name: "lift_chance", Default: 0.001, Unit: "a period", Why: "how often lifts that each probe has on its own may fall together so; that they are not independent is held against the quiet time of the zone", Source: "derived: 1 false alarm in 1000 scans of a zone"},
		{Name: "lift_others", Default: 0.5, Unit: "of the probes that rose", Why: "what half of them do together in quiet time tells of no water", Source: "common practice, no source"},
		{Name: "join_hours", Default: 24, Unit: "h", Why: "onsets a day apart are the answers of shallow and deep probes to one water", Source: "common practice, no source"},
	},
	Since:    "0.1.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	l := newLook(p)
	if len(l.occasions) < 4 {
		return detect.Unable(detect.TooShort, "needs 4 waterings of the zone in the period to know how its probes answer, the log has %d", len(l.occasions))
	}
	posts := map[string]bool{}
	for i := range l.probes {
		posts[l.probes[i].post] = true
	}
	found := l.findings()
	if len(found) == 0 && (len(l.probes) < int(p.Param("min_probes")) || len(posts) < int(p.Param("min_posts"))) {
		return detect.Unable(detect.NoChance, "needs %.0f probes at %.0f posts that normally answer the zone's waterings, has %d at %d",
			p.Param("min_probes"), p.Param("min_posts"), len(l.probes), len(posts))
	}
	return detect.Faulty(found...)
}
