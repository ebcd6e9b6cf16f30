package judge

import (
	"fmt"
	"testing"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// names of the subjects of a farm's findings.
func subjectOf(fault string) string {
	f, _ := schemas.FaultNamed(fault)
	return map[schemas.Subject]string{schemas.SubjectProbe: "P1", schemas.SubjectLogger: "L1", schemas.SubjectZone: "Z1"}[f.Subject]
}

// pair judges two findings on one probe's farm and gives the second's mask.
func pair(t *testing.T, by, of detect.Finding) string {
	t.Helper()
	f := newFarm(1)
	f.find(0, by)
	f.find(0, of)
	return Judge(f.Input).named(t, of.Fault).MaskedBy
}

func TestEveryRowOfTheTable(t *testing.T) {
	for _, row := range Masks() {
		for _, fault := range row.Faults {
			t.Run(row.By+" over "+fault, func(t *testing.T) {
				want := fmt.Sprintf("%s of %s", row.By, subjectOf(row.By))
				if got := pair(t, finding(row.By, 100, 0, .9), finding(fault, 90, 0, .9)); got != want {
					t.Errorf("both stand: masked by %q, want %q", got, want)
				}
				if got := pair(t, finding(row.By, 100, 60, .9), finding(fault, 100, 40, .9)); got != want {
					t.Errorf("two thirds covered: masked by %q, want %q", got, want)
				}
				if got := pair(t, finding(row.By, 140, 100, .9), finding(fault, 80, 40, .9)); got != "" {
					t.Errorf("apart: masked by %q, want nothing", got)
				}
				if row.Near == 0 {
					if got := pair(t, finding(row.By, 100, 80, .9), finding(fault, 100, 40, .9)); got != "" {
						t.Errorf("a third covered: masked by %q, want nothing", got)
					}
				}
				got := pair(t, finding(row.By, 100, 1, .9), finding(fault, 100, 0, .9))
				if (got != "") != row.Outlasts {
					t.Errorf("it ended and what it explains stands: masked by %q", got)
				}
			})
		}
	}
}

func TestTheTableIsSound(t *testing.T) {
	over := map[string][]string{}
	for _, row := range Masks() {
		if row.Why == "" || len(row.Faults) == 0 {
			t.Errorf("row %s lacks its reason or its faults", row.By)
		}
		if len(over[row.By]) > 0 {
			t.Errorf("%s has two rows", row.By)
		}
		seen := map[string]bool{}
		for _, name := range append([]string{row.By}, row.Faults...) {
			if _, ok := schemas.FaultNamed(name); !ok {
				t.Errorf("row %s names %q, which is no fault", row.By, name)
			}
			if seen[name] {
				t.Errorf("row %s names %s twice", row.By, name)
			}
			seen[name] = true
		}
		over[row.By] = row.Faults
	}
	var walk func(from, at string, depth int)
	walk = func(from, at string, depth int) {
		for _, next := range over[at] {
			if next == from || depth > len(over) {
				t.Fatalf("%s explains itself through %s", from, at)
			}
			walk(from, next, depth+1)
		}
	}
	for by := range over {
		walk(by, by, 0)
	}
}

func TestTheFirstRowIsNamed(t *testing.T) {
	f := newFarm(1)
	f.find(0, finding("clock_error", 100, 0, .6))
	f.find(0, finding("logger_silent", 90, 0, .9))
	f.find(0, finding("gap", 90, 0, .9))
	r := Judge(f.Input)
	for _, fault := range []string{"gap", "logger_silent"} {
		if got := r.named(t, fault).MaskedBy; got != "clock_error of L1" {
			t.Errorf("%s masked by %q, want the clock", fault, got)
		}
	}
	if s := r.States[0]; r.Findings[s.Main].Fault != "clock_error" {
		t.Errorf("main fault %s, want clock_error", r.Findings[s.Main].Fault)
	}
	if got := r.States[0].Faults; fmt.Sprint(got) != "[gap logger_silent clock_error]" {
		t.Errorf("faults %v, want all three in the order of the table", got)
	}
}

func TestSeveralFindingsCoverTogether(t *testing.T) {
	f := newFarm(1)
	f.find(0, finding("logger_silent", 100, 80, .9))
	f.find(0, finding("logger_silent", 75, 60, .9))
	f.find(0, withParts(finding("gap", 100, 50, .9)))
	if got := Judge(f.Input).named(t, "gap").MaskedBy; got != "logger_silent of L1" {
		t.Errorf("masked by %q, want the silences that cover 35 of 50 h", got)
	}
}

// Of a logger's fault only the shared minutes count, of a probe's own the whole
// stretch from its first flip to its last.
func TestPartsOfAMask(t *testing.T) {
	power := withParts(finding("logger_power", 160, 10, .9), part(160, 150, 4), part(20, 10, 4))
	if got := pair(t, power, finding("open_circuit", 100, 60, .9)); got != "" {
		t.Errorf("an open lead between the power's failures is masked by %q", got)
	}
	if got := pair(t, power, withParts(finding("out_of_range", 155, 15, .9), part(155, 152, 4), part(18, 15, 4))); got != "logger_power of L1" {
		t.Errorf("what fails in the shared minutes is masked by %q, want the power", got)
	}
	flips := withParts(finding("cable_damage", 160, 10, .9), part(160, 159, 4), part(11, 10, 4))
	if got := pair(t, flips, finding("dry_out_spike", 100, 60, .9)); got != "cable_damage of P1" {
		t.Errorf("a spike between the flips is masked by %q, want the cable", got)
	}
}

func TestAMaskTouchesMostOfAGroup(t *testing.T) {
	for touched, want := range map[int]string{1: "", 2: "clock_error of L1"} {
		f := newFarm(4)
		clock := finding("clock_error", 100, 0, .9)
		for p := range touched {
			clock.Probes = append(clock.Probes, p)
		}
		f.find(0, clock)
		f.find(0, finding("unlogged_water", 90, 80, .9))
		if got := Judge(f.Input).named(t, "unlogged_water").MaskedBy; got != want {
			t.Errorf("%d of 4 probes: masked by %q, want %q", touched, got, want)
		}
	}
}

func TestAnotherProbesFaultMasksNothing(t *testing.T) {
	f := newFarm(2)
	f.find(0, finding("open_circuit", 100, 0, .9))
	f.find(1, finding("flat_line", 90, 0, .9))
	if got := Judge(f.Input).named(t, "flat_line").MaskedBy; got != "" {
		t.Errorf("masked by %q of another probe", got)
	}
}

// A zone that got no water explains the silence of its probes, unless later
// waterings came and one probe alone stayed silent.
func TestAZonesFailureIsCountedInWaterings(t *testing.T) {
	watering := func(from float64) detect.Water { return detect.Water{Span: span(from, from-4)} }
	cases := []struct {
		name      string
		waterings []detect.Water
		want      string
	}{
		{"the only one failed", []detect.Water{watering(140)}, "irrigation_failure of Z1"},
		{"one of three failed", []detect.Water{watering(140), watering(90), watering(40)}, ""},
		{"no log of waterings", nil, "irrigation_failure of Z1"},
		{"the one before it was answered", []detect.Water{watering(160), watering(140)}, "irrigation_failure of Z1"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := newFarm(1)
			f.find(0, finding("irrigation_failure", 140, 130, .8))
			f.find(0, finding("missing_irrigation_response", 139, 0, .9))
			f.Groups[1].Group.Irrigation = c.waterings
			r := Judge(f.Input)
			if got := r.named(t, "missing_irrigation_response").MaskedBy; got != c.want {
				t.Errorf("masked by %q, want %q", got, c.want)
			}
			spared := len(r.Marks[0]) == 0
			if spared != (c.want != "") {
				t.Errorf("marks %v: readings must be true where the water did not come, and only there", r.Marks[0])
			}
		})
	}
}

func TestAMaskedFindingStillFlagsItsReadings(t *testing.T) {
	f := newFarm(1)
	f.find(0, finding("cable_damage", 100, 60, .9))
	f.find(0, finding("flat_line", 100, 40, .9))
	r := Judge(f.Input)
	if got := r.named(t, "flat_line").MaskedBy; got == "" {
		t.Fatal("flat_line is not masked")
	}
	if got := r.Exclusions; len(got) != 1 || got[0].Span != span(100, 40) || fmt.Sprint(got[0].Reasons) != "[cable_damage flat_line]" {
		t.Errorf("exclusions %+v, want the whole of both", got)
	}
}

func TestOutOfTheGroundIsNoFault(t *testing.T) {
	f := newFarm(2)
	f.Probes[0].RemovedOn = detect.Some(ago(80))
	f.find(0, finding("gap", 80, 0, .9))
	f.Probes[1].InstalledOn = detect.Some(ago(60))
	f.find(1, finding("gap", 1000, 58, .9))
	f.find(1, finding("settling", 60, 0, .9))
	r := Judge(f.Input)
	var got []string
	for _, x := range r.Findings {
		got = append(got, x.Name+" "+x.Fault+" "+x.MaskedBy)
	}
	want := []string{
		"P1 gap register: removed on 2026-06-04 16:00Z",
		"P2 gap register: not in the ground then",
		"P2 settling ",
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("findings\n%q, want\n%q", got, want)
	}
	if r.States[0].Verdict != schemas.Unknown || r.States[1].Verdict != schemas.Settling {
		t.Errorf("verdicts %s and %s, want unknown and settling", r.States[0].Verdict, r.States[1].Verdict)
	}
	if e := r.States[1].Expected.V; e != 60*4 {
		t.Errorf("expected %d readings of a probe installed 60 h ago, want 240", e)
	}
	if n := len(r.Coverage[0].Members); n != 1 {
		t.Errorf("coverage counts %d probes, want the one in the ground", n)
	}
}

// A probe that never spoke since it went in is silent, however long before that
// its gap seems to reach.
func TestNeverHeardOfSinceInstalled(t *testing.T) {
	f := newFarm(1)
	f.Probes[0].InstalledOn = detect.Some(ago(60))
	f.times[0] = nil
	f.find(0, finding("gap", 63*24, 0, .9))
	r := Judge(f.Input)
	if s := r.States[0]; s.Verdict != schemas.Silent || r.Findings[0].MaskedBy != "" {
		t.Errorf("%s, masked by %q, want silent by a gap that stands", s.Verdict, r.Findings[0].MaskedBy)
	}
}

// Of several holes in one gap only the one that stands makes a verdict, and only
// that one must be the logger's.
func TestOfAGapTheLastHoleIsExplained(t *testing.T) {
	holes := []detect.Part{part(150, 90, 9), part(30, 0, 9)}
	if got := pair(t, finding("logger_silent", 30, 0, .9), withParts(finding("gap", 150, 0, .9), holes...)); got != "logger_silent of L1" {
		t.Errorf("the hole that stands is the logger's, and masked by %q", got)
	}
	if got := pair(t, finding("logger_silent", 150, 90, .9), withParts(finding("gap", 150, 0, .9), holes...)); got != "" {
		t.Errorf("the hole that stands is the port's own, and masked by %q", got)
	}
	holes[1].Span, holes[1].Flag = span(30, 10), 9
	if got := pair(t, finding("logger_silent", 30, 10, .9), withParts(finding("gap", 150, 10, .9), holes...)); got != "" {
		t.Errorf("a third of a gap that ended is the logger's, and masked by %q", got)
	}
}
