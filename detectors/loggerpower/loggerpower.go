package loggerpower

import (
	_ "embed"

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector of ports that fail together.
var Detector = &detect.Detector{
	Name:  "logger_power",
	Doc:   doc,
	Scope: detect.PerLogger,
	Uses:  detect.NeedBattery,
	Params: []detect.Param{
		{Name: "together", Default: 2, Unit: "steps", Why: "ports are read one after the other, and the first reading of a failure may be half of one", Source: "common practice, no source"},
		{Name: "set_size", Default: 3, Unit: "ports", Why: "two ports share a cable as easily as a supply", Source: "common practice, no source"},
		{Name: "pair_episodes", Default: 4, Unit: "episodes", Why: "two ports of a larger logger must fail together so often", Source: "common practice, no source"},
		{Name: "margin", Default: 0.25, Unit: "share of the limit", Why: "soil that crosses a limit with the day's heat stays nearer: 2 % a degC over 10 degC", Source: "derived from the temperature effect of granular matrix sensors, 1.8-2 % a degC"},
		{Name: "margin_kpa", Default: 1, Unit: "kPa", Why: "the same below zero, where the limit is the water that can stand above the cup and no heat moves it: the zero of a sensor wanders by so much", Source: "common practice, no source"},
		{Name: "chance", Default: 0.001, Unit: "a period", Why: "how often independent ports may coincide as much", Source: "derived: 1 false alarm in 1000 scans of a logger"},
		{Name: "link_share", Default: 0.5, Unit: "share of the excursions", Why: "most of what the rarer of two ports does must be shared", Source: "common practice, no source"},
		{Name: "most_unshared", Default: 0.5, Unit: "share of the excursions", Why: "a set of ports with so many faults of their own has another fault as well, and nothing can be said of what they share", Source: "common practice, no source"},
		{Name: "visit_hours", Default: 6, Unit: "h", Why: "a visit unplugs all ports once, and for less", Source: "common practice, no source"},
		{Name: "visit_days", Default: 7, Unit: "d", Why: "crews come no more often than every week", Source: "common practice, no source"},
		{Name: "still_hours", Default: 24, Unit: "h", Why: "what fails by the hour of the day comes back within a day", Source: "common practice, no source"},
		{Name: "still_intervals", Default: 2, Unit: "usual intervals", Why: "what keeps away longer than it ever does may be over", Source: "common practice, no source"},
	},
	Since:    "0.1.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	ports := portsOf(p)
	if len(ports) < 2 {
		return detect.Unable(detect.Absent, "needs two probes with readings at the logger, has %d", len(ports))
	}
	l := &look{p: p, ports: ports, whole: p.Period().Whole()}
	for _, port := range ports {
		l.records = max(l.records, port.member.Values)
		if c := port.member.Cadence; c > 0 && (l.step == 0 || c < l.step) {
			l.step = c
		}
		l.slowest = max(l.slowest, port.member.Cadence)
	}
	if l.step == 0 {
		return detect.Unable(detect.TooShort, "needs two readings of a probe to know the logger's step, has fewer")
	}
	l.tolerance = int64(p.Param("together") * float64(l.slowest))
	l.meet()
	var findings []detect.Finding
	for _, set := range l.sets() {
		if f, ok := l.judge(set); ok {
			findings = append(findings, f)
		}
	}
	return detect.Faulty(findings...)
}
