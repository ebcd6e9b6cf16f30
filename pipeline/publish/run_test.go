package publish

import (
	"testing"
	"time"

	"github.com/apache/arrow/go/v17/arrow/memory"

	"probeward/detectors/detect"
	"probeward/pipeline/amend"
	"probeward/pipeline/arrange"
	"probeward/pipeline/changes"
	"probeward/pipeline/config"
	"probeward/pipeline/daily"
	"probeward/pipeline/installs"
	"probeward/pipeline/judge"
	"probeward/pipeline/rank"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// run makes up a small run: three probes, of which the first is open since the
// third day.
func run(t testing.TB, out string) Input {
	t.Helper()
	const each = 700
	probes := mixed(3)
	probes[0].Zone, probes[0].Post, probes[0].DepthCM = "B2", `the "old" post, north`, detect.Some(60.0)
	parts := readings(t, probes, each, memory.DefaultAllocator)
	t.Cleanup(func() {
		for _, p := range parts {
			p.Record.Release()
		}
	})
	period := detect.Period{Lookback: start, Window: detect.Span{Start: start + detect.Day, End: start + 8*detect.Day}}
	open := judge.Finding{
		Finding: detect.Finding{Fault: "open_circuit", Start: start + 3*detect.Day, End: period.Window.End, Open: true,
			Readings: 400, Confidence: 0.98, Measured: 1.0 / 3, Threshold: 35000, Unit: "ohm", Evidence: `a "b", c`},
		Subject: schemas.SubjectProbe, Name: probes[0].Name, Probe: 0, Family: schemas.FamilyCable, Flag: schemas.FlagFail, Detector: "open_circuit",
	}
	span := detect.Span{Start: start + 3*detect.Day, End: period.Window.End}
	states := make([]judge.State, len(probes))
	for i := range states {
		states[i] = judge.State{Verdict: schemas.Fit, Main: -1, InGround: true, Logger: "L1", Port: "s1", Confidence: 0.9,
			Expected: detect.Some(672), Received: 600, Usable: 600, Last: detect.Some(period.Window.End - detect.Hour), UsableNow: true}
	}
	states[0] = judge.State{Verdict: schemas.Unfit, Main: 0, Touching: []int{0}, Faults: []string{"open_circuit"}, InGround: true,
		Logger: "L1", Port: "s1", Confidence: 0.98, Received: 600, Since: detect.Some(span.Start)}
	return Input{
		Ctx: t.Context(), Out: out, Version: "0.0.1",
		Config:   &config.Resolved{Zone: time.UTC, ZoneName: "UTC"},
		Register: &register.Register{Probes: probes, Details: make([]register.Detail, len(probes))},
		Arranged: &arrange.Result{
			Settled:    arrange.Settled{Period: period, Farm: period.Whole(), Loggers: 1, Why: "until as asked"},
			Partitions: parts,
			Files:      []read.File{{Path: "b.csv", SHA256: "00", Bytes: 9, Rows: 10, Read: 3*each + 7, Used: 3 * each, Repeated: 5, Rejected: 2, First: start, Last: start + detect.Day}},
			Rejects:    []read.Reject{{File: 0, Line: 7, LastLine: 8, Column: "s1", Why: "no number; mend it", Text: "a,\"b\"\nc\xff", Readings: 2, Probe: -1}},
			Rejected:   make([]int, len(probes)),
		},
		Judged: &judge.Result{
			Period: period, Findings: []judge.Finding{open}, States: states,
			Marks:      [][]judge.Mark{{{Span: span, Flag: schemas.FlagFail, Bits: 1, Confidence: 0.98}}, nil, {{Span: period.Whole(), Flag: schemas.FlagNotEvaluated}}},
			Exclusions: []judge.Exclusion{{Probe: 0, Span: span, Flag: schemas.FlagFail, Reasons: []string{"open_circuit"}, Confidence: 0.98}},
			Coverage:   []judge.CoverageRow{{Zone: "B2", DepthCM: detect.Some(60.0), Probes: 1, Verdicts: map[schemas.Verdict]int{schemas.Unfit: 1}, Blind: true}},
			Matrix:     []judge.Count{{Detector: "open_circuit", Subjects: 3, Found: 1, Clear: 2}},
		},
		Visits: []rank.Visit{{Name: "P07-cable", Places: []int{0}, Probes: []string{probes[0].Name}, Ports: []string{"s1"}, Depths: []string{"60"},
			Cause: "the lead is broken", Family: schemas.FamilyCable, Faults: []string{"open_circuit"}, Confidence: 0.98, Check: []string{"this", "that"},
			Bring: []string{"a meter"}, Minutes: 25, Priority: 0.01, Why: "it is blind", RunsOpen: 1}},
		StageSeconds: []Stage{{Name: "read", Seconds: 1.5}},
		Changes:      []changes.Change{{Zone: "B2", Probe: probes[0].Name, Day: start - start%detect.Day, Withdrawn: true, Hours: 24, Reasons: "open_circuit"}},
		Days: []daily.Day{{Probe: 0, Start: start - start%detect.Day, Minimum: 1.0 / 3, Mean: 20, Maximum: 40, Last: 12, Readings: 90, Excluded: 6},
			{Probe: 2, Start: start - start%detect.Day, Readings: 1}},
		Installs: []installs.Install{{Probe: 1, Accepted: true, Why: "it reports"},
			{Probe: 2, InstalledOn: detect.Some[int64](start), HoursToFirst: detect.Some(1.5), FitsKind: detect.Some(false), Why: "no, \"it\" does not"}},
		Mends: []amend.Mend{{Severity: "error", Subject: "row", Name: "probes.csv:7", Problem: "a, \"b\"", Row: `x,"y, z",`}},
	}
}
