package wrongzone

import (
	"math"
	"testing"

	"probeward/detectors/detect"
	"probeward/detectors/detecttest"
)

func TestDetector(t *testing.T) { detecttest.Run(t, Detector) }

// farm has two zones that are watered every 4 days, two days apart, and a post in
// the first that wets at so many of the waterings of the second.
func farm(answered int) *detect.Group {
	const day = detect.Day
	period := detect.Period{Window: detect.Span{Start: 33 * day, End: 40 * day}}
	g := &detect.Group{Scope: detect.PerFarm, Name: "F", Period: period, Zones: map[string][]detect.Water{}}
	m := detect.Summary{
		Probe:  detect.Probe{Name: "A", Post: "P1", Zone: "Z1", Kind: detect.GranularMatrix, Quantity: detect.Tension},
		Period: period, Cadence: detect.Hour, First: detect.Some(int64(0)), Last: detect.Some(40 * day), Values: 960,
	}
	for i := int64(0); i < 10; i++ {
		g.Zones["Z1"] = append(g.Zones["Z1"], detect.Water{Span: detect.Span{Start: (4*i + 1) * day, End: (4*i+1)*day + 6*detect.Hour}})
		at := (4*i + 3) * day
		g.Zones["Z2"] = append(g.Zones["Z2"], detect.Water{Span: detect.Span{Start: at, End: at + 6*detect.Hour}})
		if int(i) < answered {
			m.Wettings = append(m.Wettings, detect.Wetting{Onset: at + 2*detect.Hour, Peak: at + 5*detect.Hour, Rise: 1})
		}
	}
	g.Members = []detect.Summary{m}
	return g
}

func answer(t *testing.T, g *detect.Group, thresholds detect.Thresholds) detect.Outcome {
	t.Helper()
	e, err := detect.NewExaminer([]*detect.Detector{Detector}, thresholds)
	if err != nil {
		t.Fatal(err)
	}
	e.Strict = true
	return e.Group(g)[0]
}

// By hand: windows of 14 h every 96 h hold 10 of 10 onsets, of which none is in a
// window of the own zone at any lag up to 36 h; at 48 h the two are one, so the own
// zone may be no later than 30 h here. The price is that of 7 lags, 1 other zone and
// 3 sizes.
func TestMarginByHand(t *testing.T) {
	o := answer(t, farm(10), detect.Thresholds{"wrong_zone": {"own_lag_hours": 30}})
	if o.State != detect.Found {
		t.Fatalf("is %s (%s), want found", o.State, o.Why)
	}
	share := 10.5 / 11
	want := 10*math.Log(share/(14.0/96)) - math.Log(7*3)
	if got := o.Findings[0].Measured; math.Abs(got-want) > 0.01 {
		t.Errorf("margin %.3f, by hand %.3f", got, want)
	}
}

// With lags of up to two days for the own zone the same onsets fit both.
func TestPhaseLockedZonesAreNotToldApart(t *testing.T) {
	if o := answer(t, farm(10), nil); o.State == detect.Found {
		t.Errorf("finds %s", o.Findings[0].Evidence)
	}
}

func TestMarginHolds(t *testing.T) {
	for _, c := range []struct {
		margin float64
		want   bool
	}{{15, true}, {16, false}} {
		o := answer(t, farm(10), detect.Thresholds{"wrong_zone": {"own_lag_hours": 30, "margin": c.margin}})
		if (o.State == detect.Found) != c.want {
			t.Errorf("a margin of %.0f: %s", c.margin, o.State)
		}
	}
}
