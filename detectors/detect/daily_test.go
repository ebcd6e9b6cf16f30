package detect

import (
	"math"
	"testing"
)

func daily(kind Kind, q Quantity, t []int64, v []float64) []DayLevel {
	probe := Probe{Kind: kind, Quantity: q}
	series := Series{Time: t, Value: v}
	var s Shared
	s.Reset(&probe, &series, &Context{})
	return Summarise(&probe, &series, &s, Period{Window: Span{0, 3 * Day}}).Daily
}

func TestDailyLevels(t *testing.T) {
	got := daily(Tensiometer, Tension, []int64{1 * Hour, 2 * Hour, 3 * Hour, Day + Hour, Day + 2*Hour}, []float64{30, 10, -25, 20, 20})
	if len(got) != 2 {
		t.Fatalf("%d days, want 2", len(got))
	}
	// Two metres of water cannot stand above the cup: -25 kPa is no level.
	a := got[0]
	if a.Start != 0 || a.Readings != 2 || a.Values != 3 || a.Median != 20 || a.Min != 10 || a.Max != 30 || a.Changes != 2 || a.Distinct != 3 {
		t.Errorf("first day: %+v", a)
	}
	if b := got[1]; b.Start != Day || b.Readings != 2 || b.Median != 20 || b.Changes != 0 || b.Distinct != 1 {
		t.Errorf("second day: %+v", b)
	}
	if got := daily(Tensiometer, Tension, []int64{-Hour}, []float64{20}); len(got) != 1 || got[0].Start != -Day {
		t.Errorf("a stamp before 1970: %+v", got)
	}
}

func TestDigestsAreEqualOnlyForEqualDays(t *testing.T) {
	times := []int64{Hour, 2 * Hour, 3 * Hour}
	digest := func(t []int64, v ...float64) uint64 { return daily(Dielectric, WaterContent, t, v)[0].Digest }
	base := digest(times, 0.2, 0, 0.21)
	later := []int64{Day + Hour, Day + 2*Hour, Day + 3*Hour}
	if digest(later, 0.2, 0, 0.21) != base || digest(times, 0.2, math.Copysign(0, -1), 0.21) != base {
		t.Error("the same readings on another day, or with a zero of the other sign, have another digest")
	}
	for name, other := range map[string]uint64{
		"a value":   digest(times, 0.2, 0, math.Nextafter(0.21, 1)),
		"the order": digest(times, 0.21, 0, 0.2),
		"a stamp":   digest([]int64{Hour, 2 * Hour, 3*Hour + Second}, 0.2, 0, 0.21),
		"a loss":    digest(times[:2], 0.2, 0),
	} {
		if other == base {
			t.Errorf("%s differs, and the digest does not", name)
		}
	}
}

// A day has no more distinct values than are counted.
func TestDistinctIsBounded(t *testing.T) {
	var times []int64
	var v []float64
	for i := range 96 {
		times = append(times, int64(i)*15*Minute)
		v = append(v, 0.2+float64(i)/1000)
	}
	if d := daily(Dielectric, WaterContent, times, v)[0]; d.Distinct != MaxDistinct || d.Changes != 95 {
		t.Errorf("%+v", d)
	}
}
