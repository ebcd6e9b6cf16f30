package clockerror

import (
	_ "embed"
	"slices"

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector of clocks that jump and stamps that cannot be.
var Detector = &detect.Detector{
	Name:  "clock_error",
	Doc:   doc,
	Scope: detect.PerLogger,
	Uses:  detect.NeedClock,
	Params: []detect.Param{
		{Name: "outside", Default: 180, Unit: "d", Why: "exports of one logger may be a season staler or fresher than the rest", Source: "common practice, no source"},
		{Name: "early_years", Default: 3, Unit: "years", Why: "a pilot logger runs a season or two before the farm", Source: "common practice, no source"},
		{Name: "min_loggers", Default: 3, Unit: "loggers", Why: "of two that disagree nobody knows which is right", Source: "derived: a majority of three"},
		{Name: "sure_leap", Default: 8766, Unit: "h", Why: "a year: loggers sleep through winters, and then go on", Source: "common practice, no source"},
		{Name: "written_twice", Default: 0.25, Unit: "share of the hours", Why: "a clock set back writes its hours again with new values; calm soil repeats some of them", Source: "common practice, no source"},
		{Name: "clock_change", Default: 1, Unit: "h", Why: "autumn has an hour twice", Source: "the civil calendar"},
		{Name: "grid", Default: 0.1, Unit: "share of a step", Why: "stamps sent again stand exactly where they stood; a clock that was set stands elsewhere", Source: "common practice, no source"},
		{Name: "zone_hours", Default: 14, Unit: "h", Why: "the longest step that a time zone or a mixed-up half of the day makes", Source: "the zones of civil time, UTC-12 to UTC+14"},
		{Name: "missing_share", Default: 0.8, Unit: "share of the length", Why: "so much true time must be missing to be a witness", Source: "common practice, no source"},
		{Name: "least_rerun", Default: 24, Unit: "h", Why: "a shorter block seen before is one sent again, whatever is missing", Source: "common practice, no source"},
		{Name: "lag_least", Default: 0.5, Unit: "h", Why: "zones differ by half an hour or more, and relayed messages take seconds to minutes", Source: "the zones of civil time; common practice, no source"},
		{Name: "lag_messages", Default: 10, Unit: "messages", Why: "a few may wait equally long by chance", Source: "common practice, no source"},
		{Name: "lag_share", Default: 0.8, Unit: "share of the messages", Why: "messages that wait for a common departure wait for differently long; a clock is off for all of them", Source: "derived: a third of the messages or fewer wait equally long for a departure every third step"},
		{Name: "swing_loggers", Default: 5, Unit: "loggers", Why: "the spread of fewer says little", Source: "common practice, no source"},
		{Name: "swing_days", Default: 2, Unit: "d", Why: "one odd day is weather", Source: "common practice, no source"},
		{Name: "swing_channels", Default: 2, Unit: "channels", Why: "one thermometer or panel may be moved or shaded; a clock moves all alike", Source: "derived: two independent sensors"},
		{Name: "swing_clear", Default: 4, Unit: "standard deviations", Why: "passed by one of 16,000 by chance, and some sixty days are tried", Source: "derived from the normal distribution"},
		{Name: "swing_agree", Default: 0.25, Unit: "share of the shift", Why: "a swing is no sine, and a shifted day is cut elsewhere", Source: "common practice, no source"},
		{Name: "least_shift", Default: 0.4, Unit: "h", Why: "zones differ by half an hour or more", Source: "the zones of civil time"},
		{Name: "standing_shift", Default: 2, Unit: "h", Why: "what is the same all along may be a panel that faces east and soil in the shade", Source: "common practice, no source"},
		{Name: "whole_hour", Default: 0.15, Unit: "h", Why: "zones and summer time are off by whole hours, shade is not", Source: "the zones of civil time"},
		{Name: "drift_days", Default: 8, Unit: "d", Why: "a shorter stretch tells no drift from a step", Source: "common practice, no source"},
		{Name: "least_drift", Default: 0.2, Unit: "h", Why: "over weeks panels and thermometers go their own ways by minutes", Source: "common practice, no source"},
		{Name: "fail_shift", Default: 1, Unit: "h", Why: "nothing that is read off a probe depends on less", Source: "common practice, no source"},
	},
	Since:    "0.1.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	files, farm, loggers := p.Stamps()
	l := &look{p: p, whole: p.Period().Whole(), farm: farm, loggers: loggers}
	l.firm = float64(loggers) >= p.Param("min_loggers") && farm.Start < farm.End
	unordered := 0
	for i := range files {
		switch f := &files[i]; {
		case f.Unordered:
			unordered++
		case len(f.Segments) > 0:
			l.files = append(l.files, file{Stamps: f, bad: make([]bool, len(f.Segments))})
		}
	}
	swings := len(l.beats()) >= int(p.Param("swing_channels"))
	if files == nil && !swings {
		return detect.Unable(detect.Absent, "needs the stamps in the order written, or daily swings of %.0f channels on %.0f loggers to compare; this input has neither", p.Param("swing_channels"), p.Param("swing_loggers"))
	}
	if len(l.files) == 0 && !compared(files) && !swings {
		if unordered > 0 {
			return detect.Unable(detect.NoChance, "needs a file in the order written; %d of %d were sorted or shuffled on their way", unordered, len(files))
		}
		return detect.Unable(detect.NoChance, "needs stamps of the logger; its files hold none")
	}
	l.classify()
	l.reruns()
	l.cover()
	found := l.far()
	found = append(found, l.lags(files)...)
	swung, sure := l.swung(), len(found)
	found = append(found, besides(l.setBack(), swung)...)
	for _, e := range swung {
		// Stamps that cannot be, and two clocks side by side, say more than the day does.
		at := detect.Span{Start: e.Start, End: e.End}
		if !slices.ContainsFunc(found[:sure], func(o event) bool {
			return o.Confidence >= e.Confidence && 2*at.Overlap(detect.Span{Start: o.Start, End: o.End}).Length() >= at.Length()
		}) {
			found = append(found, e)
		}
	}
	return detect.Faulty(l.finish(found)...)
}

// look is one look at one logger's files.
type look struct {
	p       *detect.GroupPass
	whole   detect.Span
	farm    detect.Span
	loggers int
	firm    bool // the farm's span can be relied on
	files   []file
	good    []detect.Span // what good stamps cover; sorted, disjoint
}

// file is a file in the order written.
type file struct {
	*detect.Stamps
	bad []bool // by segment: its stamps cannot be
}

func (l *look) span(param string, unit int64) int64 { return int64(l.p.Param(param) * float64(unit)) }
