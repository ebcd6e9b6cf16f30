package judge

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/corroborate"
	"probeward/schemas"
)

// The period of the tests: eight weeks of look-back before a window of a week.
var (
	until  = time.Date(2026, 6, 8, 0, 0, 0, 0, time.UTC).UnixMicro()
	period = detect.Period{Window: detect.Span{Start: until - 7*detect.Day, End: until}, Lookback: until - 63*detect.Day}
)

const cadence = 15 * detect.Minute

// ago is an instant so many hours before the window's end.
func ago(hours float64) int64 { return until - int64(hours*float64(detect.Hour)) }

func span(from, to float64) detect.Span { return detect.Span{Start: ago(from), End: ago(to)} }

// finding stands from so many hours before the window's end to so many; to zero
// it is open.
func finding(fault string, from, to, confidence float64) detect.Finding {
	return detect.Finding{
		Fault: fault, Start: ago(from), End: ago(to), Open: to == 0, ExcludeFrom: ago(from),
		Confidence: confidence, Readings: 1, Evidence: "seen",
	}
}

func withParts(f detect.Finding, parts ...detect.Part) detect.Finding { f.Parts = parts; return f }

func part(from, to float64, flag schemas.Flag) detect.Part {
	return detect.Part{Span: span(from, to), Flag: flag}
}

// farm builds an input: every probe detector of the table of faults runs clear,
// and probes report each quarter of an hour.
type farm struct {
	Input
	times map[int][]int64
}

func newFarm(probes int) *farm {
	f := &farm{times: map[int][]int64{}}
	f.Period = period
	for _, fault := range schemas.Faults() {
		d := &detect.Detector{Name: fault.Name}
		switch fault.Subject {
		case schemas.SubjectLogger:
			d.Scope = detect.PerLogger
		case schemas.SubjectZone:
			d.Scope = detect.PerZone
		}
		if d.Scope == detect.PerProbe {
			f.ProbeDetectors = append(f.ProbeDetectors, d)
		} else {
			f.GroupDetectors = append(f.GroupDetectors, d)
		}
	}
	for i := range probes {
		p := detect.Probe{
			Index: i, Name: fmt.Sprintf("P%d", i+1), Farm: "North Bend", Block: "B1", Zone: "Z1",
			Kind: detect.GranularMatrix, Unit: "kPa", Quantity: detect.Tension, Scale: 1,
			DepthCM: detect.Some(30.0),
			Wirings: []detect.Wiring{{Logger: "L1", Port: fmt.Sprint(i + 1), Span: period.Whole()}},
		}
		f.Probes = append(f.Probes, p)
		r := detect.Report{Summary: detect.Summary{Cadence: cadence}}
		for range f.ProbeDetectors {
			r.Outcomes = append(r.Outcomes, detect.Healthy())
		}
		f.Reports = append(f.Reports, r)
		f.read(i, 63*24, 0)
	}
	f.Input.Times = func(i int) []int64 { return f.times[i] }
	f.group(detect.PerLogger, "L1")
	f.group(detect.PerZone, "Z1")
	return f
}

// read makes a probe report each cadence from so many hours before the window's
// end to so many.
func (f *farm) read(probe int, from, to float64) {
	f.times[probe] = nil
	for t := ago(from); t < ago(to); t += cadence {
		f.times[probe] = append(f.times[probe], t)
	}
}

// group adds a logger or zone of all probes, of which all detectors run clear.
func (f *farm) group(scope detect.Scope, name string) {
	g := corroborate.Verdict{Group: detect.Group{Scope: scope, Name: name, Period: period}}
	for _, p := range f.Probes {
		g.Group.Members = append(g.Group.Members, detect.Summary{Probe: p})
	}
	for _, d := range f.GroupDetectors {
		o := detect.Outcome{}
		if d.Scope == scope {
			o = detect.Healthy()
		}
		g.Outcomes = append(g.Outcomes, o)
	}
	f.Groups = append(f.Groups, g)
}

// find puts a finding where its fault's subject belongs: at a probe, or at the
// first group of the scope.
func (f *farm) find(probe int, found detect.Finding) {
	at := func(d *detect.Detector) bool { return d.Name == found.Fault }
	if j := slices.IndexFunc(f.ProbeDetectors, at); j >= 0 {
		o := &f.Reports[probe].Outcomes[j]
		*o = detect.Faulty(append(o.Findings, found)...)
		return
	}
	j := slices.IndexFunc(f.GroupDetectors, at)
	for i := range f.Groups {
		if f.Groups[i].Group.Scope == f.GroupDetectors[j].Scope {
			o := &f.Groups[i].Outcomes[j]
			*o = detect.Faulty(append(o.Findings, found)...)
			return
		}
	}
}

// blindTo makes detectors unable to answer about a probe.
func (f *farm) blindTo(probe int, why string, faults ...string) {
	for j, d := range f.ProbeDetectors {
		if slices.Contains(faults, d.Name) {
			f.Reports[probe].Outcomes[j] = detect.Unable(detect.Absent, "%s", why)
		}
	}
}

// named finds the only finding of a fault.
func (r *Result) named(t *testing.T, fault string) Finding {
	t.Helper()
	var found []Finding
	for _, f := range r.Findings {
		if f.Fault == fault {
			found = append(found, f)
		}
	}
	if len(found) != 1 {
		t.Fatalf("%d findings of %s, want one", len(found), fault)
	}
	return found[0]
}

func TestAHealthyProbeIsFit(t *testing.T) {
	f := newFarm(1)
	f.Previous = map[string]schemas.Verdict{"P1": schemas.Doubtful}
	f.Rejected = []int{3}
	s := Judge(f.Input).States[0]
	if s.Verdict != schemas.Fit || s.Main != -1 || !s.UsableNow || !s.InGround {
		t.Errorf("state %+v, want fit and usable now", s)
	}
	if s.Previous != schemas.Doubtful || s.Rejected != 3 || s.Logger != "L1" || s.Port != "1" {
		t.Errorf("state %+v: previous verdict, rejected readings or wiring are not the input's", s)
	}
	if s.Expected.V != 7*96 || s.Received != 7*96 || s.Usable != 7*96 {
		t.Errorf("expected %d, received %d, usable %d, want 672 of each", s.Expected.V, s.Received, s.Usable)
	}
	if s.Run != len(schemas.Faults()) || s.NotEvaluated != 0 || s.NotEvaluatedWhy != "" {
		t.Errorf("run %d, not %d (%s), want all of %d", s.Run, s.NotEvaluated, s.NotEvaluatedWhy, len(schemas.Faults()))
	}
	if s.Confidence != surest {
		t.Errorf("confidence %g, want the cap %g", s.Confidence, surest)
	}
	if want := ago(0.25); s.Last.V != want {
		t.Errorf("last reading %s, want %s", detect.Stamp(s.Last.V), detect.Stamp(want))
	}
}

func TestVerdicts(t *testing.T) {
	cases := []struct {
		name  string
		found []detect.Finding
		want  schemas.Verdict
		main  string
	}{
		{"open lead stands", []detect.Finding{finding("open_circuit", 100, 0, .9)}, schemas.Unfit, "open_circuit"},
		{"open lead began in the look-back", []detect.Finding{finding("open_circuit", 900, 0, .9)}, schemas.Unfit, "open_circuit"},
		{"open lead mended before the window", []detect.Finding{finding("open_circuit", 400, 200, .9)}, schemas.Fit, ""},
		{"open lead ended within the window", []detect.Finding{finding("open_circuit", 100, 50, .9)}, schemas.Doubtful, "open_circuit"},
		{"two good readings are no repair", []detect.Finding{finding("open_circuit", 100, 0.5, .9)}, schemas.Unfit, "open_circuit"},
		{"noise stands", []detect.Finding{finding("noise", 100, 0, .6)}, schemas.Doubtful, "noise"},
		{"noise ended", []detect.Finding{finding("noise", 100, 50, .6)}, schemas.Fit, ""},
		{"no answer, unsure", []detect.Finding{finding("missing_irrigation_response", 100, 0, .6)}, schemas.Doubtful, "missing_irrigation_response"},
		{"no answer, sure", []detect.Finding{finding("missing_irrigation_response", 100, 0, .8)}, schemas.Unfit, "missing_irrigation_response"},
		{"one spike", []detect.Finding{finding("dry_out_spike", 100, 99, .9)}, schemas.Fit, ""},
		{"two spikes", []detect.Finding{finding("dry_out_spike", 100, 99, .9), finding("dry_out_spike", 60, 59, .8)}, schemas.Doubtful, "dry_out_spike"},
		{"two spikes, one before the window", []detect.Finding{finding("dry_out_spike", 400, 399, .9), finding("dry_out_spike", 60, 59, .8)}, schemas.Fit, ""},
		{"two spikes in one finding", []detect.Finding{withParts(finding("dry_out_spike", 100, 59, .9),
			part(100, 99, 4), part(60, 59, 4))}, schemas.Doubtful, "dry_out_spike"},
		{"two parts that touch are one spike", []detect.Finding{withParts(finding("dry_out_spike", 100, 98, .9),
			part(100, 99, 3), part(99, 98, 4))}, schemas.Fit, ""},
		{"out of range for days at the end", []detect.Finding{finding("out_of_range", 60, 0, .9)}, schemas.Doubtful, "out_of_range"},
		{"out of range for an hour at the end", []detect.Finding{finding("out_of_range", 1, 0, .9)}, schemas.Fit, ""},
		{"gap lasts", []detect.Finding{finding("gap", 80, 0, .9)}, schemas.Silent, "gap"},
		{"gap ended", []detect.Finding{finding("gap", 80, 1, .9)}, schemas.Fit, ""},
		{"settling", []detect.Finding{finding("settling", 80, 0, .9)}, schemas.Settling, "settling"},
		{"settled", []detect.Finding{finding("settling", 300, 80, .9)}, schemas.Fit, ""},
		{"under an emitter", []detect.Finding{finding("under_emitter", 300, 0, .7)}, schemas.Doubtful, "under_emitter"},
		{"a logger's power", []detect.Finding{finding("logger_power", 80, 0, .7)}, schemas.Unfit, "logger_power"},
		{"the zone's water is no fault of the probe", []detect.Finding{finding("irrigation_failure", 80, 70, .9)}, schemas.Fit, ""},
		{"unfit before silent", []detect.Finding{finding("gap", 80, 0, .99), finding("wrong_kind", 200, 0, .6)}, schemas.Unfit, "wrong_kind"},
		{"silent before what may come back", []detect.Finding{finding("gap", 80, 0, .6), finding("open_circuit", 100, 90, .9)}, schemas.Silent, "gap"},
		{"doubtful before settling", []detect.Finding{finding("settling", 80, 0, .9), finding("wrong_zone", 80, 0, .6)}, schemas.Doubtful, "wrong_zone"},
		{"the surer of two", []detect.Finding{finding("wrong_zone", 80, 0, .6), finding("noise", 20, 0, .7), finding("bypass_flow", 80, 0, .5)}, schemas.Doubtful, "noise"},
		{"the older of two as sure", []detect.Finding{finding("noise", 80, 0, .6), finding("bypass_flow", 90, 0, .6)}, schemas.Doubtful, "bypass_flow"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := newFarm(1)
			for _, one := range c.found {
				f.find(0, one)
			}
			r := Judge(f.Input)
			s := r.States[0]
			main := ""
			if s.Main >= 0 {
				main = r.Findings[s.Main].Fault
				if s.Since.V != r.Findings[s.Main].Start || s.Confidence != r.Findings[s.Main].Confidence {
					t.Errorf("since or confidence are not the main fault's: %+v", s)
				}
			}
			if s.Verdict != c.want || main != c.main {
				t.Errorf("got %s by %q, want %s by %q", s.Verdict, main, c.want, c.main)
			}
		})
	}
}

// Every fault of the table, standing and sure, makes its own verdict.
func TestTheTableOfFaultsMakesTheVerdict(t *testing.T) {
	for _, fault := range schemas.Faults() {
		f := newFarm(1)
		f.find(0, finding(fault.Name, 100, 0, .99))
		want := fault.VerdictFor(.99)
		if want == "" {
			want = schemas.Fit
		}
		if got := Judge(f.Input).States[0].Verdict; got != want {
			t.Errorf("%s: verdict %s, want %s", fault.Name, got, want)
		}
	}
}

func TestFitNeedsEvidence(t *testing.T) {
	cases := []struct {
		name  string
		spoil func(f *farm)
		why   string
	}{
		{"no gap detector", func(f *farm) { f.blindTo(0, "x", "gap") }, "unknown: not evaluated: gap; gap: x"},
		{"no test of a short", func(f *farm) { f.blindTo(0, "x", "short_circuit") }, "unknown: not evaluated: short_circuit; short_circuit: x"},
		{"neither test of life", func(f *farm) { f.blindTo(0, "x", "flat_line", "missing_irrigation_response") },
			"unknown: not evaluated: flat_line or missing_irrigation_response; missing_irrigation_response, flat_line: x"},
		{"nothing ran", func(f *farm) { f.Reports[0].Outcomes = nil; f.Groups = nil }, ""},
		{"no readings", func(f *farm) { f.times[0] = nil }, "unknown: no reading with a value in the window"},
		{"readings before the window only", func(f *farm) { f.read(0, 1000, 200) }, "unknown: no reading with a value in the window"},
		{"stopped two days ago", func(f *farm) { f.read(0, 1000, 48) }, "unknown: no reading since 2026-06-05 23:45Z"},
		{"a count without a scale", func(f *farm) { f.Probes[0].Quantity = detect.Raw }, "unknown: a count without a scale can be held against nothing: give its unit and scale in the register"},
		{"removed in the window", func(f *farm) { f.Probes[0].RemovedOn = detect.Some(ago(60)) }, "unknown: removed on 2026-06-05 12:00Z"},
		{"installed after it", func(f *farm) { f.Probes[0].InstalledOn = detect.Some(until) }, "unknown: installed on 2026-06-08 00:00Z, after the window"},
		{"unplugged in the register", func(f *farm) { f.Probes[0].Wirings[0].End = ago(30) }, "unknown: wired to no logger at the window's end, last to L1"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := newFarm(1)
			c.spoil(f)
			s := Judge(f.Input).States[0]
			if s.Verdict != schemas.Unknown || s.Confidence != 0 || s.Main != -1 || s.UsableNow {
				t.Errorf("state %+v, want unknown", s)
			}
			if c.why != "" && s.NotEvaluatedWhy != c.why {
				t.Errorf("why %q, want %q", s.NotEvaluatedWhy, c.why)
			}
		})
	}
	t.Run("one test of life is enough", func(t *testing.T) {
		f := newFarm(1)
		f.blindTo(0, "x", "missing_irrigation_response")
		if s := Judge(f.Input).States[0]; s.Verdict != schemas.Fit || s.Run != 23 || s.NotEvaluated != 1 {
			t.Errorf("state %+v, want fit with 23 of 24", s)
		}
	})
	t.Run("a day without a reading is not too long", func(t *testing.T) {
		f := newFarm(1)
		f.read(0, 1000, 20)
		if s := Judge(f.Input).States[0]; s.Verdict != schemas.Fit || !s.UsableNow {
			t.Errorf("verdict %s (%s), want fit", s.Verdict, s.NotEvaluatedWhy)
		}
	})
	t.Run("the answer of either logger counts", func(t *testing.T) {
		for _, unable := range []string{"L1", "L2"} {
			f := newFarm(1)
			f.group(detect.PerLogger, "L2")
			for i := range f.Groups {
				for j := range f.Groups[i].Outcomes {
					if f.Groups[i].Group.Name == unable {
						f.Groups[i].Outcomes[j] = detect.Unable(detect.TooShort, "x")
					}
				}
			}
			if s := Judge(f.Input).States[0]; s.NotEvaluated != 0 {
				t.Errorf("%s could not tell, the other could: %d not evaluated (%s)", unable, s.NotEvaluated, s.NotEvaluatedWhy)
			}
		}
	})
	t.Run("a slow logger may be two days old", func(t *testing.T) {
		f := newFarm(1)
		f.Reports[0].Summary.Cadence = 6 * detect.Hour
		f.read(0, 1000, 48)
		if s := Judge(f.Input).States[0]; s.Verdict != schemas.Fit {
			t.Errorf("verdict %s (%s), want fit: ten steps are 60 h", s.Verdict, s.NotEvaluatedWhy)
		}
	})
}

// A requirement that names no detector there can be would make every probe unknown.
func TestRequirementsNameFaults(t *testing.T) {
	seen := map[detect.Quantity]bool{}
	for _, r := range Requirements() {
		seen[r.Quantity] = true
		if r.Why == "" {
			t.Errorf("%s: no reason", r.Quantity.Unit())
		}
		for _, set := range r.AnyOf {
			for _, fault := range set {
				if _, ok := schemas.FaultNamed(fault); !ok {
					t.Errorf("%s asks for %q, which is no fault", r.Quantity.Unit(), fault)
				}
			}
		}
	}
	for q := detect.Raw; q <= detect.Celsius; q++ {
		if !seen[q] {
			t.Errorf("no requirement for %s", q.Unit())
		}
	}
}

func TestALoggersFaultFollowsTheWiring(t *testing.T) {
	f := newFarm(2)
	f.Probes[1].Wirings = []detect.Wiring{
		{Logger: "L1", Port: "2", Span: detect.Span{Start: period.Lookback, End: ago(100)}},
		{Logger: "L2", Port: "5", Span: detect.Span{Start: ago(100), End: until}},
	}
	f.find(0, finding("clock_error", 120, 0, .9))
	r := Judge(f.Input)
	if v := r.States[0].Verdict; v != schemas.Unfit {
		t.Errorf("P1 is %s, want unfit", v)
	}
	if s := r.States[1]; s.Verdict != schemas.Doubtful || s.Logger != "L2" || s.Port != "5" {
		t.Errorf("P2 is %s at %s %s, want doubtful (it left L1 in the window) at L2 5", s.Verdict, s.Logger, s.Port)
	}
	want := detect.Span{Start: ago(120), End: ago(100)}
	if got := r.ExclusionsOf(1); len(got) != 1 || got[0].Span != want {
		t.Errorf("exclusions of P2 %v, want %v", got, want)
	}
	if got := r.Findings[0]; got.Subject != schemas.SubjectLogger || got.Name != "L1" || got.Probe != -1 || !slices.Equal(got.Probes, []int{0, 1}) {
		t.Errorf("finding %+v, want L1's on both probes", got)
	}
}

func TestAGroupsFindingAboutProbesIsOneEach(t *testing.T) {
	f := newFarm(3)
	d := &detect.Detector{Name: "duplicate_series", Scope: detect.PerZone}
	f.ProbeDetectors = slices.DeleteFunc(f.ProbeDetectors, func(d *detect.Detector) bool { return d.Name == "duplicate_series" })
	for i := range f.Reports {
		f.Reports[i].Outcomes = f.Reports[i].Outcomes[:len(f.ProbeDetectors)]
	}
	f.GroupDetectors = append(f.GroupDetectors, d)
	both := finding("duplicate_series", 100, 0, .9)
	both.Probes = []int{2, 0}
	f.Groups[1].Outcomes = append(f.Groups[1].Outcomes, detect.Faulty(both))
	r := Judge(f.Input)
	if len(r.Findings) != 2 || r.Findings[0].Name != "P1" || r.Findings[1].Name != "P3" ||
		r.Findings[0].Subject != schemas.SubjectProbe || !slices.Equal(r.Findings[1].Probes, []int{0, 2}) {
		t.Fatalf("findings %+v, want one of P1 and one of P3", r.Findings)
	}
	for i, want := range []schemas.Verdict{schemas.Unfit, schemas.Fit, schemas.Unfit} {
		if got := r.States[i].Verdict; got != want {
			t.Errorf("P%d is %s, want %s", i+1, got, want)
		}
	}
}
