package rank

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geo"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// draw makes a farm of some posts with some faults.
func draw(t *rapid.T) *farm {
	f := newFarm()
	faults := []string{"open_circuit", "cable_damage", "flat_line", "drift", "gap", "logger_silent", "logger_power", "irrigation_failure", "noise"}
	for k := range rapid.IntRange(1, 5).Draw(t, "posts") {
		zone := rapid.SampledFrom([]string{"", "B1", "B2"}).Draw(t, "zone")
		p := f.post(rapid.IntRange(1, 4).Draw(t, "probes"), string(rune('P'+k)), string(rune('A'+k)), zone)
		for _, i := range p {
			if rapid.Bool().Draw(t, "has area") {
				f.in.Details[i].AreaHA = detect.Some(rapid.Float64Range(0.1, 5).Draw(t, "area"))
			}
			if !rapid.Bool().Draw(t, "faulty") {
				continue
			}
			of := []int{i}
			fault := rapid.SampledFrom(faults).Draw(t, "fault")
			if row, _ := schemas.FaultNamed(fault); row.Subject == schemas.SubjectLogger || row.Subject == schemas.SubjectZone && zone != "" {
				of = p
			} else if row.Subject == schemas.SubjectZone {
				continue
			}
			f.find(fault, rapid.Float64Range(0.01, 1).Draw(t, "confidence"), rapid.Float64Range(0, 50).Draw(t, "days"), of...)
		}
	}
	return f
}

// visitOf begins the name of a visit among the priorities.
const visitOf = "visit "

func priorities(f *farm) map[string]float64 {
	out := map[string]float64{}
	for _, v := range f.visits() {
		// A visit's name follows its main fault, which a change may change.
		// It is held against a visit to the same things alone, and no thing may be lost.
		of := slices.Sorted(slices.Values(v.Findings))
		out[fmt.Sprint(visitOf, v.Name[:len(v.Name)-len(v.Family)], class0(v), " ", of)] = v.Priority
		for _, i := range of {
			out[fmt.Sprint("finding ", i)] = 1
		}
	}
	return out
}

func class0(v Visit) string {
	switch v.Family {
	case schemas.FamilyLogger, schemas.FamilyWater:
		return string(v.Family)
	}
	return "probes"
}

func neverLower(t *rapid.T, before, after map[string]float64) {
	for name, was := range before {
		is, ok := after[name]
		if !ok && strings.HasPrefix(name, visitOf) {
			continue
		}
		if !ok || is < was*(1-1e-12) {
			t.Errorf("%s: priority fell from %v to %v", name, was, is)
		}
	}
}

func TestMoreProbabilityNeverLowersAPriority(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := draw(t)
		if len(f.in.Judged.Findings) == 0 {
			return
		}
		before := priorities(f)
		g := &f.in.Judged.Findings[rapid.IntRange(0, len(f.in.Judged.Findings)-1).Draw(t, "which")]
		g.Confidence += (1 - g.Confidence) * rapid.Float64Range(0, 1).Draw(t, "surer")
		neverLower(t, before, priorities(f))
	})
}

func TestAnOlderFaultNeverLowersAPriority(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := draw(t)
		if len(f.in.Judged.Findings) == 0 {
			return
		}
		before := priorities(f)
		g := &f.in.Judged.Findings[rapid.IntRange(0, len(f.in.Judged.Findings)-1).Draw(t, "which")]
		g.Start -= int64(rapid.Float64Range(0, 30).Draw(t, "days") * float64(detect.Day))
		neverLower(t, before, priorities(f))
	})
}

// A fit probe that turns unknown leaves the queue as it was and its zone blinder.
func TestABlinderZoneNeverLowersAPriority(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := draw(t)
		before := priorities(f)
		for i := range f.in.Judged.States {
			if s := &f.in.Judged.States[i]; s.Verdict == schemas.Fit && rapid.Bool().Draw(t, "blinder") {
				s.Verdict = schemas.Unknown
			}
		}
		neverLower(t, before, priorities(f))
	})
}

func TestMoreMinutesNeverRaiseAPriority(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shares := []share{{worth: rapid.Float64Range(0, 10).Draw(t, "worth")}}
		days, minutes := rapid.Float64Range(-1, 100).Draw(t, "days"), rapid.Float64Range(1, 300).Draw(t, "minutes")
		more := minutes + rapid.Float64Range(0, 300).Draw(t, "more")
		if a, b := priority(shares, days, minutes), priority(shares, days, more); b > a {
			t.Errorf("priority rose from %v to %v with %v min for %v", a, b, more, minutes)
		}
	})
}

func TestABlindDepthOutranksOneThatSees(t *testing.T) {
	f := newFarm()
	blind := f.post(1, "P1", "L1", "B1")
	seen := f.post(1, "P2", "L2", "B2")
	f.post(1, "P3", "L3", "B2")
	f.find("open_circuit", 0.9, 5, blind[0])
	f.find("open_circuit", 0.9, 5, seen[0])
	got := f.visits()
	if got[0].Post != "P1" || got[0].Priority != 2*got[1].Priority {
		t.Errorf("%s %v, %s %v: a blind depth is worth twice one with another probe", got[0].Post, got[0].Priority, got[1].Post, got[1].Priority)
	}
}

// Derived by hand: blind depth, confidence 0.8, 14 days, 10 + 15 minutes.
func TestPriorityByHand(t *testing.T) {
	f := newFarm()
	p := f.post(1, "P1", "L1", "B1")
	f.find("open_circuit", 0.8, 14, p[0])
	want := (1 - math.Exp(-2)) * 0.8 / 25
	if got := f.visits()[0].Priority; math.Abs(got-want) > 1e-15 {
		t.Errorf("priority %v, want %v", got, want)
	}
}

// Derived by hand: the first of three probes that come back to a blind depth counts
// 1, the second 1/2, the third 1/3, surest first.
func TestEachFurtherProbeOfADepthCountsLess(t *testing.T) {
	f := newFarm()
	for k, sure := range []float64{0.5, 0.9, 0.6} {
		p := f.probe(string(rune('a'+k)), "L1", "s1", "P1", "B1", 60)
		f.find("open_circuit", sure, 70, p)
	}
	want := (1 - math.Exp(-10)) * (0.9 + 0.6/2 + 0.5/3) / (10 + 3*15)
	if got := f.visits()[0].Priority; math.Abs(got-want) > 1e-15 {
		t.Errorf("priority %v, want %v", got, want)
	}
}

// Neither the order of findings nor how often it is asked shows.
func TestTheSameQueueEachTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := draw(t)
		want := f.visits()
		if diff := cmp.Diff(want, f.visits()); diff != "" {
			t.Fatal(diff)
		}
		n := len(f.in.Judged.Findings)
		to := rapid.Permutation(seq(n)).Draw(t, "order")
		shuffled := *f.in.Judged
		shuffled.Findings = make([]judge.Finding, n)
		for i, k := range to {
			shuffled.Findings[k] = f.in.Judged.Findings[i]
		}
		shuffled.States = slices.Clone(shuffled.States)
		for i := range shuffled.States {
			if s := &shuffled.States[i]; s.Main >= 0 {
				s.Main = to[s.Main]
			}
		}
		f.in.Judged = &shuffled
		if diff := cmp.Diff(want, f.visits(), cmpopts.IgnoreFields(Visit{}, "Findings")); diff != "" {
			t.Fatal(diff)
		}
	})
}

func seq(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// Great circle between two airports, a published worked example of the haversine
// formula: 2886.444442838 km with a radius of 6371.0 km [checked]. Geo's own radius
// is 6378.137 km.
func TestDistance(t *testing.T) {
	a, b := orb.Point{-86.67, 36.12}, orb.Point{-118.40, 33.94}
	if km := geo.DistanceHaversine(a, b) * 6371.0 / orb.EarthRadius; math.Abs(km-2886.444442838) > 1e-6 {
		t.Errorf("distance %.9f km, want 2886.444442838", km)
	}
}

func TestRoundGoesOnToTheNearest(t *testing.T) {
	f := newFarm()
	// Posts along a row, ranked from the middle outwards by their age.
	for k, east := range []float64{0, 5, -1, 6, 1} {
		p := f.post(1, string(rune('A'+k)), string(rune('A'+k)), string(rune('A'+k)))
		f.in.Details[p[0]].Latitude, f.in.Details[p[0]].Longitude = detect.Some(38.5), detect.Some(-122.5+east/1000)
		f.find("open_circuit", 0.9, float64(30-5*k), p[0])
	}
	lost := f.post(1, "lost", "lost", "lost")
	f.find("open_circuit", 0.9, 40, lost[0])
	got := map[string]int{}
	for _, v := range f.visits() {
		got[v.Post] = v.RouteOrder.V
		if v.RouteOrder.OK == (v.Post == "lost") {
			t.Errorf("%s: on the round %v", v.Post, v.RouteOrder.OK)
		}
	}
	want := map[string]int{"lost": 0, "A": 1, "C": 2, "E": 3, "B": 4, "D": 5}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("first the short end of the row, then the long one: %s", diff)
	}
}

// 2-opt never makes the round longer than nearest neighbours alone, visits every
// stop once, and leaves the start.
func TestRoundIsNoLongerThanNearestNeighbours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 30).Draw(t, "stops")
		at := make([]orb.Point, n)
		for i := range at {
			at[i] = orb.Point{-122 + rapid.Float64Range(0, 0.05).Draw(t, "lon"), 38 + rapid.Float64Range(0, 0.05).Draw(t, "lat")}
		}
		round := nearest(at)
		before := length(round, at)
		shorten(round, at)
		if after := length(round, at); after > before+1e-6 {
			t.Errorf("round grew from %v m to %v m", before, after)
		}
		if n > 0 && round[0] != 0 {
			t.Errorf("round starts at %d", round[0])
		}
		if sorted := slices.Sorted(slices.Values(round)); !slices.Equal(sorted, seq(n)) {
			t.Errorf("round %v does not visit each of %d stops once", round, n)
		}
	})
}

func length(round []int, at []orb.Point) (d float64) {
	for i := 1; i < len(round); i++ {
		d += geo.DistanceHaversine(at[round[i-1]], at[round[i]])
	}
	return d
}
