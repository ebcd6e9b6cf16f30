package judge

import (
	"testing"
	"time"

	"probeward/detectors/detect"
	"probeward/schemas"
)

func TestCoverage(t *testing.T) {
	f := newFarm(6)
	// Two probes at 30 cm, one of them with an open lead; the deep ones are dead
	// since before the window, doubtful without a flag, and silent; and there is a
	// thermometer.
	for i, depth := range []float64{30, 30, 60, 90, 120, 30} {
		f.Probes[i].DepthCM = detect.Some(depth)
	}
	f.Probes[1].Block = "B0"
	f.Probes[5].Kind, f.Probes[5].Quantity = detect.SoilTemperature, detect.Celsius
	f.find(1, finding("open_circuit", 100, 0, .9))
	f.find(2, finding("flat_line", 240, 0, .9))
	f.find(3, finding("under_emitter", 200, 0, .9))
	f.find(4, finding("gap", 60.25, 0, .9))
	f.read(4, 1000, 60)
	got := Judge(f.Input).Coverage
	want := []struct {
		depth  float64
		block  string
		probes int
		bad    schemas.Verdict
		days   int
		blind  bool
		last   int64
	}{
		{30, "B0 B1", 2, schemas.Unfit, 7, false, ago(0.25)},
		{60, "B1", 1, schemas.Unfit, 0, true, ago(240.25)},
		{90, "B1", 1, schemas.Doubtful, 7, true, ago(200.25)},
		{120, "B1", 1, schemas.Silent, 5, true, ago(60.5)},
	}
	if len(got) != len(want) {
		t.Fatalf("%d rows, want %d: %+v", len(got), len(want), got)
	}
	for i, w := range want {
		g := got[i]
		if g.Farm != "North Bend" || g.Zone != "Z1" || g.DepthCM.V != w.depth || g.Block != w.block || g.Probes != w.probes || g.Verdicts[w.bad] != 1 {
			t.Errorf("row %d: %+v, want %+v", i, g, w)
		}
		if g.UsableDays != w.days || g.Blind != w.blind || g.LastTrusted.V != w.last || !g.LastTrusted.OK {
			t.Errorf("%g cm: %d days, blind %t, last %s, want %d, %t, %s", w.depth, g.UsableDays, g.Blind,
				detect.Stamp(g.LastTrusted.V), w.days, w.blind, detect.Stamp(w.last))
		}
		if w.blind != g.BlindSince.OK || (w.blind && g.BlindSince != g.LastTrusted) {
			t.Errorf("%g cm: blind since %+v", w.depth, g.BlindSince)
		}
	}
}

func TestNeverTrustedIsBlindWithoutADate(t *testing.T) {
	f := newFarm(1)
	f.find(0, finding("wrong_kind", 63*24, 0, .9))
	if g := Judge(f.Input).Coverage[0]; !g.Blind || g.BlindSince.OK || g.LastTrusted.OK || g.UsableDays != 0 {
		t.Errorf("%+v, want blind all through", g)
	}
	f = newFarm(1)
	f.blindTo(0, "x", "gap")
	if g := Judge(f.Input).Coverage[0]; !g.Blind || g.LastTrusted.OK || g.UsableDays != 0 {
		t.Errorf("%+v: what nobody examined is not trusted", g)
	}
}

// Days are those of the farm's zone, short and long ones included.
func TestDaysAreLocal(t *testing.T) {
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Skip("the days of another zone are not tested: no time zone data here (apt-get install tzdata):", err)
	}
	at := func(m time.Month, d, h int) int64 { return time.Date(2026, m, d, h, 0, 0, 0, zone).UnixMicro() }
	cases := []struct {
		name  string
		from  int64
		until int64
		hours []int64
	}{
		{"whole days", at(6, 1, 0), at(6, 4, 0), []int64{24, 24, 24}},
		{"from noon to noon", at(6, 1, 12), at(6, 3, 12), []int64{12, 24, 12}},
		{"clocks forward", at(3, 7, 0), at(3, 10, 0), []int64{24, 23, 24}},
		{"clocks back", at(10, 31, 0), at(11, 3, 0), []int64{24, 25, 24}},
	}
	for _, c := range cases {
		days := newCoverage(detect.Span{Start: c.from, End: c.until}, zone).days
		if len(days) != len(c.hours)+1 {
			t.Errorf("%s: %d days, want %d", c.name, len(days)-1, len(c.hours))
			continue
		}
		for i, h := range c.hours {
			if got := (days[i+1] - days[i]) / detect.Hour; got != h {
				t.Errorf("%s: day %d has %d h, want %d", c.name, i, got, h)
			}
		}
	}
}

// A zone that skipped a whole day (30 December 2011 in Samoa) ends the march too.
func TestASkippedDay(t *testing.T) {
	zone, err := time.LoadLocation("Pacific/Apia")
	if err != nil {
		t.Skip("a skipped day is not tested: no time zone data here (apt-get install tzdata):", err)
	}
	from := time.Date(2011, 12, 29, 0, 0, 0, 0, zone).UnixMicro()
	end := time.Date(2012, 1, 1, 0, 0, 0, 0, zone).UnixMicro()
	if days := newCoverage(detect.Span{Start: from, End: end}, zone).days; len(days) != 3 {
		t.Errorf("%d days between 29 December and New Year, want 2: the 30th never was", len(days)-1)
	}
}
