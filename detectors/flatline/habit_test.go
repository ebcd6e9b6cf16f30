package flatline

import (
	"math"
	"math/rand/v2"
	"testing"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// flicker_share claims that a normal noise of 0.38 of a count, in the middle of a
// count where it shows least, turns to and fro at a quarter of the readings
// (derived; here by drawing).
func TestFlickerShareIsThatOfNoiseNearACount(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	h := &habit{q: detect.WaterContent, v: make([]float64, 200_000), t: make([]int64, 200_000)}
	for i := range h.v {
		h.v[i] = math.Round(0.38 * r.NormFloat64())
		h.t[i] = int64(i) * detect.Minute
	}
	var turns float64
	e, err := detect.NewExaminer([]*detect.Detector{within(func(p *detect.Pass) {
		h.p = p
		turns = h.day(0, len(h.v)).turns / float64(len(h.v))
	})}, nil)
	if err != nil {
		t.Fatal(err)
	}
	e.Strict = true
	probe := detect.Probe{Name: "A", Kind: detect.Dielectric, Quantity: detect.WaterContent}
	series := detect.Series{Time: h.t, Value: h.v}
	e.Probe(&probe, &series, &detect.Context{}, detect.Period{Window: detect.Span{Start: 0, End: h.t[len(h.t)-1] + 1}})
	if math.Abs(turns-0.25) > 0.01 {
		t.Errorf("%.3f turns a reading, want 0.25", turns)
	}
}

// within is the detector with another body, to come by a pass.
func within(body func(*detect.Pass)) *detect.Detector {
	d := *Detector
	d.Run = func(p *detect.Pass) detect.Outcome { body(p); return detect.Healthy() }
	return &d
}

// A probe that moved at all of ten waterings sleeps through one with a chance of
// one less the lower Wilson bound: 10/(10 + 1.28^2) = 0.859 (Wilson 1927; derived,
// since for k = n the bound is n/(n + z^2)).
func TestSleepingThroughOneWatering(t *testing.T) {
	share, _ := robust.Wilson(10, 10, 1.28)
	if want := 10 / (10 + 1.28*1.28); math.Abs(share-want) > 1e-9 {
		t.Fatalf("lower bound %.4f, want %.4f", share, want)
	}
	if nats := -math.Log1p(-share); math.Abs(nats-1.96) > 0.005 {
		t.Errorf("%.3f nats for one watering, want 1.96", nats)
	}
}

// Only exactly equal values are a stand, and its length is in time and not in
// readings: the open standard's flat line test counts three or five repeats (IOOS
// QARTOD, test 8, from memory), which are a quarter of a night here.
func TestStandsAreExactAndLong(t *testing.T) {
	day := int64(detect.Day)
	times := []int64{0, day / 4, day / 2, 3 * day / 4, day, 5 * day / 4}
	for _, c := range []struct {
		name string
		v    []float64
		want int
	}{
		{"twelve hours", []float64{1, 2, 2, 2, 3, 4}, 1},
		{"six hours", []float64{1, 2, 2, 3, 4, 5}, 0},
		{"almost equal", []float64{1, 2, math.Nextafter(2, 3), 2, 3, 4}, 0},
		{"two stands", []float64{1, 1, 1, 2, 2, 2}, 2},
	} {
		if got := findStands(times, c.v, 12*detect.Hour); len(got) != c.want {
			t.Errorf("%s: %d stands, want %d", c.name, len(got), c.want)
		}
	}
}
