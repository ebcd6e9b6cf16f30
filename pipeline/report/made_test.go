package report

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/memory"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
	"probeward/pipeline/corroborate"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
	"probeward/pipeline/rank"
	"probeward/pipeline/read"
	"probeward/schemas"
)

// farm makes an invented farm of so many probes, nine weeks at 15 minutes, in zones
// of twelve probes at two depths. Each probe has noise, daily waves and waterings of
// its own; each of the first findings probes has one finding.
func farm(probes, findings int) Input {
	start := time.Date(2026, 4, 6, 7, 0, 0, 0, time.UTC).UnixMicro()
	period := detect.Period{Lookback: start, Window: detect.Span{Start: start + 56*detect.Day, End: start + 63*detect.Day}}
	dice := rand.New(rand.NewPCG(9, 9))
	in := Input{Judged: &judge.Result{Period: period}, Arranged: &arrange.Result{}, Irrigation: fieldlog.Irrigation{}, Zone: time.FixedZone("UTC-7", -7*3600)}
	in.Arranged.Period = period
	stamps, values := array.NewTimestampBuilder(memory.DefaultAllocator, arrow.FixedWidthTypes.Timestamp_us.(*arrow.TimestampType)), array.NewFloat64Builder(memory.DefaultAllocator)
	none, codes := array.NewFloat32Builder(memory.DefaultAllocator), array.NewUint8Builder(memory.DefaultAllocator)
	offsets, read64 := []int{0}, int64(0)
	d := &detect.Detector{Name: "noise", Scope: detect.PerProbe}
	g := &detect.Detector{Name: "logger_silent", Scope: detect.PerLogger}
	in.ProbeDetectors, in.GroupDetectors = []*detect.Detector{d}, []*detect.Detector{g}
	for p := range probes {
		zone := fmt.Sprintf("Z%02d", p/12)
		name := fmt.Sprintf("P%04d", p)
		kind, quantity, unit := detect.GranularMatrix, detect.Tension, "kPa"
		in.Probes = append(in.Probes, detect.Probe{Index: p, Name: name, Farm: "Made Up", Block: "North", Zone: zone, Post: "post " + name, Kind: kind, Unit: unit, Quantity: quantity, Scale: 1,
			DepthCM: detect.Some(float64(30 + 30*(p%2)))})
		level := 30.0
		for i := range int64(63 * 96) {
			level = math.Max(8, level*1.0015)
			if level > 90 {
				level = 12
			}
			v := level + 2*math.Sin(float64(i)/96*2*math.Pi) + dice.NormFloat64()*1.5
			if dice.IntN(400) == 0 {
				continue
			}
			stamps.Append(arrow.Timestamp(start + i*15*detect.Minute))
			values.Append(math.Round(v*10) / 10)
			none.AppendNull()
			codes.Append(0)
			read64++
		}
		offsets = append(offsets, int(read64))
		st := judge.State{Verdict: schemas.Fit, Main: -1, Received: 670, Usable: 670, Expected: detect.Some(672), Last: detect.Some(period.Window.End - detect.Hour), UsableNow: true, InGround: true, Confidence: 0.9}
		report := detect.Report{Outcomes: []detect.Outcome{detect.Healthy()}, Summary: detect.Summary{Cadence: 15 * detect.Minute}}
		if p%5 == 4 {
			report.Outcomes[0] = detect.Unable(detect.TooShort, "needs %d readings, had %d", 48, p)
		}
		if p < findings {
			s := period.Window.Start + detect.Day
			f := detect.Finding{Fault: "noise", Start: s, End: period.Window.End, Open: true, Readings: 40, Confidence: 0.8, Measured: 3.2, Threshold: 2, Unit: "1",
				Evidence: "the scatter since " + detect.Stamp(s) + " is 3.2 times that of the weeks before"}
			st.Main, st.Verdict = len(in.Judged.Findings), schemas.Doubtful
			st.Since = detect.Some(s)
			in.Judged.Findings = append(in.Judged.Findings, judge.Finding{Finding: f, Subject: schemas.SubjectProbe, Name: name, Probe: p, Family: schemas.FamilyProbe, Flag: schemas.FlagSuspect, Detector: "noise"})
			for k := range int64(6) {
				in.Judged.Exclusions = append(in.Judged.Exclusions, judge.Exclusion{Probe: p, Span: detect.Span{Start: s + k*detect.Day, End: s + k*detect.Day + 5*detect.Hour}, Flag: schemas.FlagFail, Reasons: []string{"noise"}, Confidence: 0.8})
			}
			report.Outcomes[0] = detect.Faulty(f)
		}
		in.Judged.States = append(in.Judged.States, st)
		in.Reports = append(in.Reports, report)
		if p%12 == 0 {
			for k := range int64(12) {
				s := start + k*5*detect.Day
				in.Irrigation[zone] = append(in.Irrigation[zone], detect.Water{Span: detect.Span{Start: s, End: s + 6*detect.Hour}, MM: detect.Some(10.0)})
			}
			for depth := range 2 {
				row := judge.CoverageRow{Farm: "Made Up", Zone: zone, Block: "North", DepthCM: detect.Some(float64(30 + 30*depth)), Verdicts: map[schemas.Verdict]int{}}
				for m := p + depth; m < min(p+12, probes); m += 2 {
					row.Members = append(row.Members, m)
				}
				row.Probes = len(row.Members)
				in.Judged.Coverage = append(in.Judged.Coverage, row)
			}
		}
	}
	in.Judged.Matrix = []judge.Count{{Detector: "noise", Subjects: probes, Found: findings, Clear: probes - findings}}
	nothing := none.NewArray()
	record := array.NewRecord(arrange.Arranged, []arrow.Array{stamps.NewArray(), values.NewArray(), nothing, nothing, codes.NewArray()}, read64)
	in.Arranged.Partitions = []*arrange.Partition{{First: 0, Offsets: offsets, Record: record}}
	in.Arranged.Files = []read.File{{Path: "a.csv", Read: read64 + 12, Used: read64, Repeated: 7, Rejected: 5}}
	in.Rain = []detect.Water{{Span: detect.Span{Start: start + 20*detect.Day, End: start + 20*detect.Day + detect.Hour}, MM: detect.Some(14.0)}}
	in.Groups = []corroborate.Verdict{{Group: detect.Group{Scope: detect.PerLogger, Name: "L1", Members: []detect.Summary{{Probe: in.Probes[0]}}}, Outcomes: []detect.Outcome{detect.Healthy()}}}
	for i := range min(3, findings) {
		in.Visits = append(in.Visits, rank.Visit{Name: "visit " + in.Probes[i].Name, Places: []int{i}, Probes: []string{in.Probes[i].Name}, Findings: []int{i}, Cause: "it scatters", Why: "one probe", Zones: []string{in.Probes[i].Zone}, Minutes: 20})
	}
	return in
}

// last is a run before, in which every probe was fit and one more visit was open.
func last(in Input) *previous.Run {
	p := in.Judged.Period
	p.Window.Start, p.Window.End = p.Window.Start-7*detect.Day, p.Window.End-7*detect.Day
	return &previous.Run{Period: p, Visits: map[string]previous.Visit{"gone": {}}}
}
