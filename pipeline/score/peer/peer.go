package peer

import (
	"maps"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/score"
	"probeward/schemas"
)

// means says which faults each test could have meant, generously.
var means = map[string][]string{
	"gross range":    {"open_circuit", "short_circuit", "cable_damage", "out_of_range"},
	"flat line":      {"flat_line", "lost_suction", "missing_irrigation_response"},
	"spike":          {"dry_out_spike", "noise", "cable_damage", "out_of_range"},
	"rate of change": {"dry_out_spike", "noise", "cable_damage", "out_of_range", "open_circuit", "short_circuit"},
}

// tests in the order in which the first one names a probe's fault.
var tests = []struct {
	name string
	run  func(s *Setting, r score.Readings, flags []schemas.Flag)
}{
	{"gross range", func(s *Setting, r score.Readings, flags []schemas.Flag) { grossRange(s, r.Value, flags) }},
	{"flat line", func(s *Setting, r score.Readings, flags []schemas.Flag) { flatLine(s, r.Value, flags) }},
	{"spike", func(s *Setting, r score.Readings, flags []schemas.Flag) { spike(s, r.Value, flags) }},
	{"rate of change", func(s *Setting, r score.Readings, flags []schemas.Flag) { rateOfChange(s, r.Time, r.Value, flags) }},
}

// joined is how far apart two flagged readings of one finding may be.
const joined = detect.Day

// Run applies the tests to the readings that a run used. With failOnly the suspect
// flags pass.
func Run(of *score.Run, failOnly bool) *score.Run {
	r := &score.Run{Window: of.Window, Readings: of.Readings, Probes: map[string]*score.Probe{},
		Exclusions: map[string][]detect.Span{}, Means: means, Certain: true}
	var flags []schemas.Flag
	for _, name := range slices.Sorted(maps.Keys(of.Probes)) {
		from := of.Probes[name]
		p := &score.Probe{Name: name, Zone: from.Zone, Logger: from.Logger, Unit: from.Unit, Received: from.Received, Verdict: schemas.Fit}
		r.Probes[name] = p
		setting, ok := ForUnit(p.Unit)
		if !ok {
			p.Verdict = schemas.Unknown
			continue
		}
		readings := of.Readings[name]
		flags = slices.Grow(flags[:0], len(readings.Time))[:len(readings.Time)]
		worst := schemas.FlagPass
		var failed []detect.Span
		for _, test := range tests {
			test.run(&setting, readings, flags)
			found, flag := gather(test.name, name, readings.Time, flags, r.Window, failOnly)
			r.Findings = append(r.Findings, found...)
			if flag.Severity() > worst.Severity() {
				worst, p.MainFault = flag, test.name
			}
			for i, f := range flags {
				if f == schemas.FlagFail {
					failed = append(failed, detect.Span{Start: readings.Time[i], End: readings.Time[i] + 1})
				}
			}
		}
		switch worst {
		case schemas.FlagFail:
			p.Verdict = schemas.Unfit
		case schemas.FlagSuspect:
			p.Verdict = schemas.Doubtful
		}
		slices.SortFunc(failed, func(a, b detect.Span) int { return int(min(1, max(-1, a.Start-b.Start))) })
		r.Exclusions[name] = slices.Compact(failed)
	}
	return r
}

// gather makes findings of the flagged readings of the window, and gives the worst
// flag among them.
func gather(test, probe string, times []int64, flags []schemas.Flag, window detect.Span, failOnly bool) (out []score.Finding, worst schemas.Flag) {
	worst = schemas.FlagPass
	for i, t := range times {
		if !window.Holds(t) || flags[i] == schemas.FlagPass || failOnly && flags[i] != schemas.FlagFail {
			continue
		}
		if flags[i].Severity() > worst.Severity() {
			worst = flags[i]
		}
		if n := len(out); n > 0 && t-out[n-1].End < joined {
			out[n-1].End = t + 1
			continue
		}
		out = append(out, score.Finding{Subject: schemas.SubjectProbe, Name: probe, Fault: test, Span: detect.Span{Start: t, End: t + 1}})
	}
	return out, worst
}
