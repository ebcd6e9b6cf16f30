package judge

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/corroborate"
	"probeward/schemas"
)

// drawFarm draws a farm with findings, detectors that could not look, readings
// that end early, wirings that move, and overrides.
func drawFarm(t *rapid.T) *farm {
	f := newFarm(rapid.IntRange(1, 5).Draw(t, "probes"))
	f.group(detect.PerLogger, "L2")
	f.group(detect.PerZone, "Z2")
	hour := rapid.IntRange(0, 62*24)
	faults := schemas.Faults()
	for range rapid.IntRange(0, 14).Draw(t, "findings") {
		from, long := hour.Draw(t, "from"), rapid.IntRange(1, 300).Draw(t, "hours")
		x := finding(rapid.SampledFrom(faults).Draw(t, "fault").Name, float64(from+1), float64(max(0, from+1-long)),
			float64(rapid.IntRange(1, 99).Draw(t, "percent"))/100)
		x.Evidence = fmt.Sprint(rapid.IntRange(0, 3).Draw(t, "evidence"))
		if rapid.Bool().Draw(t, "reaches back") {
			x.ExcludeFrom = max(period.Lookback, x.Start-int64(rapid.IntRange(0, 100).Draw(t, "back"))*detect.Hour)
		}
		for range rapid.IntRange(0, 4).Draw(t, "parts") {
			a := x.Start + int64(rapid.IntRange(0, 200).Draw(t, "part"))*detect.Hour
			x.Parts = append(x.Parts, detect.Part{
				Span: detect.Span{Start: a, End: min(until, a+int64(rapid.IntRange(0, 30).Draw(t, "part's hours"))*detect.Hour)},
				Flag: rapid.SampledFrom([]schemas.Flag{0, 1, 3, 4, 9}).Draw(t, "flag"),
			})
		}
		probe := rapid.IntRange(0, len(f.Probes)-1).Draw(t, "probe")
		if rapid.Bool().Draw(t, "touches one") {
			x.Probes = []int{probe}
		}
		f.find(probe, x)
	}
	for i := range f.Probes {
		for j := range f.ProbeDetectors {
			if o := &f.Reports[i].Outcomes[j]; len(o.Findings) == 0 && rapid.IntRange(0, 9).Draw(t, "unable") == 0 {
				*o = detect.Unable(detect.Cause(rapid.IntRange(0, 3).Draw(t, "cause")), "nothing to look at")
			}
		}
		if rapid.IntRange(0, 3).Draw(t, "stops") == 0 {
			f.read(i, 63*24, float64(hour.Draw(t, "stop")))
		}
		if rapid.IntRange(0, 3).Draw(t, "moved") == 0 {
			at := ago(float64(hour.Draw(t, "move")))
			f.Probes[i].Wirings = []detect.Wiring{
				{Logger: "L1", Port: "1", Span: detect.Span{Start: period.Lookback, End: at}},
				{Logger: "L2", Port: "2", Span: detect.Span{Start: at, End: until}},
			}
		}
	}
	for range rapid.IntRange(0, 3).Draw(t, "overrides") {
		a := ago(float64(hour.Draw(t, "override")))
		o := Override{
			Probe:  rapid.IntRange(0, len(f.Probes)-1).Draw(t, "whose"),
			Action: rapid.SampledFrom([]string{Ignore, Accept, Exclude}).Draw(t, "action"),
			Why:    rapid.SampledFrom([]string{"a", "b"}).Draw(t, "why"),
		}
		o.Start, o.End = a, a+int64(rapid.IntRange(1, 500).Draw(t, "length"))*detect.Hour
		if rapid.Bool().Draw(t, "for good") {
			o.End = 0
		}
		f.Overrides = append(f.Overrides, o)
	}
	f.ExcludeSuspect = rapid.Bool().Draw(t, "exclude suspect")
	return f
}

func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawFarm(t)
		r := Judge(f.Input)
		whole := period.Whole()
		for n, e := range r.Exclusions {
			if e.Start < whole.Start || e.End > whole.End || e.Start >= e.End {
				t.Fatalf("exclusion %v leaves the period or is empty", e)
			}
			if n > 0 {
				if b := r.Exclusions[n-1]; b.Probe > e.Probe || (b.Probe == e.Probe && b.End >= e.Start) {
					t.Fatalf("exclusions %v and %v are out of order, overlap or touch", b, e)
				}
			}
			if len(e.Reasons) == 0 || (e.Flag != schemas.FlagFail && !f.ExcludeSuspect) || e.Confidence <= 0 {
				t.Fatalf("exclusion %v lacks its reason, or is of a suspect reading", e)
			}
		}
		for i, s := range r.States {
			lawsOfAProbe(t, f, r, i, &s)
		}
		for j, c := range r.Matrix {
			sum := c.Found + c.Clear
			for _, n := range c.Causes {
				sum += n
			}
			want := len(f.Probes)
			if c.Scope != detect.PerProbe {
				want = 2
			}
			if sum != want || c.Subjects != want {
				t.Fatalf("row %d of the matrix holds %d of %d cells", j, sum, want)
			}
		}
	})
}

func lawsOfAProbe(t *rapid.T, f *farm, r *Result, i int, s *State) {
	if s.Run+s.NotEvaluated != len(schemas.Faults()) {
		t.Fatalf("%d run and %d not, want %d together", s.Run, s.NotEvaluated, len(schemas.Faults()))
	}
	if order(s.Verdict) < 0 || s.Usable > s.Received || s.Confidence < 0 || s.Confidence > 1 {
		t.Fatalf("state %+v", s)
	}
	if s.Verdict == schemas.Fit {
		if s.Received == 0 || !s.Last.OK || until-s.Last.V > detect.Day {
			t.Fatalf("fit without a reading near the end: %+v", s)
		}
		for _, set := range [][]string{{"gap"}, {"open_circuit"}, {"short_circuit"}, {"flat_line", "missing_irrigation_response"}} {
			ok := false
			for j, d := range f.ProbeDetectors {
				ok = ok || (slices.Contains(set, d.Name) && f.Reports[i].Outcomes[j].State != detect.NotEvaluated)
			}
			if !ok {
				t.Fatalf("fit although none of %v was evaluated", set)
			}
		}
	}
	if s.Main >= 0 {
		if m := r.Findings[s.Main]; m.MaskedBy != "" || !slices.Contains(s.Touching, s.Main) {
			t.Fatalf("the main finding %+v is masked, or not the probe's", m)
		}
	} else if s.Verdict != schemas.Fit && s.Verdict != schemas.Unknown {
		t.Fatalf("%s by no finding", s.Verdict)
	}
	// Every reading's flag, from the definition and one reading at a time.
	marks := r.Marks[i]
	for n := range marks {
		if n > 0 && marks[n-1].End > marks[n].Start {
			t.Fatalf("marks overlap: %v", marks)
		}
	}
	m := 0
	for n, at := range f.times[i] {
		if n%37 != 0 {
			continue
		}
		for m < len(marks) && marks[m].End <= at {
			m++
		}
		var got Mark
		if m < len(marks) && marks[m].Holds(at) {
			got = marks[m]
		}
		flag, of := slowFlag(f, r, i, at)
		if got.Flag != flag || got.Bits != of {
			t.Fatalf("P%d at %s: flag %d bits %b, want %d %b", i+1, detect.Stamp(at), got.Flag, got.Bits, flag, of)
		}
	}
}

// slowFlag works the flag of one instant out from the rules alone.
func slowFlag(f *farm, r *Result, probe int, at int64) (flag schemas.Flag, of int64) {
	says := map[string]bool{}
	for _, o := range f.Overrides {
		if o.Probe == probe && o.Start <= at && (o.End == 0 || at < o.End) {
			says[o.Action] = true
		}
	}
	worst := func(g schemas.Flag, fault string) {
		if g != 3 && g != 4 {
			return
		}
		flag = max(flag, g)
		of |= 1 << schemas.FaultBit(fault)
	}
	for _, x := range r.Findings {
		mine := x.Probe == probe
		if x.Probe < 0 && slices.Contains(x.Probes, probe) {
			mine = x.Subject == schemas.SubjectZone
			held, during := false, false
			for _, w := range f.Probes[probe].Wirings {
				held = held || (w.Logger == x.Name && w.Holds(at))
				during = during || (w.Logger == x.Name && w.Overlap(detect.Span{Start: x.Start, End: x.End}).Length() > 0)
			}
			mine = mine || (held && during)
		}
		spares := x.MaskedWhy == "the water did not come, so silence was the right answer" ||
			x.MaskedWhy == "there was water, though nobody wrote it down"
		if !mine || spares || says[Accept] || says[Ignore] {
			continue
		}
		if x.ExcludeFrom <= at && at < x.Start || len(x.Parts) == 0 && x.Start <= at && at < x.End {
			worst(x.Flag, x.Fault)
		}
		for _, p := range x.Parts {
			if p.Holds(at) {
				worst(p.Flag, x.Fault)
			}
		}
	}
	if says[Exclude] {
		return 4, of
	}
	if flag == 0 && !says[Accept] {
		for _, set := range [][]string{{"gap"}, {"open_circuit"}, {"short_circuit"}, {"flat_line", "missing_irrigation_response"}} {
			ok := false
			for j, d := range f.ProbeDetectors {
				ok = ok || (slices.Contains(set, d.Name) && f.Reports[probe].Outcomes[j].State != detect.NotEvaluated)
			}
			if !ok {
				return 2, 0
			}
		}
	}
	return flag, of
}

// The order of groups, members, findings, parts and overrides never shows, and
// nothing of the input is written to.
func TestOrderDoesNotShow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawFarm(t)
		before := f.copied()
		want := Judge(f.Input)
		f.Input.Times = nil
		before.Input.Times = nil
		if d := cmp.Diff(before.Input, f.Input); d != "" {
			t.Fatalf("the input was written to:\n%s", d)
		}
		g := f.copied()
		g.Input.Times = func(i int) []int64 { return f.times[i] }
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "shuffle"), 1))
		shuffle(r, g.Groups)
		shuffle(r, g.Overrides)
		mix := func(all []detect.Outcome) {
			for j := range all {
				shuffle(r, all[j].Findings)
				for k := range all[j].Findings {
					shuffle(r, all[j].Findings[k].Parts)
				}
			}
		}
		for i := range g.Reports {
			mix(g.Reports[i].Outcomes)
		}
		for i := range g.Groups {
			shuffle(r, g.Groups[i].Group.Members)
			mix(g.Groups[i].Outcomes)
		}
		if d := cmp.Diff(want, Judge(g.Input)); d != "" {
			t.Fatalf("another order, another result:\n%s", d)
		}
	})
}

func shuffle[T any](r *rand.Rand, s []T) {
	r.Shuffle(len(s), func(i, j int) { s[i], s[j] = s[j], s[i] })
}

// copied copies what a shuffle or a careless judge would write to.
func (f *farm) copied() *farm {
	outcomes := func(all []detect.Outcome) []detect.Outcome {
		all = slices.Clone(all)
		for j := range all {
			all[j].Findings = slices.Clone(all[j].Findings)
			for k := range all[j].Findings {
				x := &all[j].Findings[k]
				x.Parts, x.Probes = slices.Clone(x.Parts), slices.Clone(x.Probes)
			}
		}
		return all
	}
	g := *f
	g.Probes = slices.Clone(f.Probes)
	for i := range g.Probes {
		g.Probes[i].Wirings = slices.Clone(f.Probes[i].Wirings)
	}
	g.Reports = slices.Clone(f.Reports)
	for i := range g.Reports {
		g.Reports[i].Outcomes = outcomes(f.Reports[i].Outcomes)
	}
	g.Groups = slices.Clone(f.Groups)
	for i := range g.Groups {
		g.Groups[i] = corroborate.Verdict{Group: f.Groups[i].Group, Outcomes: outcomes(f.Groups[i].Outcomes)}
		g.Groups[i].Group.Members = slices.Clone(f.Groups[i].Group.Members)
	}
	g.Overrides = slices.Clone(f.Overrides)
	return &g
}

// A thousand probes, some with a thousand flips each, in a week after eight.
func BenchmarkJudge(b *testing.B) {
	f := newFarm(1000)
	for i := 0; i < 1000; i += 10 {
		x := finding("cable_damage", 60*24, 0, .9)
		for k := range 1000 {
			h := float64(60*24 - k)
			x.Parts = append(x.Parts, part(h, h-.5, 4))
		}
		f.find(i, x)
		f.find(i, finding("drift", 1000, 0, .6))
	}
	f.find(0, finding("clock_error", 100, 50, .9))
	b.ReportAllocs()
	for b.Loop() {
		Judge(f.Input)
	}
}
