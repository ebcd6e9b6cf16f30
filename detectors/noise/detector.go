package noise

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds probes that scatter more than they used to.
var Detector = &detect.Detector{
	Name:         "noise",
	Doc:          manual,
	Needs:        detect.NeedWetness,
	Uses:         detect.NeedIrrigation | detect.NeedRain,
	MinReadings:  100,
	MinSpanHours: 14 * 24,
	Since:        "0.2.0",
	Params: []detect.Param{
		{Name: "min_triples", Default: 8, Unit: "second differences",
			Why: "a day at a step of two hours has ten; fewer make no median", Source: "derived"},
		{Name: "past_days", Default: 10, Unit: "d",
			Why: "ten days make a tenth of the noisiest one of them", Source: "derived"},
		{Name: "past_lag", Default: 21, Unit: "d",
			Why: "noise that grows does so for weeks, and is in the days before, too", Source: "common practice, no source"},
		{Name: "usual", Default: 0.9, Unit: "1",
			Why: "a healthy day may be as noisy as the noisiest tenth of the past", Source: "common practice, no source"},
		{Name: "ratio", Default: 2.5, Unit: "1",
			Why: "heat, rain and a drier soil raise the scatter of a healthy probe by half or twofold, not more", Source: "trials on simulated vineyards"},
		{Name: "ratio_converted", Default: 3.5, Unit: "1",
			Why: "for kPa of a block: a conversion doubles the scatter of the ohms at 10 kPa", Source: "derived from the wet branch of Allen (2000), by the 1.7 of a hot week"},
		{Name: "beyond_counts", Default: 1.75, Unit: "counts",
			Why: "rounding alone shows one, and a fixed noise at a level half way between two counts no more", Source: "derived, with a margin"},
		{Name: "filled", Default: 0.25, Unit: "share of the steps",
			Why: "of the steps of noise from one reading to the next that are above 0.3 of the largest twentieth, 0.69 are below 0.7 of it; of those over a seam of a conversion and back, none", Source: "derived from the normal distribution; by half and more"},
		{Name: "counts", Default: 1, Unit: "counts",
			Why: "rounding alone lets a reading flicker between two counts, whose second differences then are 0, 1 or 2 counts", Source: "derived: by drawing noise of up to 0.3 of a count over all places in it"},
		{Name: "days_in_row", Default: 3, Unit: "d",
			Why: "a storm or a visit passes in two", Source: "common practice, no source"},
		{Name: "turns", Default: 0.6, Unit: "share of the second differences",
			Why: "those of white noise change their sign in 0.73 of the cases, a smooth curve hardly", Source: "derived: arccos(-2/3)/pi, their correlation being -2/3; the curve, on snow melt in an open record (measured)"},
		{Name: "bears", Default: 0.05, Unit: "1",
			Why: "5 % of the ohm or kPa, 1 kPa of a tensiometer at the least, changes a decision", Source: "common practice, no source: five times the usual noise of such sensors"},
		{Name: "bears_water", Default: 0.01, Unit: "m3/m3",
			Why: "half of the accuracy that dielectric probes are sold with", Source: "common practice, no source"},
		{Name: "apart", Default: 0.7, Unit: "1",
			Why: "the middle of nine noisy readings is off itself by 0.4 of their scatter", Source: "derived from the normal distribution"},
		{Name: "event_hours", Default: 6, Unit: "h",
			Why: "the steepest part of an answer comes within hours of its water, and a zone watered daily must leave hours to judge", Source: "common practice, no source"},
	},
	Run: run,
}

func run(p *detect.Pass) detect.Outcome {
	l := newLook(p)
	days := l.days()
	window := p.Period().Window
	compared, inWindow := 0, false
	for i := range days {
		if days[i].known {
			compared++
			inWindow = inWindow || days[i].end > window.Start
		}
	}
	if compared == 0 {
		return detect.Unable(detect.TooShort, "needs %.0f days of the same cadence with scatter before a day to hold it against, had %d days in all", p.Param("past_days"), len(days))
	}
	var findings []detect.Finding
	for i := 0; i < len(days); {
		j, ok := noisy(days, i, int(p.Param("days_in_row")), p.Param("turns"))
		if !ok {
			i++
			continue
		}
		f := finding(p, days, i, j)
		f.Parts = l.marks(days[i:j+1], f.End)
		findings = append(findings, f)
		i = j + 1
	}
	if len(findings) == 0 && !inWindow {
		return detect.Unable(detect.NoChance, "no day of the window can be held against the days before: too few readings, another cadence, or a constant")
	}
	return detect.Faulty(findings...)
}
