package judge

import (
	"fmt"
	"slices"
	"testing"

	"probeward/detectors/detect"
	"probeward/schemas"
)

func bits(names ...string) (b int64) {
	for _, n := range names {
		b |= 1 << schemas.FaultBit(n)
	}
	return b
}

// The roll-up of the IOOS QARTOD flag scheme: fail above suspect above pass above
// not evaluated; a missing value has no quality, so that suspect and missing
// together are suspect, not 9 (from memory).
func TestRollUp(t *testing.T) {
	cases := []struct {
		flags []schemas.Flag
		want  schemas.Flag // zero: no mark at all, a pass
	}{
		{[]schemas.Flag{3}, 3},
		{[]schemas.Flag{4}, 4},
		{[]schemas.Flag{3, 4}, 4},
		{[]schemas.Flag{4, 3}, 4},
		{[]schemas.Flag{3, 9}, 3},
		{[]schemas.Flag{9}, 0},
		{[]schemas.Flag{1}, 0},
		{[]schemas.Flag{1, 3}, 3},
		{[]schemas.Flag{0, 9, 4}, 4},
		{[]schemas.Flag{0}, 0},
	}
	for _, c := range cases {
		f := newFarm(1)
		for i, flag := range c.flags {
			f.find(0, withParts(finding([]string{"cable_damage", "poor_contact", "wrong_zone"}[i], 90, 80, .9), part(90, 80, flag)))
		}
		marks := Judge(f.Input).Marks[0]
		var got schemas.Flag
		if len(marks) > 0 {
			got = marks[0].Flag
		}
		if got != c.want || len(marks) > 1 {
			t.Errorf("flags %v: marks %+v, want flag %d", c.flags, marks, c.want)
		}
	}
}

func TestMarksOverlap(t *testing.T) {
	f := newFarm(1)
	f.find(0, finding("drift", 100, 40, .6))
	f.find(0, withParts(finding("cable_damage", 90, 50, .8), part(90, 80, 4), part(80, 70, 3), part(70, 60, 4), part(60, 50, 4)))
	f.find(0, finding("gap", 100, 40, .9))
	f.find(0, finding("under_emitter", 160, 0, .9))
	r := Judge(f.Input)
	both := bits("drift", "cable_damage")
	want := []Mark{
		{span(100, 90), 3, bits("drift"), .6},
		{span(90, 80), 4, both, .8},
		{span(80, 70), 3, both, .8},
		{span(70, 50), 4, both, .8},
		{span(50, 40), 3, bits("drift"), .6},
	}
	if !slices.Equal(r.Marks[0], want) {
		t.Errorf("marks\n%+v, want\n%+v", r.Marks[0], want)
	}
	if got := fmt.Sprint(r.Marks[0][1].Faults()); got != "[cable_damage drift]" {
		t.Errorf("faults of a mark %s", got)
	}
	wantOut := "[[90 80] 4 [cable_damage] 0.8][[70 50] 4 [cable_damage] 0.8]"
	if got := describe(r.Exclusions); got != wantOut {
		t.Errorf("exclusions %s, want %s", got, wantOut)
	}
	f.ExcludeSuspect = true
	wantOut = "[[100 40] 4 [cable_damage drift] 0.8]"
	if got := describe(Judge(f.Input).Exclusions); got != wantOut {
		t.Errorf("with suspect ones %s, want %s", got, wantOut)
	}
	if s := r.States[0]; s.Usable != s.Received-4*30 {
		t.Errorf("usable %d of %d, want 30 h of quarters fewer", s.Usable, s.Received)
	}
}

// describe writes exclusions in hours before the window's end.
func describe(all []Exclusion) (out string) {
	h := func(t int64) float64 { return detect.Hours(until - t) }
	for _, e := range all {
		out += fmt.Sprintf("[[%g %g] %d %v %g]", h(e.Start), h(e.End), e.Flag, e.Reasons, e.Confidence)
	}
	return out
}

func TestExcludeFromReachesBack(t *testing.T) {
	f := newFarm(1)
	late := finding("flat_line", 50, 0, .9)
	late.ExcludeFrom = ago(80)
	f.find(0, late)
	flips := withParts(finding("cable_damage", 150, 120, .9), part(150, 148, 4), part(122, 120, 4))
	flips.ExcludeFrom = ago(155)
	f.find(0, flips)
	want := "[[155 148] 4 [cable_damage] 0.9][[122 120] 4 [cable_damage] 0.9][[80 0] 4 [flat_line] 0.9]"
	if got := describe(Judge(f.Input).Exclusions); got != want {
		t.Errorf("exclusions %s, want %s", got, want)
	}
}

func TestASureFindingFailsItsReadings(t *testing.T) {
	for confidence, want := range map[float64]schemas.Flag{.6: 3, .75: 4} {
		f := newFarm(1)
		f.find(0, finding("missing_irrigation_response", 50, 0, confidence))
		r := Judge(f.Input)
		if got := r.Marks[0][0].Flag; got != want || r.Findings[0].Flag != want {
			t.Errorf("confidence %g: flags %d and %d, want %d", confidence, got, r.Findings[0].Flag, want)
		}
	}
}

func TestWhatNobodyExaminedIsNoPass(t *testing.T) {
	f := newFarm(1)
	f.blindTo(0, "x", "gap")
	f.find(0, finding("noise", 100, 50, .6))
	got := Judge(f.Input).Marks[0]
	want := []Mark{
		{detect.Span{Start: period.Lookback, End: ago(100)}, 2, 0, 0},
		{span(100, 50), 3, bits("noise"), .6},
		{span(50, 0), 2, 0, 0},
	}
	if !slices.Equal(got, want) {
		t.Errorf("marks\n%+v, want\n%+v", got, want)
	}
}

func TestOverrides(t *testing.T) {
	open := finding("open_circuit", 100, 0, .9)
	all := detect.Span{Start: ago(1000)} // no until
	cases := []struct {
		name     string
		found    []detect.Finding
		words    []Override
		verdict  schemas.Verdict
		now      bool
		excluded string
		masked   string
	}{
		{"ignore for good", []detect.Finding{open}, []Override{{Action: Ignore, Span: all, Why: "on the bench"}},
			schemas.Fit, true, "", "override: on the bench"},
		{"ignore that ended", []detect.Finding{open}, []Override{{Action: Ignore, Span: span(200, 50), Why: "x"}},
			schemas.Unfit, false, "[[50 0] 4 [open_circuit] 0.9]", ""},
		{"ignore from the middle", []detect.Finding{open}, []Override{{Action: Ignore, Span: span(60, -10), Why: "x"}},
			schemas.Fit, true, "[[100 60] 4 [open_circuit] 0.9]", "override: x"},
		{"ignore what is not there", []detect.Finding{open}, []Override{{Action: Ignore, Span: span(300, 200), Why: "x"}},
			schemas.Unfit, false, "[[100 0] 4 [open_circuit] 0.9]", ""},
		{"accept the newest", []detect.Finding{open}, []Override{{Action: Accept, Span: span(10, -10), Why: "x"}},
			schemas.Unfit, true, "[[100 10] 4 [open_circuit] 0.9]", ""},
		{"exclude", nil, []Override{{Action: Exclude, Span: span(10, 0), Why: "x"}},
			schemas.Fit, false, "[[10 0] 4 [override] 1]", ""},
		{"exclude wins", []detect.Finding{open}, []Override{{Action: Accept, Span: all, Why: "x"}, {Action: Exclude, Span: span(30, 20), Why: "y"}},
			schemas.Unfit, true, "[[30 20] 4 [override] 1]", ""},
		{"exclude beside a fault", []detect.Finding{open}, []Override{{Action: Exclude, Span: span(120, 90), Why: "y"}},
			schemas.Unfit, false, "[[120 0] 4 [override open_circuit] 1]", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := newFarm(1)
			for _, x := range c.found {
				f.find(0, x)
			}
			f.Overrides = c.words
			r := Judge(f.Input)
			s := r.States[0]
			if s.Verdict != c.verdict || s.UsableNow != c.now {
				t.Errorf("%s, usable now %t, want %s, %t", s.Verdict, s.UsableNow, c.verdict, c.now)
			}
			if got := describe(r.Exclusions); got != c.excluded {
				t.Errorf("exclusions %s, want %s", got, c.excluded)
			}
			if len(r.Findings) > 0 && r.Findings[0].MaskedBy != c.masked {
				t.Errorf("masked by %q, want %q", r.Findings[0].MaskedBy, c.masked)
			}
		})
	}
}

func TestAnIgnoredFindingMasksNothing(t *testing.T) {
	f := newFarm(1)
	f.find(0, finding("open_circuit", 100, 0, .9))
	f.find(0, finding("drift", 100, 0, .9))
	f.find(0, finding("clock_error", 60, 30, .9))
	f.Overrides = []Override{{Action: Ignore, Span: span(200, 1), Why: "x"}}
	r := Judge(f.Input)
	if got := r.named(t, "open_circuit").MaskedBy; got != "" {
		t.Fatalf("open_circuit masked by %q although it outlasts the override", got)
	}
	if s := r.States[0]; s.Verdict != schemas.Unfit || r.named(t, "clock_error").MaskedBy != "" {
		t.Errorf("state %+v: a probe's override must not mask its logger's finding", s)
	}
	f.Overrides[0].End = until
	r = Judge(f.Input)
	if r.States[0].Verdict != schemas.Fit {
		t.Errorf("verdict %s, want fit with all ignored", r.States[0].Verdict)
	}
	f = newFarm(1)
	f.find(0, finding("open_circuit", 100, 30, .9))
	f.find(0, finding("drift", 100, 20, .9))
	f.Overrides = []Override{{Action: Ignore, Span: span(35, 25), Why: "x"}}
	if got := Judge(f.Input).named(t, "drift").MaskedBy; got != "" {
		t.Errorf("drift is masked by %q, which a person ignores", got)
	}
}

func TestOverridesAreListed(t *testing.T) {
	f := newFarm(2)
	f.find(0, finding("drift", 100, 60, .9))
	f.Overrides = []Override{
		{Probe: 1, Action: Exclude, Span: span(10, 0), Why: "frost"},
		{Probe: 0, Action: Ignore, Span: detect.Span{End: ago(24)}, Why: "known"},
	}
	got := Judge(f.Input).Overrides
	if len(got) != 2 || got[0].Why != "known" {
		t.Fatalf("overrides %+v, want both, by probe", got)
	}
	if a := got[0]; !a.Expired || a.Ends.V != ago(24) || a.Findings != 1 || a.Readings != 62*96 {
		t.Errorf("%+v, want expired a day ago, one finding, 62 days of readings", a)
	}
	if a := got[1]; a.Expired || a.Findings != 0 || a.Readings != 40 {
		t.Errorf("%+v, want not expired, 40 readings", a)
	}
}

func TestTheSurestOfTheFlagsFaults(t *testing.T) {
	for _, c := range [][2]float64{{.9, .6}, {.6, .9}} {
		f := newFarm(1)
		f.find(0, finding("open_circuit", 100, 80, c[0]))
		f.find(0, finding("flat_line", 100, 80, c[1]))
		f.find(0, finding("noise", 100, 80, .99))
		r := Judge(f.Input)
		if got := r.Marks[0][0].Confidence; got != .9 || r.Exclusions[0].Confidence != .9 {
			t.Errorf("confidences %v: mark %g, exclusion %g, want 0.9 of each: noise does not fail the reading", c, got, r.Exclusions[0].Confidence)
		}
	}
}

// A finding of one reading may end where it starts; the reading is flagged all
// the same.
func TestAFindingOfNoLength(t *testing.T) {
	f := newFarm(1)
	f.find(0, finding("out_of_range", 100, 100, .9))
	if s := Judge(f.Input).States[0]; s.Usable != s.Received-1 {
		t.Errorf("usable %d of %d, want one fewer", s.Usable, s.Received)
	}
}
