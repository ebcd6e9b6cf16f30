package dryoutspike

import (
	"math"
	"testing"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
)

// The bound against published physics. The drying bound of FAO-56 (Allen, Pereira,
// Raes & Smith 1998) at 8 mm/d, a wine grape's mid-season factor of 0.70 (table 12)
// and 0.3 m is 0.01867 m3/m3 per day (derived); the days to dry 0.3 m from 20 to
// 200 kPa at 6 mm/d follow from Carsel & Parrish (1988): loam 4.09, sandy loam
// 1.32 (derived from the checked table).
func TestBoundAgainstPublishedValues(t *testing.T) {
	if got := soil.DryingBound(8, soil.KcWineMid, 0.3); math.Abs(got-0.01867) > 0.000005 {
		t.Errorf("drying bound %.5f m3/m3 per day, want 0.01867", got)
	}
	for _, c := range []struct {
		texture string
		days    float64
	}{{"loam", 4.09}, {"sandy loam", 1.32}, {"silt loam", 6.18}, {"clay loam", 4.91}, {"clay", 2.28}} {
		texture, _ := soil.TextureNamed(c.texture)
		got := waterBetween(texture, 20, 200) / soil.DryingBound(6, 1, 0.3)
		if math.Abs(got-c.days) > 0.006 {
			t.Errorf("%s: 20 to 200 kPa takes %.3f d, want %.2f", c.texture, got, c.days)
		}
	}
}

// scan runs the detector on one series of 15 minute readings with a spike whose
// legs take so many readings each, in the working space of the quantity.
func scan(t *testing.T, q detect.Quantity, texture string, base, peak float64, legs int) detect.Outcome {
	t.Helper()
	const n = 800
	probe := detect.Probe{Name: "A", Kind: detect.GranularMatrix, Quantity: q, Texture: texture, Scale: 1}
	if q == detect.WaterContent {
		probe.Kind = detect.Dielectric
	}
	var s detect.Series
	a, b := q.Wetness(base), q.Wetness(peak)
	for i := range n {
		w := a
		if k := i - 400; k > 0 && k <= 2*legs {
			w = a + (b-a)*(1-math.Abs(float64(k-legs))/float64(legs))
		}
		// A scatter of a tenth of the least fall's noise, fixed.
		w += 0.1 * q.SensorNoise() * math.Sin(float64(i*i))
		s.Time = append(s.Time, int64(i)*15*detect.Minute)
		s.Value = append(s.Value, q.Dryness(w))
	}
	ctx := detect.Context{HasIrrigation: true}
	end := s.Time[n-1] + 15*detect.Minute
	e, err := detect.NewExaminer([]*detect.Detector{Detector}, nil)
	if err != nil {
		t.Fatal(err)
	}
	e.Strict = true
	return e.Probe(&probe, &s, &ctx, detect.Period{Window: detect.Span{Start: 0, End: end}}).Outcomes[0]
}

// Either side of the bound of 12 mm/d at noon in 0.15 m, 0.012 m3/m3 per hour: a
// fall of 0.030 m3/m3 (six tenths of it in six tenths of the legs) takes 2.5 h at
// the least. Slower it is soil's; and less than twice min_fall_water, so that the
// detector lets it be.
func TestFallAtTheBound(t *testing.T) {
	for _, c := range []struct {
		legs int // of 15 min
		want detect.State
	}{{1, detect.Found}, {4, detect.Found}, {8, detect.Found}, {12, detect.Clear}, {24, detect.Clear}} {
		if got := scan(t, detect.WaterContent, "", 0.28, 0.25, c.legs); got.State != c.want {
			t.Errorf("0.030 m3/m3 in %d min is %s, want %s", 15*c.legs, got.State, c.want)
		}
	}
}

// The same excursion in kPa is impossible in loam and possible, as far as the fall
// goes, in sand: there the return alone must prove it, and a small one does not.
func TestTextureDecides(t *testing.T) {
	for _, c := range []struct {
		texture string
		peak    float64
		want    detect.State
	}{{"loam", 78, detect.Found}, {"sand", 78, detect.Clear}, {"", 78, detect.Clear}, {"", 120, detect.Found}} {
		if got := scan(t, detect.Tension, c.texture, 55, c.peak, 2); got.State != c.want {
			t.Errorf("55 to %.0f kPa in half an hour in %q is %s, want %s", c.peak, c.texture, got.State, c.want)
		}
	}
}

func TestDemandTakesThePlaceOfTheLimit(t *testing.T) {
	probe := detect.Probe{Name: "A", Kind: detect.Dielectric, Quantity: detect.WaterContent}
	series := detect.Series{Time: []int64{0}, Value: []float64{0.2}}
	for _, c := range []struct {
		name   string
		demand []detect.Demand
		has    bool
		want   float64
	}{
		{"no weather", nil, false, 12},
		{"a day of 6 mm", []detect.Demand{{Span: detect.Span{Start: -detect.Day, End: detect.Day}, MM: 12}}, true, 6},
		{"six hours of it only", []detect.Demand{{Span: detect.Span{Start: 0, End: 6 * detect.Hour}, MM: 6}}, true, 12},
		{"none in winter", []detect.Demand{{Span: detect.Span{Start: -detect.Day, End: detect.Day}, MM: 0}}, true, 1},
	} {
		var got float64
		d := *Detector
		d.MinReadings, d.MinSpanHours = 0, 0
		d.Run = func(p *detect.Pass) detect.Outcome { got = newSearch(p).et0(0); return detect.Healthy() }
		e, err := detect.NewExaminer([]*detect.Detector{&d}, nil)
		if err != nil {
			t.Fatal(err)
		}
		e.Strict = true
		ctx := detect.Context{Demand: c.demand, HasDemand: c.has}
		e.Probe(&probe, &series, &ctx, detect.Period{Window: detect.Span{Start: 0, End: detect.Day}})
		if math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %.2f mm/d, want %.2f", c.name, got, c.want)
		}
	}
}
