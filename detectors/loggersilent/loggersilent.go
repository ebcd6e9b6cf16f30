package loggersilent

import (
	_ "embed"

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector of loggers that send nothing.
var Detector = &detect.Detector{
	Name:  "logger_silent",
	Doc:   doc,
	Scope: detect.PerLogger,
	Uses:  detect.NeedBattery | detect.NeedClock,
	Params: []detect.Param{
		{Name: "grace", Default: 12, Unit: "h", Why: "restarts and failures of a network mend themselves in an evening, and records may wait for their handover; the tolerance of gap, so that no port is blamed for its logger", Source: "this project's stated tolerance"},
		{Name: "min_missed", Default: 3, Unit: "records", Why: "one or two lost records prove nothing at a slow step", Source: "common practice, no source"},
		{Name: "chance", Default: 0.001, Unit: "a period", Why: "how often losses one by one may give as long a silence", Source: "derived: 1 false alarm in 1000 scans of a logger"},
		{Name: "step_run", Default: 3, Unit: "silences", Why: "so many of one length in a row are a step, not a failure", Source: "common practice, no source"},
		{Name: "step_likeness", Default: 0.2, Unit: "share of the length", Why: "how alike they are: a step varies by its jitter, a failure by anything", Source: "common practice, no source"},
		{Name: "step_agreement", Default: 0.6, Unit: "share of the steps", Why: "records lost at random leave so many of a new step whole", Source: "derived: with a share p lost, a share 1-p of the steps is single"},
		{Name: "growth_days", Default: 7, Unit: "d", Why: "a battery that dies fails for days before", Source: "common practice, no source"},
		{Name: "battery_weeks", Default: 4, Unit: "weeks", Why: "what its battery is held against: long enough for a spell of dull weather", Source: "common practice, no source"},
		{Name: "register_grace", Default: 24, Unit: "h", Why: "the register holds days, not hours", Source: "derived from the register's resolution"},
		{Name: "long_hours", Default: 36, Unit: "h", Why: "longer than any restart, and than a day's handover that came late by half a day", Source: "common practice, no source"},
	},
	Since:    "0.1.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	if len(p.Members()) == 0 {
		return detect.Unable(detect.Absent, "needs the probes of the logger; the register puts none there")
	}
	seats := seated(p)
	if len(seats) == 0 {
		return detect.Unable(detect.NoChance, "the register puts no probe at this logger in this period; nothing is due")
	}
	l := &look{p: p, seats: seats, whole: p.Period().Whole()}
	l.quiet = []detect.Span{l.whole}
	for i := range seats {
		l.quiet = common(l.quiet, seats[i].quiet)
		l.sure = append(l.sure, seats[i].sure...)
		l.at = append(l.at, seats[i].at...)
		if c := seats[i].Cadence; c > 0 && (l.step == 0 || c < l.step) {
			l.step = c
		}
	}
	l.sure, l.at = union(l.sure), union(l.at)
	if length(l.sure) < l.p.ParamHours("grace") {
		return detect.Unable(detect.TooShort, "needs probes at the logger for %s, has them for %s by the register", detect.Length(l.p.ParamHours("grace")), detect.Length(length(l.sure)))
	}
	findings := l.findings()
	if len(findings) == 0 {
		if heard := l.heardFor(); heard < l.p.ParamHours("grace") {
			return detect.Unable(detect.TooShort, "needs %s since the logger was first heard, has %s", detect.Length(l.p.ParamHours("grace")), detect.Length(heard))
		}
	}
	return detect.Faulty(findings...)
}
