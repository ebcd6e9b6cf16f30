package score

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"probeward/detectors/detect"
	"probeward/pipeline"
	"probeward/pipeline/simulate"
	"probeward/schemas"
)

// farm is a simulated farm's truth, and a run without any detector: the frame
// (probes, loggers, readings) into which the tests put their findings.
type farm struct {
	truth *Truth
	run   *Run
}

var theFarm farm

func TestMain(m *testing.M) {
	os.Exit(func() int {
		dir, err := os.MkdirTemp("", "score-")
		if err != nil {
			panic(err)
		}
		defer os.RemoveAll(dir)
		o := simulate.Defaults()
		o.Seed, o.Probes, o.Cadence, o.Measure = 7, 120, 30*time.Minute, true
		_, err = simulate.Write(filepath.Join(dir, "farm"), o)
		if err == nil {
			_, err = pipeline.Run(context.Background(), pipeline.Options{Folder: filepath.Join(dir, "farm", "feed"), Out: filepath.Join(dir, "run")})
		}
		if err == nil {
			theFarm.truth, err = LoadTruth(filepath.Join(dir, "farm", "truth"))
		}
		if err == nil {
			theFarm.run, err = LoadRun(filepath.Join(dir, "run"))
		}
		if err != nil {
			panic(err)
		}
		return m.Run()
	}())
}

// blank is a copy of the frame with nothing said in it.
func (f farm) blank() *Run {
	r := &Run{Window: f.run.Window, Readings: f.run.Readings, Probes: map[string]*Probe{}, Exclusions: map[string][]detect.Span{}}
	for name, p := range f.run.Probes {
		c := *p
		c.Verdict, c.MainFault, c.Faults = schemas.Fit, "", nil
		r.Probes[name] = &c
	}
	return r
}

// oracle says of every visible fault that touches the window just what it is, and
// leaves out just the bad readings.
func (f farm) oracle() *Run {
	r := f.blank()
	for i := range f.truth.Faults {
		t := &f.truth.Faults[i]
		if !t.Visible || !touches(t.Span, r.Window) {
			continue
		}
		r.Findings = append(r.Findings, Finding{Subject: t.Subject, Name: t.Name, Fault: t.Fault, Span: t.Span, Confidence: 1})
		for name, p := range r.Probes {
			if t.Subject == schemas.SubjectProbe && t.Name == name ||
				t.Subject == schemas.SubjectLogger && t.Name == p.Logger && !f.truth.Healthy[name] {
				p.MainFault, p.Verdict = t.Fault, schemas.Unfit
				p.Faults = append(p.Faults, t.Fault)
			}
		}
	}
	for name, times := range f.truth.Bad {
		for _, t := range times {
			r.Exclusions[name] = append(r.Exclusions[name], detect.Span{Start: t, End: t + 1})
		}
	}
	return r
}

func whole(s Share) bool { return s.Of > 0 && s.N == s.Of }
func none(s Share) bool  { return s.Of > 0 && s.N == 0 }

func TestOracleScoresOne(t *testing.T) {
	tally, cases := Score(theFarm.truth, theFarm.oracle())
	s := tally.Totals()
	visible := map[string]bool{}
	for _, f := range theFarm.truth.Faults {
		if f.Visible {
			visible[f.Fault] = true
		}
	}
	if s.Caught.Of < 20 || s.HealthyWeeks < 60 || len(visible) < 20 {
		t.Fatalf("%d visible faults of %d names and %.0f healthy probe-weeks: the farm is too small to prove anything", s.Caught.Of, len(visible), s.HealthyWeeks)
	}
	if !whole(s.Caught) || !whole(s.Named) {
		t.Errorf("caught %v, named %v of all", s.Caught, s.Named)
	}
	if s.CalledFit.N != 0 || s.Alarms != 0 || tally.Beside != 0 || !none(s.NotFit) {
		t.Errorf("%d false alarms, %d beside, healthy probes not fit %v", s.Alarms, tally.Beside, s.NotFit)
	}
	if !whole(s.Electrical) || !whole(s.Response) || !none(s.GoodLost) {
		t.Errorf("left out: electrical %v, response %v, good %v", s.Electrical, s.Response, s.GoodLost)
	}
	if s.Brier != 0 || s.BrierAtFault != 0 || s.Findings == 0 {
		t.Errorf("Brier %v and %v of %d", s.Brier, s.BrierAtFault, s.Findings)
	}
	for name, f := range tally.Faults {
		for _, d := range f.Delays {
			if d != 0 {
				t.Errorf("%s: delay %v h", name, d)
			}
		}
		if f.Quiet != f.Invisible {
			t.Errorf("%s: %d invisible, %d left in peace", name, f.Invisible, f.Quiet)
		}
	}
	if len(cases) > 0 {
		t.Errorf("cases of an oracle: %+v", cases)
	}
}

// Each cheat fails by the figure that is there to catch it.
func TestCheatsFail(t *testing.T) {
	f := theFarm
	for name, cheat := range map[string]struct {
		run   func() *Run
		fails func(Totals, *Tally) bool
	}{
		"every fault on every probe, logger and zone, all through the window": {
			func() *Run {
				r := f.blank()
				add := func(s schemas.Subject, name string) {
					for _, fault := range schemas.Faults() {
						if fault.Subject == s {
							r.Findings = append(r.Findings, Finding{Subject: s, Name: name, Fault: fault.Name, Span: detect.Span{Start: r.Window.Start, End: math.MaxInt64}, Confidence: 1})
						}
					}
				}
				groups := map[string]schemas.Subject{}
				for name, p := range r.Probes {
					add(schemas.SubjectProbe, name)
					groups[p.Logger], groups[p.Zone] = schemas.SubjectLogger, schemas.SubjectZone
				}
				for name, s := range groups {
					add(s, name)
				}
				return r
			},
			func(s Totals, _ *Tally) bool {
				return s.PerThousand > 10000 && s.Brier > 0.9 && s.Named.N*4 < s.Named.Of
			},
		},
		"nothing": {
			f.blank,
			func(s Totals, _ *Tally) bool {
				return none(s.Caught) && s.CalledFit.N > 10 && none(s.Electrical) && none(s.Response) && s.Alarms == 0
			},
		},
		"the oracle, and every reading left out": {
			func() *Run {
				r := f.oracle()
				for name := range r.Probes {
					r.Exclusions[name] = []detect.Span{r.Window}
				}
				return r
			},
			func(s Totals, _ *Tally) bool { return whole(s.GoodLost) && whole(s.Electrical) },
		},
		"the oracle, every finding from the beginning of the record": {
			func() *Run {
				r := f.oracle()
				for i := range r.Findings {
					r.Findings[i].Start = r.Window.Start - 56*detect.Day
				}
				return r
			},
			func(s Totals, t *Tally) bool { return t.Alarms[classBefore] > 5 && s.Caught.N*3 < s.Caught.Of },
		},
		"the oracle, every finding masked": {
			func() *Run {
				r := f.oracle()
				for i := range r.Findings {
					r.Findings[i].MaskedBy = "flat_line of itself"
				}
				return r
			},
			func(s Totals, _ *Tally) bool { return none(s.Caught) },
		},
		"the right subjects under one name": {
			func() *Run {
				r := f.oracle()
				for i := range r.Findings {
					if r.Findings[i].Subject == schemas.SubjectProbe {
						r.Findings[i].Fault = "depth_order"
						r.Probes[r.Findings[i].Name].MainFault = "depth_order"
					}
				}
				return r
			},
			func(s Totals, t *Tally) bool {
				return whole(s.Caught) && t.Beside > 10 && s.Named.N*2 < s.Named.Of && s.Brier > 0.5
			},
		},
		"the right faults on their neighbours": {
			func() *Run {
				r := f.blank()
				var healthy []string
				for _, name := range sorted(r.Probes) {
					if f.truth.Healthy[name] && f.truth.Class[name] == noClass {
						healthy = append(healthy, name)
					}
				}
				for i, o := range f.oracle().Findings {
					o.Subject, o.Name = schemas.SubjectProbe, healthy[i%len(healthy)]
					r.Findings = append(r.Findings, o)
				}
				return r
			},
			func(s Totals, t *Tally) bool { return none(s.Caught) && t.Alarms[noClass] > 10 },
		},
		"what no reading denies, on every probe": { // their readings are true, or look so
			func() *Run {
				r := f.blank()
				for _, name := range sorted(r.Probes) {
					for _, fault := range []string{"under_emitter", "poor_contact", "bypass_flow", "depth_order", "duplicate_series", "wrong_kind", "drift"} {
						r.Findings = append(r.Findings, Finding{Subject: schemas.SubjectProbe, Name: name, Fault: fault, Span: detect.Span{Start: r.Window.Start - detect.Day, End: math.MaxInt64}, Confidence: 1})
					}
					r.Probes[name].MainFault, r.Probes[name].Verdict = "under_emitter", schemas.Doubtful
				}
				return r
			},
			func(s Totals, t *Tally) bool {
				return s.PerThousand > 5000 && s.Brier > 0.9 && whole(s.NotFit) && t.Beside > 20
			},
		},
		"every logger's clock": {
			func() *Run {
				r := f.blank()
				seen := map[string]bool{}
				for _, name := range sorted(r.Probes) {
					if p := r.Probes[name]; !seen[p.Logger] {
						seen[p.Logger] = true
						r.Findings = append(r.Findings, Finding{Subject: schemas.SubjectLogger, Name: p.Logger, Fault: "clock_error", Span: r.Window, Confidence: 1})
					}
				}
				return r
			},
			func(s Totals, t *Tally) bool {
				return s.Caught.N*4 < s.Caught.Of && s.Causes > 10 && s.Causes == s.Alarms && s.Brier > 0.8
			},
		},
		"a zone's finding everywhere": {
			func() *Run {
				r := f.blank()
				for _, p := range r.Probes {
					r.Findings = append(r.Findings, Finding{Subject: schemas.SubjectZone, Name: p.Zone, Fault: "unlogged_water", Span: r.Window, Confidence: 1})
				}
				return r
			},
			func(s Totals, t *Tally) bool { return s.Caught.N <= 2 && t.Alarms[classZone] > 0 },
		},
	} {
		tally, _ := Score(f.truth, cheat.run())
		if s := tally.Totals(); !cheat.fails(s, tally) {
			t.Errorf("%s is not caught by its figure: %+v, alarms %v, beside %d", name, s, tally.Alarms, tally.Beside)
		}
	}
}

const noClass = "none"

// A terminal has 80 columns, and the names of faults and look-alikes are long.
func TestPrintFitsATerminal(t *testing.T) {
	a, _ := Score(theFarm.truth, theFarm.oracle())
	b, _ := Score(theFarm.truth, theFarm.run)
	var out bytes.Buffer
	columns := []Column{{Name: "probeward", Tally: Sum(a, b), Looks: []string{"gap"}}, {Name: "generic fail", Tally: b}, {Name: "generic all", Tally: a}}
	if err := Print(&out, columns); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(out.String()) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > width {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	for _, want := range []string{"irrigation_failure", "under_emitter *", "dry_to_scale_end", "Brier score, named"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("nothing says %q:\n%s", want, out.String())
		}
	}
}

// The frame comes from tables that a scan wrote; what it wrote must be read whole.
func TestReadingsAreThoseOfHealth(t *testing.T) {
	total := 0
	for name, p := range theFarm.run.Probes {
		n := 0
		for _, at := range theFarm.run.Readings[name].Time {
			if theFarm.run.Window.Holds(at) {
				n++
			}
		}
		if n != p.Received {
			t.Errorf("%s: %d readings in flags.parquet, %d received by health.csv", name, n, p.Received)
		}
		total += n
	}
	if total < 10000 {
		t.Errorf("%d readings in the window: this proves nothing", total)
	}
}

func TestSumOfFarmsIsTheirSum(t *testing.T) {
	a, _ := Score(theFarm.truth, theFarm.oracle())
	b, _ := Score(theFarm.truth, theFarm.blank())
	ab, ba, one, other := Sum(a, b), Sum(b, a), new(bytes.Buffer), new(bytes.Buffer)
	if err := Print(one, []Column{{Name: "x", Tally: ab}}); err != nil {
		t.Fatal(err)
	}
	if err := Print(other, []Column{{Name: "x", Tally: ba}}); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(one.Bytes(), other.Bytes()) {
		t.Error("the order of farms shows in the print")
	}
	s, half := ab.Totals(), a.Totals()
	if s.Caught.N != half.Caught.N || s.Caught.Of != 2*half.Caught.Of || ab.Farms != 2 || s.HealthyWeeks != 2*half.HealthyWeeks {
		t.Errorf("sum %+v of %+v and a run that says nothing", s, half)
	}
}

func TestScoreLeavesItsInputAlone(t *testing.T) {
	run := theFarm.oracle()
	before := slices.Clone(run.Findings)
	one, _ := Score(theFarm.truth, run)
	two, _ := Score(theFarm.truth, run)
	if !slices.Equal(before, run.Findings) {
		t.Error("the findings were changed")
	}
	if one.Totals() != two.Totals() {
		t.Error("the second score differs from the first")
	}
}
