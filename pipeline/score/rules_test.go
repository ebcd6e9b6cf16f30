package score

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"probeward/detectors/detect"
	"probeward/schemas"
)

const day = detect.Day

// week is a window of the days 60 to 67.
var week = detect.Span{Start: 60 * day, End: 67 * day}

func still(start float64) detect.Span {
	return detect.Span{Start: int64(start * float64(day)), End: math.MaxInt64}
}

func days(start, end float64) detect.Span {
	return detect.Span{Start: int64(start * float64(day)), End: int64(end * float64(day))}
}

// One probe p at logger L in zone Z, its healthy neighbour q, one fault and one
// finding: what each pair counts as.
func TestRules(t *testing.T) {
	type outcome struct{ caught, named, alarms, beside int }
	probe, logger, zone := schemas.SubjectProbe, schemas.SubjectLogger, schemas.SubjectZone
	for name, c := range map[string]struct {
		fault   Fault
		finding Finding
		main    string
		want    outcome
	}{
		"as it is": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "p", Fault: "drift", Span: still(62)}, "drift", outcome{1, 1, 0, 0}},
		"right, but another one is the main fault": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "p", Fault: "drift", Span: still(62)}, "noise", outcome{1, 0, 0, 0}},
		"another name": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "p", Fault: "noise", Span: still(62)}, "noise", outcome{1, 0, 0, 1}},
		"main fault without its finding": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "p", Fault: "noise", Span: still(62)}, "drift", outcome{1, 0, 0, 1}},
		"the neighbour": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "q", Fault: "drift", Span: still(62)}, "", outcome{0, 0, 1, 0}},
		"two days early": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "p", Fault: "drift", Span: still(60.01)}, "drift", outcome{1, 1, 0, 0}},
		"earlier": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "p", Fault: "drift", Span: still(59.9)}, "drift", outcome{0, 0, 1, 0}},
		"an old fault, a tenth of its age early": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(27)},
			Finding{Subject: probe, Name: "p", Fault: "drift", Span: still(23.1)}, "drift", outcome{1, 1, 0, 0}},
		"over before the fault": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(64)},
			Finding{Subject: probe, Name: "p", Fault: "drift", Span: days(63, 63.5)}, "drift", outcome{0, 0, 1, 0}},
		"after it was mended": {Fault{Subject: probe, Name: "p", Fault: "open_circuit", Span: days(58, 62)},
			Finding{Subject: probe, Name: "p", Fault: "open_circuit", Span: still(62.5)}, "open_circuit", outcome{0, 0, 1, 0}},
		"over before the window": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(50)},
			Finding{Subject: probe, Name: "p", Fault: "drift", Span: days(50, 59)}, "", outcome{0, 0, 0, 0}},
		"they meet, but before the window": {Fault{Subject: probe, Name: "p", Fault: "gap", Span: days(55, 61)},
			Finding{Subject: probe, Name: "p", Fault: "gap", Span: days(55, 59)}, "", outcome{0, 0, 0, 0}},
		"masked": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "p", Fault: "drift", Span: still(62), MaskedBy: "gap of p"}, "", outcome{0, 0, 0, 0}},
		"masked, on the neighbour": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "q", Fault: "drift", Span: still(62), MaskedBy: "gap of q"}, "", outcome{0, 0, 0, 0}},
		"the logger's finding touches the probe": {Fault{Subject: probe, Name: "p", Fault: "gap", Span: still(62)},
			Finding{Subject: logger, Name: "L", Fault: "logger_silent", Span: still(62)}, "", outcome{1, 0, 1, 0}},
		"another logger's does not": {Fault{Subject: probe, Name: "p", Fault: "gap", Span: still(62)},
			Finding{Subject: logger, Name: "M", Fault: "logger_silent", Span: still(62)}, "", outcome{0, 0, 1, 0}},
		"the zone's does not": {Fault{Subject: probe, Name: "p", Fault: "missing_irrigation_response", Span: still(62)},
			Finding{Subject: zone, Name: "Z", Fault: "irrigation_failure", Span: still(62)}, "", outcome{0, 0, 1, 0}},
		"a probe's finding is not its logger's": {Fault{Subject: logger, Name: "L", Fault: "logger_power", Span: still(62)},
			Finding{Subject: probe, Name: "p", Fault: "cable_damage", Span: still(62)}, "cable_damage", outcome{0, 0, 0, 1}},
		"the zone's answer comes after its water": {Fault{Subject: zone, Name: "Z", Fault: "unlogged_water", Span: days(63, 63.25)},
			Finding{Subject: zone, Name: "Z", Fault: "unlogged_water", Span: days(63.5, 64)}, "", outcome{1, 1, 0, 0}},
		"but not days after": {Fault{Subject: zone, Name: "Z", Fault: "unlogged_water", Span: days(63, 63.25)},
			Finding{Subject: zone, Name: "Z", Fault: "unlogged_water", Span: days(65, 65.5)}, "", outcome{0, 0, 1, 0}},
		"settling of a new probe": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "new", Fault: "settling", Span: still(62)}, "", outcome{0, 0, 0, 0}},
		"settling of an old one": {Fault{Subject: probe, Name: "p", Fault: "drift", Span: still(62)},
			Finding{Subject: probe, Name: "q", Fault: "settling", Span: still(62)}, "", outcome{0, 0, 1, 0}},
	} {
		t.Run(name, func(t *testing.T) {
			c.fault.Visible = true
			truth := &Truth{Faults: []Fault{c.fault}, Healthy: map[string]bool{"p": c.fault.Subject == zone, "q": true, "new": true},
				Class: map[string]string{"p": "none", "q": "none", "new": "new_no_history"}}
			run := &Run{Window: week, Findings: []Finding{c.finding}, Probes: map[string]*Probe{
				"p":   {Name: "p", Logger: "L", Zone: "Z", Received: 1, MainFault: c.main, Faults: []string{"logger_silent"}},
				"q":   {Name: "q", Logger: "M", Zone: "Z", Received: 1},
				"new": {Name: "new", Logger: "M", Zone: "Z", Received: 1}}}
			tally, _ := Score(truth, run)
			s := tally.Totals()
			if got := (outcome{s.Caught.N, s.Named.N, s.Alarms, tally.Beside}); got != c.want {
				t.Errorf("caught, named, false alarms, beside: %v, want %v", got, c.want)
			}
		})
	}
}

// A cause is counted once where a logger's or a zone's probes share it, and a logger
// or a zone is of the class of most of its probes.
func TestCausesAndClasses(t *testing.T) {
	truth := &Truth{Healthy: map[string]bool{"a": true, "b": true, "c": true, "d": true, "e": true},
		Class: map[string]string{"a": "event_logged_early", "b": "event_logged_early", "c": "event_logged_early", "d": "none", "e": "hot_cable"}}
	run := &Run{Window: week, Probes: map[string]*Probe{
		"a": {Name: "a", Logger: "L", Zone: "Z", Received: 1}, "b": {Name: "b", Logger: "M", Zone: "Z", Received: 1},
		"c": {Name: "c", Logger: "M", Zone: "Z", Received: 1}, "d": {Name: "d", Logger: "N", Zone: "Y", Received: 1}, "e": {Name: "e", Logger: "N", Zone: "Y", Received: 1}}}
	cry := func(subject schemas.Subject, name, fault string) {
		run.Findings = append(run.Findings, Finding{Subject: subject, Name: name, Fault: fault, Span: still(62), Confidence: 0.5})
	}
	cry(schemas.SubjectProbe, "a", "missing_irrigation_response")
	cry(schemas.SubjectProbe, "b", "missing_irrigation_response")
	cry(schemas.SubjectProbe, "c", "missing_irrigation_response")
	cry(schemas.SubjectProbe, "c", "noise")
	cry(schemas.SubjectProbe, "d", "drift")
	cry(schemas.SubjectProbe, "e", "drift")
	cry(schemas.SubjectZone, "Z", "irrigation_failure")
	cry(schemas.SubjectZone, "Y", "irrigation_failure")
	cry(schemas.SubjectLogger, "N", "clock_error")
	tally, _ := Score(truth, run)
	for class, want := range map[string][2]int{"event_logged_early": {4, 2}, "none": {1, 1}, "hot_cable": {1, 0}, "zone, event_logged_early": {1, 1}, classZone: {1, 1}, classLogger: {1, 1}} {
		if got := [2]int{tally.Alarms[class], tally.Causes[class]}; got != want {
			t.Errorf("%s: %d alarms of %d causes, want %v", class, got[0], got[1], want)
		}
	}
	if s := tally.Totals(); s.Alarms != 9 || s.Causes != 6 {
		t.Errorf("%d alarms of %d causes, want 9 of 6", s.Alarms, s.Causes)
	}
}

// A fault that is over has no main one in health.csv: its finding names it.
func TestNamedWithoutAMainFault(t *testing.T) {
	for said, want := range map[string]int{"gap": 1, "noise": 0} {
		truth := &Truth{Healthy: map[string]bool{}, Faults: []Fault{{Subject: schemas.SubjectProbe, Name: "p", Fault: "gap", Span: days(62, 63), Visible: true}}}
		run := &Run{Window: week, Probes: map[string]*Probe{"p": {Name: "p"}},
			Findings: []Finding{{Subject: schemas.SubjectProbe, Name: "p", Fault: said, Span: days(62, 63), Confidence: 0.9}}}
		tally, _ := Score(truth, run)
		if s := tally.Totals(); s.Caught.N != 1 || s.Named.N != want {
			t.Errorf("said %s: caught %d, named %d", said, s.Caught.N, s.Named.N)
		}
	}
}

func TestInvisibleFaultsAreApart(t *testing.T) {
	truth := &Truth{Faults: []Fault{{Subject: schemas.SubjectProbe, Name: "p", Fault: "drift", Span: still(62)}}, Healthy: map[string]bool{}}
	for said, want := range map[string][3]int{"": {1, 0, 0}, "drift": {0, 1, 0}, "noise": {0, 0, 1}} {
		run := &Run{Window: week, Probes: map[string]*Probe{"p": {Name: "p", MainFault: said}}}
		if said != "" {
			run.Findings = []Finding{{Subject: schemas.SubjectProbe, Name: "p", Fault: said, Span: still(62), Confidence: 0.9}}
		}
		tally, _ := Score(truth, run)
		f := tally.Faults["drift/"]
		if got := [3]int{f.Quiet, f.TrueName, f.AnotherName}; got != want || f.Visible != 0 {
			t.Errorf("said %q: quiet, true name, other name %v, want %v; visible %d", said, got, want, f.Visible)
		}
		if s := tally.Totals(); said == "noise" && (s.Brier < 0.8 || s.BrierAtFault < 0.8) {
			t.Errorf("a sure finding of another name where nothing shows has a Brier score of %v", s.Brier)
		}
	}
}

func TestReadingsBeforeAndAfterAFault(t *testing.T) {
	truth := &Truth{Healthy: map[string]bool{"q": true}, Bad: map[string][]int64{"p": {63 * day, 64 * day}},
		Faults: []Fault{{Subject: schemas.SubjectProbe, Name: "p", Fault: "open_circuit", Span: days(63, 65), Visible: true}}}
	every := Readings{}
	for d := int64(59); d < 67; d++ { // day 59 is before the window
		every.Time = append(every.Time, d*day, d*day+day/2)
	}
	run := &Run{Window: week, Probes: map[string]*Probe{"p": {Name: "p"}, "q": {Name: "q"}},
		Readings:   map[string]Readings{"p": every, "q": every},
		Exclusions: map[string][]detect.Span{"p": {days(59, 60.2), days(62.5, 64), days(66, 66.1)}, "q": {days(61, 61.5)}}}
	tally, _ := Score(truth, run)
	if got, want := tally.Bad[Electrical], (Share{1, 2}); got != want {
		t.Errorf("bad %v, want %v: day 64 was let through, and half past 63 and 64 happen to be right", got, want)
	}
	for class, want := range map[string]Share{goodHealthy: {1, 14}, goodBefore: {2, 6}, goodAfter: {1, 4}} {
		if got := tally.Good[class]; got != want {
			t.Errorf("good, %s: %v, want %v", class, got, want)
		}
	}
}

func TestDiffers(t *testing.T) {
	for _, c := range []struct {
		a, b float64
		unit string
		want bool
	}{
		{540, 500, "ohm", false}, {560, 500, "ohm", true}, {10400, 10000, "ohm", false}, {10600, 10000, "ohm", true},
		{9, 8, "kPa", false}, {9.5, 8, "kPa", true}, {104, 100, "kPa", false}, {106, 100, "kPa", true},
		{0.21, 0.2, "m3/m3", false}, {0.215, 0.2, "m3/m3", true}, {21, 20, "%", false}, {21.5, 20, "%", true},
	} {
		if got := Differs(c.a, c.b, c.unit); got != c.want {
			t.Errorf("%v and %v %s differ: %v", c.a, c.b, c.unit, got)
		}
	}
}

func TestBands(t *testing.T) {
	for confidence, want := range map[float64]int{0: 0, 0.39: 0, 0.4: 1, 0.6: 2, 0.79: 2, 0.8: 3, 0.9: 4, 1: 4} {
		if got := bandOf(confidence); got != want {
			t.Errorf("%v is in band %d, want %d", confidence, got, want)
		}
	}
}

// Brier (1950): the mean of (confidence - outcome)^2. Worked by hand: 0.9 right and
// 0.6 wrong give (0.01 + 0.36) / 2.
func TestBrier(t *testing.T) {
	w := &work{tally: newTally()}
	w.outcome(0.9, true, true)
	w.outcome(0.6, true, false)
	s := w.tally.Totals()
	if math.Abs(s.Brier-0.185) > 1e-12 || math.Abs(s.BrierAtFault-(0.01+0.16)/2) > 1e-12 {
		t.Errorf("Brier %v, at fault %v; want 0.185 and 0.085", s.Brier, s.BrierAtFault)
	}
}

func TestTablesAreReadOrRefused(t *testing.T) {
	faults := "subject,name,probe,fault,form,start,end,strength,visible,why\n" +
		"probe,p,p,gap,blank,2026-06-01T00:00:00Z,2026-06-02T00:00:00Z,1,1,\"a, b\"\nzone,Z,,unlogged_water,valve_open,2026-06-01T00:00:00Z,,9,0,none\n"
	probes := "probe,healthy,look_alike\np,0,none\nq,1,whole_kpa\n"
	twins := "time,probe,faulty,clean,unit\n2026-06-01T00:15:00Z,p,,20,kPa\n2026-06-01T00:30:00Z,p,90,20,kPa\n2026-06-01T00:45:00Z,p,20.5,20,kPa\n"
	write := func(faults, probes, twins string) string {
		dir := t.TempDir()
		for name, text := range map[string]string{"faults.csv": faults, "probes.csv": probes, "counterfactual/L.csv": twins} {
			path := filepath.Join(dir, name)
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		return dir
	}
	truth, err := LoadTruth(write(faults, probes, twins))
	if err != nil {
		t.Fatal(err)
	}
	if len(truth.Faults) != 2 || truth.Faults[0].Why != "a, b" || !truth.Faults[0].Visible || truth.Faults[1].Visible || truth.Faults[1].End != math.MaxInt64 {
		t.Errorf("faults %+v", truth.Faults)
	}
	if truth.Healthy["p"] || !truth.Healthy["q"] || truth.Class["q"] != "whole_kpa" || len(truth.Bad["p"]) != 1 {
		t.Errorf("healthy %v, classes %v, bad %v", truth.Healthy, truth.Class, truth.Bad)
	}
	for name, dir := range map[string]string{
		"probes.csv:":                     write(faults, "probe,healthy,look_alike\np,0\n", twins),
		"no column \"healthy\"":           write(faults, "probe,look_alike\np,none\n", twins),
		"faults.csv:2":                    write(strings.Replace(faults, "2026-06-01T", "June 1 ", 1), probes, twins),
		"parsing \"wet\": invalid syntax": write(faults, probes, strings.Replace(twins, "90", "wet", 1)),
	} {
		if _, err := LoadTruth(dir); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("want an error with %q, got %v", name, err)
		}
	}
	if _, err := LoadRun(t.TempDir()); err == nil || !strings.Contains(err.Error(), "health.csv") {
		t.Errorf("a folder without tables: %v", err)
	}
}
