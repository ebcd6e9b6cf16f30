package crew

import (
	"testing"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/rank"
	"probeward/pipeline/register"
	"probeward/schemas"
)

const windowEnd = 1_780_902_000_000_000 // 2026-06-08T07:00Z, midnight in the zone below

var farmZone = time.FixedZone("Farm/Time", -7*3600)

// spiteful is a name that breaks what does not escape.
const spiteful = `<b>&"`

// smallRound is three visits: a cable at a post with a spiteful probe, a silent logger,
// and a zone without coordinates.
func smallRound() Input {
	in := Input{Title: "2026-W23", Window: detect.Span{Start: windowEnd - 7*detect.Day, End: windowEnd}, Zone: farmZone, Judged: &judge.Result{}}
	add := func(name, logger, port, post string, depth float64, kind detect.Kind, lat, lon float64) {
		in.Probes = append(in.Probes, detect.Probe{Index: len(in.Probes), Name: name, Farm: "Home", Block: "Long Bench", Zone: "B2", Post: post, Kind: kind, DepthCM: detect.Some(depth)})
		in.Details = append(in.Details, register.Detail{Latitude: detect.Some(lat), Longitude: detect.Some(lon), Row: "12", Tag: "red 7"})
		in.Judged.States = append(in.Judged.States, judge.State{Verdict: schemas.Unfit, Logger: logger, Port: port, InGround: true})
	}
	add(spiteful, "L7", "s1", "P07", 30, detect.GranularMatrix, 41.37, -119.11)
	add("P07-60", "L7", "s2", "P07", 60, detect.Tensiometer, 41.37, -119.11)
	add("P08-30", "L8", "s1", "P08", 30, detect.GranularMatrix, 41.371, -119.112)
	find := func(fault string, probe int, probes []int, name string, confidence float64) int {
		row, _ := schemas.FaultNamed(fault)
		f := judge.Finding{Subject: row.Subject, Name: name, Probe: probe, Family: row.Family}
		f.Fault, f.Confidence, f.Probes, f.Start, f.End, f.Open = fault, confidence, probes, windowEnd-3*detect.Day, windowEnd, true
		f.Evidence = "read 199999 ohm for 3 days"
		in.Judged.Findings = append(in.Judged.Findings, f)
		return len(in.Judged.Findings) - 1
	}
	work := func(faults ...string) (check, bring []string) {
		for _, f := range faults {
			w, _ := rank.WorkFor(f)
			check, bring = append(check, w.Check...), append(bring, w.Bring...)
		}
		return check, bring
	}
	open := find("open_circuit", 0, nil, spiteful, 0.97)
	flat := find("flat_line", 1, nil, "P07-60", 0.6)
	silent := find("logger_silent", -1, []int{2}, "L8", 0.9)
	dry := find("irrigation_failure", -1, []int{0, 1, 2}, "B2", 0.8)
	check, bring := work("open_circuit", "flat_line")
	in.Visits = append(in.Visits, rank.Visit{
		Name: "P07-cable", Farm: "Home", Block: "Long Bench", Zones: []string{"B2"}, Loggers: []string{"L7"}, Post: "P07", Tag: "red 7", Row: "12",
		Latitude: detect.Some(41.37), Longitude: detect.Some(-119.11), Places: []int{0, 1}, Probes: []string{spiteful, "P07-60"}, Ports: []string{"s1", "s2"},
		Depths: []string{"30", "60"}, Cause: "the lead is broken or unplugged (" + spiteful + " on s1)", Family: schemas.FamilyCable,
		Faults: []string{"open_circuit", "flat_line"}, Findings: []int{open, flat}, Confidence: 0.97, LastReading: detect.Some[int64](windowEnd - detect.Hour),
		Check: check, Bring: unique(bring), Minutes: 40, Priority: 0.02, Why: "zone B2 is blind at 30 cm; 40 min of work",
		OpenSince: detect.Some[int64](windowEnd - 3*detect.Day), RunsOpen: 2, RouteOrder: detect.Some(2),
	})
	check, bring = work("logger_silent")
	in.Visits = append(in.Visits, rank.Visit{
		Name: "P08-logger", Farm: "Home", Block: "Long Bench", Zones: []string{"B2"}, Loggers: []string{"L8"}, Post: "P08", Tag: "=red 8", Row: "14",
		Latitude: detect.Some(41.371), Longitude: detect.Some(-119.112), Places: []int{2}, Probes: []string{"P08-30"}, Ports: []string{"s1"}, Depths: []string{"30"},
		Cause: "the logger sends nothing from any port (L8)", Family: schemas.FamilyLogger, Faults: []string{"logger_silent"}, Findings: []int{silent},
		Confidence: 0.9, Check: check, Bring: bring, Minutes: 30, Priority: 0.01, Why: "30 min of work", RunsOpen: 1, RouteOrder: detect.Some(1),
	})
	check, bring = work("irrigation_failure")
	in.Visits = append(in.Visits, rank.Visit{
		Name: "B2-water", Farm: "Home", Block: "Long Bench", Zones: []string{"B2"}, Loggers: []string{"L7", "L8"}, Places: []int{0, 1, 2},
		Probes: []string{spiteful, "P07-60", "P08-30"}, Ports: []string{"s1", "s2", "s1"}, Depths: []string{"30", "60", "30"},
		Cause: "the zone's probes all miss a watering that was logged (B2)", Family: schemas.FamilyWater, Faults: []string{"irrigation_failure"},
		Findings: []int{dry}, Confidence: 0.8, Check: check, Bring: bring, Minutes: 30, Priority: 0.005, Why: "30 min of work", RunsOpen: 1,
	})
	in.Judged.Overrides = []judge.Applied{{Override: judge.Override{Probe: 1, Action: judge.Accept, Why: "read by hand & fine"}, Ends: detect.Some[int64](windowEnd + 7*detect.Day)}}
	in.Remarks = []Remark{{Visit: "P07-cable", Text: "last visit: nothing wrong was found"}, {Text: "two crews share the truck"}}
	return in
}

func unique(list []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, s := range list {
		if !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	return out
}

// file makes one file of a round.
func file(t *testing.T, in Input, name string) []byte {
	t.Helper()
	files, err := Files(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if f.Name == name {
			return f.Bytes
		}
	}
	t.Fatalf("no file %s", name)
	return nil
}
