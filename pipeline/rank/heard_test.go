package rank

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/pipeline/feedback"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// hear gives the farm what some rows of visits say. The visits were some days before
// the window's end.
func (f *farm) hear(t *testing.T, before *previous.Run, rows ...fieldlog.Visit) {
	t.Helper()
	text := "probe,farm,logger,port,post,zone,depth_cm,kind,unit\n"
	for i := range f.in.Probes {
		p, s := &f.in.Probes[i], &f.in.Judged.States[i]
		text += strings.Join([]string{p.Name, p.Farm, s.Logger, s.Port, p.Post, p.Zone, depthText(p), "granular_matrix", "ohm"}, ",") + "\n"
	}
	path := filepath.Join(t.TempDir(), "probes.csv")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	reg, err := register.Load(path, "", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	f.in.Feedback = feedback.New(feedback.Input{File: "visits.csv", Rows: rows, Register: reg, Before: before, Period: f.in.Period})
}

func (f *farm) row(daysAgo float64, probe int, found string, outcome fieldlog.Outcome) fieldlog.Visit {
	return fieldlog.Visit{Visit: "P07-cable", VisitedOn: f.in.Period.Window.End - int64(daysAgo*float64(detect.Day)) + detect.Minute,
		Probe: f.in.Probes[probe].Name, Found: found, Outcome: outcome}
}

func TestNothingWrongOnceLowersAndTwiceWaits(t *testing.T) {
	f := newFarm()
	p := f.post(2, "P07", "L7", "B2")
	f.find("open_circuit", 0.95, 20, p[0])
	f.find("open_circuit", 0.95, 20, p[1])
	before := f.visits()[0]
	f.hear(t, nil, f.row(6, p[0], "nothing_wrong", fieldlog.Left))
	once, quiet := Queue(f.in)
	if len(once) != 1 || len(once[0].Probes) != 2 || len(quiet) != 0 || once[0].Priority >= before.Priority {
		t.Errorf("once: %+v, quiet %+v", once, quiet)
	}
	if !strings.Contains(once[0].Why, "; nothing wrong found there on ") {
		t.Errorf("why %q", once[0].Why)
	}
	f.hear(t, nil, f.row(6, p[0], "nothing_wrong", fieldlog.Left), f.row(13, p[0], "nothing_wrong", fieldlog.Left))
	twice, quiet := Queue(f.in)
	if len(twice) != 1 || len(twice[0].Probes) != 1 || twice[0].Probes[0] != "P07-2" {
		t.Errorf("twice: %v", named(twice))
	}
	if len(quiet) != 1 || quiet[0].Name != "P07-1" || quiet[0].Visits != 2 || !strings.Contains(quiet[0].Why, "2 visits found nothing wrong") {
		t.Errorf("quiet %+v", quiet)
	}
	if f.in.Judged.Findings[0].Confidence != 0.95 {
		t.Error("the finding itself was changed")
	}
}

func TestWhatWasLeftOrNotReachedStaysAndSaysSo(t *testing.T) {
	for words, row := range map[string]func(*farm, int) fieldlog.Visit{
		"could not be reached on ": func(f *farm, p int) fieldlog.Visit { return f.row(6, p, "not_seen", fieldlog.CouldNotReach) },
		"open circuit seen and left on ": func(f *farm, p int) fieldlog.Visit {
			v := f.row(6, p, "open_circuit", fieldlog.Left)
			v.Note = "no cable on the truck"
			return v
		},
	} {
		f := newFarm()
		p := f.post(1, "P07", "L7", "B2")
		f.find("open_circuit", 0.95, 20, p[0])
		f.hear(t, nil, row(f, p[0]))
		got := f.visits()
		if len(got) != 1 || !strings.Contains(got[0].Why, words) || strings.Contains(words, "left") && !strings.Contains(got[0].Why, ": no cable on the truck") {
			t.Errorf("%q: %+v", words, got)
		}
	}
}

func TestBackAfterAMendGoesOn(t *testing.T) {
	f := newFarm()
	p := f.post(1, "P07", "L7", "B2")
	f.find("open_circuit", 0.95, 3, p[0])
	window := f.in.Period.Window
	run := &previous.Run{Period: detect.Period{Window: detect.Span{Start: window.Start - 7*detect.Day, End: window.Start}}, Visits: map[string]previous.Visit{}}
	for k := range int64(3) {
		run.History = append(run.History, previous.Past{Probe: "P07-1", MainFault: "open_circuit",
			Window: detect.Span{Start: window.Start - (k+1)*7*detect.Day, End: window.Start - k*7*detect.Day}})
	}
	f.in.Previous = run.Visits
	f.hear(t, run, f.row(6, p[0], "open_circuit", fieldlog.Repaired))
	v := f.visits()[0]
	if v.RunsOpen != 4 || !strings.Contains(v.Why, "and back") || !strings.Contains(v.Why, "mended on ") {
		t.Errorf("open for %d runs, why %q", v.RunsOpen, v.Why)
	}
	// A fault of another family is a new one, though the visit has the name of the old.
	g := newFarm()
	p = g.post(1, "P07", "L7", "B2")
	g.find("noise", 0.95, 3, p[0])
	g.in.Previous = map[string]previous.Visit{"P07-cable": {RunsOpen: 3, OpenSince: detect.Some(window.Start - 30*detect.Day)}}
	g.hear(t, run, g.row(6, p[0], "open_circuit", fieldlog.Repaired))
	if v := g.visits()[0]; v.RunsOpen != 1 || v.OpenSince.V != g.in.Judged.Findings[0].Start {
		t.Errorf("a new fault is open for %d runs since %s", v.RunsOpen, detect.Stamp(v.OpenSince.V))
	}
}

func TestWhatEndedAndIsOverIsNotVisited(t *testing.T) {
	day := func(d float64) int64 { return weekStart + int64(d*float64(detect.Day)) }
	shows := func(days ...float64) (out []detect.Part) {
		for _, d := range days {
			out = append(out, detect.Part{Span: detect.Span{Start: day(d), End: day(d) + detect.Hour}, Flag: schemas.FlagFail})
		}
		return out
	}
	for name, c := range map[string]struct {
		fault    string
		from, to float64 // days into the week
		parts    []detect.Part
		visited  bool
	}{
		"a short that went away":             {"short_circuit", 1, 4, nil, false},
		"nine steps ago":                     {"short_circuit", 1, 7 - 9.0/24, nil, true},
		"flips, a day apart, five days ago":  {"cable_damage", 1, 2, shows(1, 2), false},
		"flips, a day apart, two days ago":   {"cable_damage", 4, 5, shows(4, 5), true},
		"bad contact that showed once":       {"cable_damage", 2, 5, nil, true},
		"bad contact that showed once early": {"cable_damage", 1, 2, nil, false},
	} {
		f := newFarm()
		p := f.post(1, "P07", "L7", "B2")
		g := f.find(c.fault, 0.9, 1, p[0])
		g.Start, g.End, g.Open, g.Parts = day(c.from), day(c.to), false, c.parts
		f.in.Judged.States[p[0]].Verdict = schemas.Doubtful
		f.in.Cadence = func(int) int64 { return detect.Hour }
		if got := f.visits(); (len(got) == 1) != c.visited {
			t.Errorf("%s: %v, want visited %v", name, named(got), c.visited)
		}
	}
}

func TestAFailureIsOverWithTheNextWatering(t *testing.T) {
	f := newFarm()
	p := f.post(3, "P07", "L7", "B2")
	g := f.find("irrigation_failure", 0.9, 5, p...)
	g.Open, g.End = false, g.Start+2*detect.Day
	for _, c := range []struct {
		after   float64 // days after the failure's end
		visited bool
	}{{-1, true}, {0.5, false}, {2.9, true}} {
		start := g.End + int64(c.after*float64(detect.Day))
		f.in.Waterings = map[string][]detect.Water{"B2": {{Span: detect.Span{Start: start, End: start + detect.Hour}}}}
		if got := f.visits(); (len(got) == 1) != c.visited {
			t.Errorf("a watering %v days after: %v, want visited %v", c.after, named(got), c.visited)
		}
	}
}

func TestPortsThatALoggerMayExplainAreItsVisit(t *testing.T) {
	f := newFarm()
	p := f.post(4, "P07", "L7", "B2")
	f.find("logger_power", 0.95, 5, p[0], p[1])
	f.find("cable_damage", 0.74, 5, p[2])
	f.find("wrong_zone", 0.9, 5, p[3])
	got := f.visits()
	want := map[string][]string{"P07-logger": {"P07-1", "P07-2", "P07-3"}, "P07-register": {"P07-4"}}
	if len(got) != len(want) {
		t.Fatalf("visits %v", named(got))
	}
	for _, v := range got {
		if d := cmp.Diff(want[v.Name], v.Probes); d != "" {
			t.Errorf("%s: %s", v.Name, d)
		}
		if v.Name == "P07-logger" && (v.Minutes != 30 || v.Faults[0] != "logger_power" || !slices.Contains(v.Faults, "cable_damage")) {
			t.Errorf("%v min, faults %v", v.Minutes, v.Faults)
		}
	}
	// What began long before the logger's fault is the port's own.
	f.in.Judged.Findings[1].Start -= 10 * detect.Day
	if got := f.visits(); len(got) != 2 || !slices.ContainsFunc(got, func(v Visit) bool { return v.Name != "P07-logger" && slices.Contains(v.Probes, "P07-3") }) {
		t.Errorf("an older fault: %v", named(got))
	}
}

func TestAnOverrideIsSaidInWhy(t *testing.T) {
	f := newFarm()
	p := f.post(1, "P07", "L7", "B2")
	f.find("open_circuit", 0.95, 20, p[0])
	until := time.Date(2026, 7, 1, 7, 0, 0, 0, time.UTC).UnixMicro()
	a := judge.Applied{Override: judge.Override{Probe: p[0], Action: judge.Accept, Span: detect.Span{End: until}, Why: "read by hand each day"}, Ends: detect.Some(until)}
	old := a
	old.Expired, old.Why = true, "an old story"
	f.in.Judged.Overrides = []judge.Applied{a, old}
	why := f.visits()[0].Why
	if !strings.HasSuffix(why, "; P07-1: accept until 2026-07-01 07:00: read by hand each day") || strings.Contains(why, "old story") {
		t.Errorf("why %q", why)
	}
}
