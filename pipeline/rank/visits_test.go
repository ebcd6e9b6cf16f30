package rank

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/pipeline/previous"
	"probeward/pipeline/register"
	"probeward/schemas"
)

func named(visits []Visit) []string {
	out := []string{}
	for _, v := range visits {
		out = append(out, v.Name)
	}
	return out
}

func TestEightDeadPortsOfALoggerAreOneVisit(t *testing.T) {
	f := newFarm()
	ports := f.post(8, "P07", "L7", "B2")
	f.find("logger_silent", 0.95, 3, ports...)
	got := f.visits()
	if len(got) != 1 {
		t.Fatalf("got %v, want one visit", named(got))
	}
	v := got[0]
	if v.Name != "P07-logger" || len(v.Probes) != 8 || len(v.Ports) != 8 || len(v.Depths) != 8 || v.Post != "P07" {
		t.Errorf("visit %s at %q has %d probes, %d ports, %d depths", v.Name, v.Post, len(v.Probes), len(v.Ports), len(v.Depths))
	}
	if diff := cmp.Diff([]string{"L7"}, v.Loggers); diff != "" {
		t.Error(diff)
	}
	if v.Minutes != 30 {
		t.Errorf("a logger's stop takes %v min however many ports it has, want 30", v.Minutes)
	}
}

func TestProbeFaultsOfAPostAreOneVisit(t *testing.T) {
	f := newFarm()
	p := f.post(6, "P07", "L7", "B2")
	f.find("dry_out_spike", 0.9, 4, p[4])
	f.find("open_circuit", 0.9, 2, p[2])
	got := f.visits()
	if diff := cmp.Diff([]string{"P07-cable"}, named(got)); diff != "" {
		t.Fatal(diff)
	}
	v := got[0]
	if diff := cmp.Diff([]string{"open_circuit", "dry_out_spike"}, v.Faults); diff != "" {
		t.Errorf("the worse verdict goes first: %s", diff)
	}
	if diff := cmp.Diff([]string{"s3", "s5"}, v.Ports); diff != "" {
		t.Error(diff)
	}
	for _, want := range []string{"P07-3 on s3", "P07-5 on s5"} {
		if !strings.Contains(v.Cause, want) {
			t.Errorf("cause %q lacks %q", v.Cause, want)
		}
	}
	if want := f.in.Period.Window.End - 4*detect.Day; v.OpenSince.V != want {
		t.Errorf("open since %d, want the older fault's start %d", v.OpenSince.V, want)
	}
	if v.Minutes != 10+15+15 {
		t.Errorf("minutes %v, want 40: one stop, two probes", v.Minutes)
	}
	if n := strings.Count(strings.Join(v.Bring, ";"), meter); n != 1 {
		t.Errorf("the meter is listed %d times", n)
	}
}

func TestWhatMakesNoVisit(t *testing.T) {
	for name, make := range map[string]func(*farm, []int){
		"a masked finding": func(f *farm, p []int) {
			f.find("open_circuit", 0.9, 3, p[0]).MaskedBy = "logger_silent of L9"
			f.in.Judged.States[p[0]].Verdict = schemas.Fit
		},
		"settling":       func(f *farm, p []int) { f.find("settling", 0.9, 3, p[0]) },
		"unlogged water": func(f *farm, p []int) { f.find("unlogged_water", 0.9, 3, p...) },
		"a gap that ended": func(f *farm, p []int) {
			g := f.find("gap", 0.9, 5, p[0])
			g.Open, g.End = false, f.in.Period.Window.End-2*detect.Day
			f.in.Judged.States[p[0]].Verdict, f.in.Judged.States[p[0]].Main = schemas.Fit, -1
		},
		"a fault that ended before the window": func(f *farm, p []int) {
			g := f.find("open_circuit", 0.9, 20, p[0])
			g.Open, g.End = false, f.in.Period.Window.Start
			f.in.Judged.States[p[0]].Verdict, f.in.Judged.States[p[0]].Main = schemas.Fit, -1
		},
		"a probe that is out of the ground": func(f *farm, p []int) {
			f.find("open_circuit", 0.9, 3, p[0])
			f.in.Judged.States[p[0]].InGround = false
		},
		"a logger of which no probe suffers": func(f *farm, p []int) {
			f.find("logger_power", 0.9, 3, p...)
			for i := range f.in.Judged.States {
				f.in.Judged.States[i].Verdict, f.in.Judged.States[i].Main = schemas.Fit, -1
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := newFarm()
			p := f.post(4, "P07", "L7", "B2")
			make(f, p)
			if got := f.visits(); len(got) != 0 {
				t.Errorf("got %v", named(got))
			}
		})
	}
}

// What ended and is not expected back is not on the list of a stop that is made for
// something else.
func TestWhatEndedIsNotOnTheList(t *testing.T) {
	for fault, listed := range map[string]bool{"gap": false, "noise": false, "cable_damage": true, "dry_out_spike": true} {
		f := newFarm()
		p := f.post(1, "P07", "L7", "B2")
		f.find("short_circuit", 0.9, 1, p[0])
		g := f.find(fault, 0.9, 5, p[0])
		g.Open, g.End = false, f.in.Period.Window.End-2*detect.Day
		if got := slices.Contains(f.visits()[0].Faults, fault); got != listed {
			t.Errorf("%s that ended two days ago: listed %v, want %v", fault, got, listed)
		}
	}
}

// The readings of a zone without water are true, and its vines wait; those of a probe
// under an emitter are true, and nobody waits: that joins a visit and makes none.
func TestWhatIsTrueAndStillVisited(t *testing.T) {
	f := newFarm()
	p := f.post(4, "P07", "L7", "B2")
	f.find("under_emitter", 0.8, 30, p[0])
	f.find("irrigation_failure", 0.8, 2, p...)
	if diff := cmp.Diff([]string{"B2-water"}, named(f.visits())); diff != "" {
		t.Error(diff)
	}
	f.find("open_circuit", 0.9, 2, p[1])
	for _, v := range f.visits() {
		if v.Post == "P07" && !slices.Contains(v.Faults, "under_emitter") {
			t.Errorf("the crew stands at the post and is not told: %v", v.Faults)
		}
	}
}

func TestAZonesVisitIsAtItsValve(t *testing.T) {
	f := newFarm()
	p := append(f.post(2, "P07", "L7", "B2"), f.post(2, "P08", "L8", "B2")...)
	for n, i := range p {
		f.in.Details[i].Latitude, f.in.Details[i].Longitude = detect.Some(38+float64(n)), detect.Some(-122.0)
	}
	f.find("irrigation_failure", 0.8, 2, p...)
	got := f.visits()
	if len(got) != 1 || got[0].Post != "" || got[0].Latitude.V != 39.5 || len(got[0].Probes) != 4 {
		t.Fatalf("got %+v, want one visit amid the zone's four probes and at no post", got)
	}
	if !strings.Contains(got[0].Why, "zone B2 got no water at 30 cm") {
		t.Errorf("why %q", got[0].Why)
	}
	if all := strings.Join(got[0].Check, " "); !strings.Contains(all, "licensed") {
		t.Errorf("the check of a valve names nobody licensed: %q", all)
	}
}

func TestPlaceWithoutPost(t *testing.T) {
	f := newFarm()
	a := f.probe("A1", "L1", "s1", "", "B2", 30)
	b := f.probe("A2", "L1", "s2", "", "B2", 60)
	c := f.probe("A3", "", "", "", "B2", 60)
	d := f.probe("A4", "L2", "s1", "", "B2", 60)
	for _, i := range []int{a, b, c} {
		f.find("open_circuit", 0.9, 3, i)
	}
	f.find("logger_silent", 0.9, 3, d)
	f.in.Loggers = []register.Logger{{Name: "L2", Post: "P 9", Latitude: detect.Some(38.0), Longitude: detect.Some(-122.0)}}
	got := f.visits()
	want := map[string]int{"L1-cable": 2, "A3-cable": 1, "P_9-logger": 1}
	for _, v := range got {
		if want[v.Name] != len(v.Probes) {
			t.Errorf("visit %s has %d probes", v.Name, len(v.Probes))
		}
		delete(want, v.Name)
		if v.Name == "P_9-logger" && (v.Latitude.V != 38 || v.Post != "P 9") {
			t.Errorf("the logger's visit is not where the logger stands: %+v", v)
		}
	}
	if len(want) != 0 {
		t.Errorf("no visit for %v", want)
	}
}

func TestOnePostNameOnTwoFarms(t *testing.T) {
	f := newFarm()
	a := f.post(1, "P07", "L7", "B2")
	b := f.probe("Z1", "L9", "s1", "P07", "B2", 30)
	f.in.Probes[b].Farm = "Far Side"
	f.find("open_circuit", 0.9, 3, a[0])
	f.find("open_circuit", 0.9, 3, b)
	got := named(f.visits())
	if diff := cmp.Diff([]string{"Far_Side-P07-cable", "Home-P07-cable"}, got); diff != "" {
		t.Error(diff)
	}
}

func TestAVisitKeepsItsNameWhileItIsOpen(t *testing.T) {
	f := newFarm()
	p := f.post(2, "P07", "L7", "B2")
	f.find("open_circuit", 0.9, 3, p[0])
	before := f.in.Period.Window.End - 40*detect.Day
	f.in.Previous = map[string]previous.Visit{
		"P07-probe": {OpenSince: detect.Some(before), RunsOpen: 4},
		"P99-cable": {RunsOpen: 2},
	}
	v := f.visits()[0]
	if v.Name != "P07-probe" || v.RunsOpen != 5 || v.OpenSince.V != before || v.Family != schemas.FamilyCable {
		t.Errorf("got %s, runs %d, since %d, family %s", v.Name, v.RunsOpen, v.OpenSince.V, v.Family)
	}
	if !strings.Contains(v.Why, "open for 40 days and 5 runs") {
		t.Errorf("why %q", v.Why)
	}
}

func TestWhySpeaksInNumbers(t *testing.T) {
	f := newFarm()
	p := f.probe("P07-1", "L7", "s1", "P07", "B2", 60)
	f.find("open_circuit", 0.9, 9, p)
	want := "zone B2 has no other probe to trust at 60 cm; 90 % sure; open for 9 days; 25 min of work"
	if got := f.visits()[0].Why; got != want {
		t.Errorf("why %q\nwant %q", got, want)
	}
}

func TestEveryFaultHasItsWork(t *testing.T) {
	without := map[string]bool{"settling": true, "unlogged_water": true}
	for _, fault := range schemas.Faults() {
		w, ok := WorkFor(fault.Name)
		if ok == without[fault.Name] {
			t.Errorf("%s: work in the table: %v", fault.Name, ok)
		}
		if ok && (len(w.Check) < 2 || len(w.Bring) == 0 || w.Stop+w.Each <= 0) {
			t.Errorf("%s: work is not told in full: %+v", fault.Name, w)
		}
		for _, step := range append(w.Check, w.Bring...) {
			if strings.Contains(step, ";") {
				t.Errorf("%s: %q holds the separator", fault.Name, step)
			}
		}
	}
	if len(trade) != len(tradeOf) {
		t.Error("a fault has two rows in the table")
	}
}
