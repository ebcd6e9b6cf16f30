package irrigationfailure

import (
	_ "embed" // the manual
	"slices"

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector finds waterings of the log that did not reach a zone.
var Detector = &detect.Detector{
	Name:  "irrigation_failure",
	Doc:   doc,
	Scope: detect.PerZone,
	Needs: detect.NeedIrrigation,
	Uses:  detect.NeedRain,
	Params: []detect.Param{
		{Name: "merge_hours", Default: 6, Unit: "h", Why: "pulses of one night are one watering to the soil", Source: "common practice, no source"},
		{Name: "response_hours", Default: 36, Unit: "h", Why: "a front needs up to a day and a half to a deep probe in slow soil", Source: "common practice, no source"},
		{Name: "early_hours", Default: 2, Unit: "h", Why: "valve controllers and loggers keep different clocks, an hour of summer time included, and an onset is dated by the lowest of noisy readings", Source: "common practice, no source"},
		{Name: "plateau_hours", Default: 24, Unit: "h", Why: "on a calm series the lowest reading before a rise may be so much older than the rise; a rise that has lasted for longer when the water comes blurs what the water does", Source: "common practice, no source"},
		{Name: "answer_share", Default: 0.4, Unit: "of the usual size", Why: "answers to equal waterings differ by half, and one below this share is no full answer", Source: "common practice, no source"},
		{Name: "miss_share", Default: 0.2, Unit: "of the usual size", Why: "a rise below this share, or of the size of a quiet day's, is nothing; what lies between a miss and an answer is a weak answer, and the water came", Source: "common practice, no source"},
		{Name: "quiet_times", Default: 1.5, Unit: "times the quiet days' rise", Why: "a rise that a day without water brings as well, by the swing of temperature, is no answer; half as much again is no accident", Source: "common practice, no source"},
		{Name: "quiet_days", Default: 3, Unit: "d", Why: "the upper quartile of fewer is a guess", Source: "common practice, no source"},
		{Name: "covered_share", Default: 0.7, Unit: "share of the window", Why: "an answer lasts longer than the third of a window that may be missing", Source: "common practice, no source"},
		{Name: "rain_mm", Default: 2, Unit: "mm", Why: "less is held by the canopy and the mulch and wets no probe", Source: "common practice, no source"},
		{Name: "rain_hours", Default: 48, Unit: "h", Why: "a storm reaches deep probes later than a watering does, since the soil between the rows drains into theirs", Source: "common practice, no source"},
		{Name: "soak_mm_a_day", Default: 3.5, Unit: "mm/d", Why: "what vines use in a summer's day: so long does a storm leave no room for an answer", Source: "FAO-56: a reference demand of 5 mm/d in a warm semi-arid place (table 2) times a crop factor of wine grapes of 0.7 (table 12); from memory"},
		{Name: "size_share", Default: 0.5, Unit: "of the watering's depth", Why: "what answers half of a watering answers all of it; a still smaller one need not reach as deep, and its misses prove nothing", Source: "common practice, no source"},
		{Name: "size_times", Default: 1.5, Unit: "times the watering's depth", Why: "a much larger watering that was answered proves nothing of a small one", Source: "common practice, no source"},
		{Name: "rest_share", Default: 0.5, Unit: "of the usual interval", Why: "soon after another watering the soil is wet and there is no room for an answer", Source: "common practice, no source"},
		{Name: "wilson_z", Default: 1.28, Unit: "1", Why: "90 % one-sided: what a probe that seldom was asked may answer by luck", Source: "normal distribution"},
		{Name: "normal_share", Default: 0.6, Unit: "share of the waterings", Why: "a probe that answers most waterings for sure can miss one; three of three suffice, five of six do not", Source: "derived from Wilson (1927): 3/(3+z^2) = 0.65"},
		{Name: "min_probes", Default: 3, Unit: "probes", Why: "two probes of one hole miss for one reason", Source: "common practice, no source"},
		{Name: "min_posts", Default: 2, Unit: "posts", Why: "one post is one dripper line or one logger", Source: "common practice, no source"},
		{Name: "dissent_share", Default: 0.17, Unit: "share of the probes", Why: "beyond the one dissenter that is always allowed: in a zone of a dozen, a hole of two that is really another zone's", Source: "common practice, no source"},
		{Name: "max_chance", Default: 0.005, Unit: "a watering", Why: "so rarely do probes that each miss on their own miss one together; with the lower bound of their answers, in fact far more rarely", Source: "derived: a zone has one or two waterings a week and a dozen probes, so one in 200 is about one zone in a thousand probe-weeks"},
		{Name: "steady_share", Default: 0.6, Unit: "of the usual size", Why: "answers that faded before the miss are those of soil under deficit", Source: "common practice, no source"},
		{Name: "steady_probes", Default: 0.67, Unit: "share of the probes", Why: "so many answered the watering before: losses that come one by one are deficit", Source: "common practice, no source"},
		{Name: "partial_events", Default: 4, Unit: "waterings", Why: "fewer give no usual size", Source: "common practice, no source"},
		{Name: "partial_share", Default: 0.75, Unit: "share of the waterings", Why: "only a probe that answers most waterings has a usual size", Source: "common practice, no source"},
		{Name: "clear_units", Default: 2, Unit: "times what quiet time brings", Why: "half of the answer must still stand clear of quiet time", Source: "derived"},
		{Name: "partial_middle", Default: 0.6, Unit: "of the usual size", Why: "the answers to equal waterings differ by less than that when all probes of a zone are taken together", Source: "common practice, no source"},
		{Name: "partial_all", Default: 0.85, Unit: "of the usual size", Why: "low pressure takes from every post", Source: "common practice, no source"},
		{Name: "partial_wild", Default: 2.5, Unit: "times the usual size", Why: "a probe that does so at a watering does not answer it, but swings for reasons of its own", Source: "common practice, no source"},
		{Name: "partial_quantile", Default: 0.8, Unit: "share of the probes", Why: "nearly all: a probe by the head of the line still has its pressure", Source: "common practice, no source"},
		{Name: "partial_spread", Default: 0.12, Unit: "1", Why: "few waterings may agree by chance; an eighth is how far the medians of a zone's answers differ", Source: "common practice, no source"},
		{Name: "partial_scales", Default: 4, Unit: "spreads", Why: "Cantelli's bound is 1 in 17 for any distribution, and for most far less", Source: "derived"},
		{Name: "partial_before", Default: 0.75, Unit: "of the usual size", Why: "answers that faded before are those of soil under deficit", Source: "common practice, no source"},
		{Name: "grace_hours", Default: 6, Unit: "h", Why: "beyond the lag that nine of ten answers of a probe keep to, at the end of the period", Source: "common practice, no source"},
	},
	Since:    "0.1.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	l := newLook(p)
	if len(l.probes) == 0 {
		return detect.Unable(detect.Absent, "needs moisture probes with readings in the zone, has none")
	}
	if len(l.occasions) < 4 {
		return detect.Unable(detect.TooShort, "needs 4 waterings of the zone in the period, the log has %d", len(l.occasions))
	}
	var fails []failure
	judged := 0
	for k := range l.occasions {
		f, ok := l.judge(k)
		if ok {
			judged++
		}
		fails = append(fails, f)
	}
	l.partial(fails)
	if judged == 0 && !slices.ContainsFunc(fails, func(f failure) bool { return f.failed }) {
		return detect.Unable(detect.NoChance, "needs a watering without rain that %.0f probes at %.0f posts normally answer; there was none among %d", p.Param("min_probes"), p.Param("min_posts"), len(l.occasions))
	}
	return detect.Faulty(l.findings(fails)...)
}
