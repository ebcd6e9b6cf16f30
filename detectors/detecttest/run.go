package detecttest

import (
	"path/filepath"
	"slices"
	"testing"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Run holds a detector to its cases in testdata and to the laws.
func Run(t *testing.T, d *detect.Detector) {
	t.Helper()
	if err := d.Validate(); err != nil {
		t.Fatal(err)
	}
	paths, err := filepath.Glob("testdata/*.csv")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	for _, path := range paths {
		k, err := parse(filepath.ToSlash(path))
		if err != nil {
			t.Error(err)
			continue
		}
		seen[k.verdict]++
		t.Run(k.name, func(t *testing.T) {
			if d.Scope == detect.PerProbe {
				probeCase(t, d, k)
			} else {
				groupCase(t, d, k)
			}
		})
	}
	for _, verdict := range []string{"find", "clear", "skip"} {
		if seen[verdict] == 0 {
			t.Errorf("testdata has no *.%s.csv: a detector is shown a fault, a healthy look-alike and what it cannot judge", verdict)
		}
	}
}

// examiner runs one detector alone, panics let through.
func examiner(t *testing.T, d *detect.Detector) *detect.Examiner {
	t.Helper()
	e, err := detect.NewExaminer([]*detect.Detector{d}, nil)
	if err != nil {
		t.Fatal(err)
	}
	e.Strict = true
	return e
}

func probeCase(t *testing.T, d *detect.Detector, k *kase) {
	e := examiner(t, d)
	for _, s := range k.sections {
		o := e.Probe(&s.probe, &s.series, &s.ctx, k.period).Outcomes[0]
		judgeState(t, k, o)
		if k.verdict == "find" {
			matchWants(t, s, o)
		}
		probeLaws(t, d, k, s, o)
	}
}

// judgeState compares an answer with the end of the file's name.
func judgeState(t *testing.T, k *kase, o detect.Outcome) {
	t.Helper()
	states := map[string]detect.State{"find": detect.Found, "clear": detect.Clear, "skip": detect.NotEvaluated}
	if o.State != states[k.verdict] {
		t.Errorf("is %s, want %s\nwhy: %s\nfindings: %s", o.State, k.verdict, o.Why.Text, words(o.Findings))
	}
	if k.verdict != "skip" {
		return
	}
	causes := map[string]detect.Cause{"absent": detect.Absent, "too short": detect.TooShort, "no chance": detect.NoChance}
	cause, ok := causes[k.cause]
	if !ok {
		t.Errorf("a skip case says why: # want: absent, too short or no chance")
	} else if o.Why.Cause != cause {
		t.Errorf("not evaluated because of %d (%q), want %q", o.Why.Cause, o.Why.Text, k.cause)
	}
	if o.Why.Text == "" {
		t.Error("not evaluated without a word of why")
	}
}

func matchWants(t *testing.T, s *section, o detect.Outcome) {
	t.Helper()
	taken := make([]bool, len(s.wants))
	for _, f := range o.Findings {
		i := slices.IndexFunc(s.wants, func(w want) bool {
			return w.Holds(f.Start) && (w.fault == "" || w.fault == f.Fault)
		})
		if i < 0 {
			t.Errorf("finds %s at %s, which no row wants: %s", f.Fault, detect.Stamp(f.Start), f.Evidence)
			continue
		}
		w := s.wants[i]
		if taken[i] {
			t.Errorf("line %d is found twice", w.line)
		}
		taken[i] = true
		if w.open != f.Open {
			t.Errorf("line %d: open is %v, want %v (end %s)", w.line, f.Open, w.open, detect.Stamp(f.End))
		}
		if w.sure && f.Confidence < schemas.Sureness || w.unsure && f.Confidence >= schemas.Sureness {
			t.Errorf("line %d: confidence is %.2f", w.line, f.Confidence)
		}
	}
	for i, w := range s.wants {
		if !taken[i] {
			t.Errorf("line %d wants a finding and gets none; there are: %s", w.line, words(o.Findings))
		}
	}
}

func words(findings []detect.Finding) string {
	if len(findings) == 0 {
		return "none"
	}
	text := ""
	for _, f := range findings {
		text += "\n  " + f.Fault + " " + detect.Stamp(f.Start) + " to " + detect.Stamp(f.End) + ": " + f.Evidence
	}
	return text
}

func groupCase(t *testing.T, d *detect.Detector, k *kase) {
	e := examiner(t, d)
	g := group(k)
	o := e.Group(g)[0]
	judgeState(t, k, o)
	if k.verdict == "find" {
		if !k.groupWon {
			t.Fatal("a find case of a group says in a comment: # want: find start=… touches=…")
		}
		if len(o.Findings) == 0 {
			t.Fatal("finds nothing")
		}
		matched := false
		for _, f := range o.Findings {
			var names []string
			for _, i := range f.Probes {
				names = append(names, k.sections[i].probe.Name)
			}
			slices.Sort(names)
			if (k.start == 0 || k.start == f.Start) && (k.touches == nil || slices.Equal(names, k.touches)) {
				matched = true
			}
		}
		if !matched {
			t.Errorf("no finding starts at %s and touches %v; there are: %s", detect.Stamp(k.start), k.touches, words(o.Findings))
		}
	}
	groupLaws(t, d, k, o)
}

// group summarises a case's sections as the pipeline would.
func group(k *kase) *detect.Group {
	g := k.group
	g.Period = k.period
	g.Members = nil
	var shared detect.Shared
	var farm []detect.Summary
	for _, s := range k.sections {
		shared.Reset(&s.probe, &s.series, &s.ctx)
		one := detect.Summarise(&s.probe, &s.series, &shared, k.period)
		farm = append(farm, one)
		if !s.elsewhere {
			g.Members = append(g.Members, one)
		}
	}
	if g.Scope == detect.PerLogger {
		g.Beats = detect.Beats(farm)[g.Name]
	}
	return &g
}
