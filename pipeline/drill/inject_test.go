package drill

import (
	"math"
	"testing"

	"probeward/detectors/detect"
)

// The published form, worked out by hand at 24 degC: 3 kohm is
// (4.093 + 9.639) / (0.7108 - 0.029199) = 20.147 kPa (form of Shock, Barnum & Seddigh
// 1998, checked, the paper itself not seen; worked out by hand, derived).
func TestBlockForm(t *testing.T) {
	kPa := &detect.Probe{Kind: detect.GranularMatrix, Quantity: detect.Tension}
	if got := valueOf(kPa, 3000); math.Abs(got-20.147) > 0.001 {
		t.Errorf("3 kohm: %.4f kPa, want 20.147", got)
	}
	for _, x := range []float64{0, 3, 9.99, 10, 25, 80, 199, 239} {
		if back := valueOf(kPa, ohmsOf(kPa, x)); math.Abs(back-x) > 1e-9*(1+x) {
			t.Errorf("%g kPa comes back as %g", x, back)
		}
	}
	last := -1.0
	for r := 600.0; r < 90_000; r += 50 {
		if got := valueOf(kPa, r); got < last {
			t.Fatalf("%.0f ohm reads %.2f kPa, wetter than less", r, got)
		} else {
			last = got
		}
	}
}

// A changed value is one that the export could hold: within its ends, in its steps,
// the very number that would be printed.
func TestChangedValuesLookLikeTheExport(t *testing.T) {
	p := &detect.Probe{Kind: detect.Dielectric, Quantity: detect.WaterContent, Scale: 0.01}
	s := &strip{Series: &detect.Series{Time: []int64{1, 2, 3}, Value: []float64{20.1, 20.2, 20.3}}, probe: p, step: 0.1, low: 0, high: 0.6}
	for _, c := range []struct{ put, want float64 }{{0.2512, 25.1}, {0.30349, 30.3}, {-0.2, 0}, {7, 60}} {
		s.set(1, c.put)
		if s.Value[1] != c.want {
			t.Errorf("%g m3/m3 is written as %v %%, want %v", c.put, s.Value[1], c.want)
		}
	}
	if s.Value[0] != 20.1 || s.Value[2] != 20.3 {
		t.Errorf("its neighbours changed: %v", s.Value)
	}
}

func TestHushTakesBlanksAndWhatStandsBeside(t *testing.T) {
	s := &strip{Series: &detect.Series{Time: []int64{1, 3, 5, 7}, Value: []float64{1, 2, 3, 4}, Temperature: []float32{9, 8, 7, 6},
		Blank: []int64{2, 4, 8}, Coded: []detect.Coded{{Time: 4, Code: 1}, {Time: 8, Code: 1}}}}
	s.hush(detect.Span{Start: 3, End: 7})
	if len(s.Time) != 2 || s.Value[1] != 4 || s.Temperature[1] != 6 || len(s.Blank) != 2 || len(s.Coded) != 1 {
		t.Errorf("left: %+v", s.Series)
	}
}

// Trials that share a variant share no logger, and no zone at one depth.
func TestPackKeepsSiblingsHealthy(t *testing.T) {
	probe := &Form{Target: oneProbe}
	trial := func(zone, logger, depth string) *Trial {
		return &Trial{Form: probe, Depth: depth, zones: []string{zone}, loggers: []string{logger}}
	}
	trials := []*Trial{trial("A", "1", "deep"), trial("A", "2", "deep"), trial("A", "2", "shallow"), trial("B", "1", "deep"),
		{Form: &Form{Target: oneZone}, zones: []string{"A"}, loggers: []string{"9"}}, {Form: probe, Depth: "deep", zones: []string{"C"}, loggers: []string{"7"}, alone: true}}
	of := map[int]int{}
	for i, load := range pack(trials, false) {
		for _, k := range load {
			of[k] = i
		}
	}
	if of[0] != of[2] || of[0] == of[1] || of[0] == of[3] || of[4] == of[0] || of[4] == of[1] || len(of) != 6 {
		t.Errorf("variants by trial: %v", of)
	}
	for k := range 5 {
		if of[k] == of[5] {
			t.Errorf("trial %d is with the one that stands alone", k)
		}
	}
	if whole := pack(trials[:3], true); len(whole) != 3 {
		t.Errorf("three trials in one zone are in %d variants", len(whole))
	}
}
