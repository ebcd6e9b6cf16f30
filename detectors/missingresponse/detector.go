package missingresponse

import (
	_ "embed" // the manual
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

//go:embed doc.go
var doc string

// Detector finds probes that stopped answering their waterings.
var Detector = &detect.Detector{
	Name:         "missing_irrigation_response",
	Doc:          doc,
	Needs:        detect.NeedWetness | detect.NeedIrrigation,
	Uses:         detect.NeedRain | detect.NeedScaleEnd,
	MinReadings:  100,
	MinSpanHours: 14 * 24,
	Since:        "0.1",
	Params: []detect.Param{
		{Name: "merge_hours", Default: 6, Unit: "h",
			Why: "pulses of one night are one watering to the soil", Source: "common practice, no source"},
		{Name: "response_hours", Default: 36, Unit: "h",
			Why: "a front needs up to a day and a half to a deep probe in slow soil", Source: "common practice, no source"},
		{Name: "smooth_hours", Default: 3, Unit: "h",
			Why: "a rolling median so long keeps answers, which last for longer, and takes out most of the noise", Source: "common practice, no source"},
		{Name: "quiet_hours", Default: 12, Unit: "h",
			Why: "half a day holds either flank of the daily swing, the largest rise of quiet time", Source: "derived from a sine"},
		{Name: "quiet_deviations", Default: 3, Unit: "1",
			Why: "three robust standard deviations above the median leave one quiet window in a thousand", Source: "derived from the normal distribution"},
		{Name: "noise_scales", Default: 2, Unit: "1",
			Why: "the largest rise within a window of smoothed white noise; and two counts, since one may flicker", Source: "derived for a median of 13: its deviation is 0.35 of a reading's, and a window's rise about six of these"},
		{Name: "answer_units", Default: 1.5, Unit: "1",
			Why: "the unit is already more than quiet time brings; half as much again is no accident", Source: "common practice, no source"},
		{Name: "weak_share", Default: 0.4, Unit: "1",
			Why: "answers of equal waterings differ by half, and one below this share is no full answer", Source: "common practice, no source"},
		{Name: "covered_share", Default: 0.7, Unit: "1",
			Why: "an answer lasts longer than the third of a window that may be missing", Source: "common practice, no source"},
		{Name: "rain_mm", Default: 2, Unit: "mm",
			Why: "less is held by the canopy and the mulch and wets no probe", Source: "common practice, no source"},
		{Name: "size_share", Default: 1, Unit: "1",
			Why: "a watering smaller than any that was answered need not reach as deep; of the second smallest, so that one odd entry of the log does not rule", Source: "Shock, Barnum & Seddigh (1998) on partial rewetting (from memory); the number is common practice, no source"},
		{Name: "dead_kpa", Default: 12, Unit: "kPa",
			Why: "wetter than this a granular block hardly responds", Source: "published for fine sand, 11.5 kPa, and loamy sand, 10 kPa (checked); rounded up"},
		{Name: "end_kpa", Default: 100, Unit: "kPa",
			Why: "drier, the driest value at which a granular block stands may be the end of its scale", Source: "common practice, no source: exports end at 199 or 239 kPa"},
		{Name: "gauge_kpa", Default: 70, Unit: "kPa",
			Why: "drier, the driest value at which a tensiometer stands may be where its water boils: 80 kPa less what the air weighs less high up", Source: "manuals give 80-85 kPa at sea level (from memory); the rest derived"},
		{Name: "end_hours", Default: 24, Unit: "h",
			Why: "soil as dry as that may pass its driest in a night, and does not stay there for a day", Source: "common practice, no source"},
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
	},
	Run: run,
}

func run(p *detect.Pass) detect.Outcome {
	s := newStudy(p)
	events := s.events()
	if len(events) == 0 {
		return detect.Unable(detect.NoChance, "the zone was not watered while the probe was heard")
	}
	s.unitOfQuiet(events)
	h := s.count(events)
	if h.answers < int(p.Param("min_answers")) {
		if n := int(p.Param("min_answers")); len(h.counted) < n && len(h.counted)+h.without >= n {
			return detect.Unable(detect.NoChance, "had no room to answer %d of its waterings: at the scale's end, or as wet as it gets", h.without)
		}
		if len(h.counted) < int(p.Param("min_answers")) {
			return detect.Unable(detect.TooShort, "needs %.0f waterings that can be judged, had %d: give more look-back, or wait",
				p.Param("min_answers"), len(h.counted))
		}
		return detect.Unable(detect.NoChance, "never answered enough of its waterings to miss one: %d of %d", h.answers, len(h.counted))
	}
	if last := h.counted[len(h.counted)-1]; last.strong && last.Start < p.Period().Window.Start {
		return detect.Unable(detect.NoChance, "no watering in the window could show it: none, rain at the same time, or the probe has no room to answer")
	}
	// The earliest loss that explains all waterings since.
	for from := 1; from <= len(h.counted)-int(p.Param("min_misses")); from++ {
		if f, ok := s.judge(h.counted[max(0, from-int(p.Param("memory"))):from], h.counted[from:]); ok {
			return detect.Faulty(f)
		}
	}
	return detect.Healthy()
}

// judge holds the waterings since a supposed loss against those before.
func (s *study) judge(before, since []event) (detect.Finding, bool) {
	p := s.p
	last := before[len(before)-1]
	rises := make([]float64, 0, len(before))
	for _, e := range before {
		if e.strong {
			rises = append(rises, e.rise)
		}
	}
	answers := len(rises)
	if answers < int(p.Param("min_answers")) {
		return detect.Finding{}, false
	}
	usual := robust.Median(rises, make([]float64, answers))
	limit := max(s.unit, p.Param("weak_share")*usual)
	largest := 0.0
	for _, e := range since {
		largest = max(largest, e.rise)
	}
	missed, answered := s.weighed(before, since, limit, usual)
	if last.rise <= limit || answered {
		return detect.Finding{}, false
	}
	missed = large(missed, p.Param("size_share")*secondSmallest(before, limit))
	least, _ := robust.Wilson(answers, len(before), p.Param("wilson_z"))
	chance := robust.BinomialTail(len(missed), len(missed), 1-least)
	// Under deficit answers shrink before they vanish, with no break between.
	two := rises[answers-2] + rises[answers-1]
	abrupt := two >= 2*p.Param("steady_share")*usual && largest <= p.Param("break_share")*two/2 &&
		steady(before, p.Param("steady_share"))
	if s.silence(before) >= int(p.Param("min_misses")) {
		return detect.Finding{}, false // it was silent before, and came back by itself
	}
	if len(missed) < int(p.Param("min_misses")) || chance > p.Param("max_chance") || !abrupt || !s.notDrier(before, missed, usual) {
		return detect.Finding{}, false
	}
	first := missed[0]
	if s.rise(p.From(first.Start), len(s.t)) > max(p.Param("break_share")*usual, s.unit) {
		return detect.Finding{}, false // it wetted since: late, or by a storm
	}
	start := max(first.Start, s.t[0])
	return detect.Finding{
		Start: start, Open: true, ExcludeFrom: min(last.peak, start),
		Readings:   len(s.t) - p.From(first.Start),
		Confidence: confidence(len(missed), chance),
		Measured:   largest, Threshold: limit, Unit: unitOf(p.Quantity()),
		Evidence: fmt.Sprintf("answered %d of %d waterings up to %s, usually by %s, and none of the %d since (%s); the largest rise is %s, in quiet time %s",
			answers, len(before), detect.Stamp(last.Start), s.size(usual), len(missed), millimetres(missed), s.size(largest), s.size(s.unit)),
	}, true
}

// confidence grows with the misses, up to 0.9: half an even bet at two, since
// deficit and a failed emitter look alike to one probe, and seven tenths of the
// rest of the doubt stay with each further miss.
func confidence(misses int, chance float64) float64 {
	doubt := 0.45 * math.Pow(0.7, float64(misses-2))
	return min(0.9, (1-chance)*(1-doubt))
}

// secondSmallest is the depth in mm of the second smallest watering with a full
// answer; 0 where the depths of fewer than two are known.
func secondSmallest(before []event, limit float64) float64 {
	smallest, second := math.Inf(1), math.Inf(1)
	for _, e := range before {
		if e.rise > limit && e.sized {
			second = min(second, max(smallest, e.mm))
			smallest = min(smallest, e.mm)
		}
	}
	if math.IsInf(second, 1) {
		return 0
	}
	return second
}

// large keeps the waterings of at least a depth in mm, and those of unknown depth.
func large(since []event, mm float64) []event {
	out := make([]event, 0, len(since))
	for _, e := range since {
		if !e.sized || e.mm >= mm {
			out = append(out, e)
		}
	}
	return out
}

// weighed sorts the waterings since by what the probe could show: the missed ones, and
// whether any was answered. In the dead zone an answer can be no larger than the
// room that is left up to where answers used to take the probe; a watering with
// less room than an answer tells nothing.
func (s *study) weighed(before, since []event, limit, usual float64) (missed []event, answered bool) {
	plateau := secondPeak(before)
	missed = make([]event, 0, len(since))
	for _, e := range since {
		if e.level <= s.dead {
			answered = answered || e.rise > limit
			missed = append(missed, e)
			continue
		}
		room := min(usual, plateau-e.level)
		weak := s.p.Param("weak_share") * room
		switch {
		case room < s.p.Param("answer_units")*s.unit:
			answered = answered || e.rise > limit
		case e.rise <= weak:
			missed = append(missed, e)
		default:
			answered = answered || e.rise > max(s.unit, weak)
		}
	}
	return missed, answered
}

// secondPeak is the second wettest state that an answer led to: one may have been a
// storm's that nobody logged.
func secondPeak(events []event) float64 {
	wettest, second := math.Inf(-1), math.Inf(-1)
	for _, e := range events {
		if e.strong {
			peak := e.level + e.rise
			second = max(second, min(wettest, peak))
			wettest = max(wettest, peak)
		}
	}
	return second
}

// steady says whether the last answer was as large as usual for the depth applied:
// answers that shrink while more is given fade, and have no break. Without depths
// that of each watering counts alike.
func steady(before []event, share float64) bool {
	sizes := make([]float64, 0, len(before))
	for _, e := range before {
		if !e.strong {
			continue
		}
		if !e.sized || !(e.mm > 0) {
			return true
		}
		sizes = append(sizes, e.rise/e.mm)
	}
	n := len(sizes)
	return n == 0 || sizes[n-1] >= share*robust.Median(sizes, make([]float64, n))
}

// silence is the most waterings in a row at which the probe did no more than in quiet
// time.
func (s *study) silence(before []event) int {
	most, n := 0, 0
	for _, e := range before {
		if n++; e.rise > s.unit {
			n = 0
		}
		most = max(most, n)
	}
	return most
}

// notDrier says whether the first miss came from a state of the soil from which
// the probe used to answer.
func (s *study) notDrier(before, missed []event, usual float64) bool {
	first := missed[0]
	q := s.p.Quantity()
	if q != detect.WaterContent && first.level >= q.Wetness(ofTension(q, s.p.Param("moist_kpa"))) {
		return true
	}
	as := 0
	for _, e := range before {
		if e.strong && e.level <= first.level+s.p.Param("dry_share")*usual {
			as++
		}
	}
	return as >= 2
}

func millimetres(missed []event) string {
	sum, known := 0.0, true
	for _, e := range missed {
		sum += e.mm
		known = known && e.sized
	}
	if !known {
		return "of unknown depth"
	}
	return fmt.Sprintf("%.0f mm together", sum)
}

// size prints a rise in wetness as people read it.
func (s *study) size(rise float64) string {
	if s.p.Quantity() == detect.WaterContent {
		return fmt.Sprintf("%.3f m3/m3", rise)
	}
	return fmt.Sprintf("%.0f %% of the %s", 100*(1-math.Exp(-rise)), s.p.Quantity().Unit())
}

// unitOf is the unit of differences in wetness.
func unitOf(q detect.Quantity) string {
	if q == detect.WaterContent {
		return "m3/m3"
	}
	return "ln(" + q.Unit() + ")"
}
