package detect

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// days of a probe whose swing is highest at an hour, on a trend, with noise.
func swinging(name, logger string, hour float64, days int, seed uint64, drop func(t int64) bool) Summary {
	r := rand.New(rand.NewPCG(seed, 1))
	probe := Probe{Name: name, Kind: GranularMatrix, Quantity: Tension, DepthCM: Some(30.0),
		Wirings: []Wiring{{Logger: logger, Span: Span{math.MinInt64, math.MaxInt64}}}}
	var s Series
	for t := int64(0); t < int64(days)*Day; t += 30 * Minute {
		if drop != nil && drop(t) {
			continue
		}
		wave := math.Cos(2 * math.Pi * (Hours(t%Day) - hour) / 24)
		s.Time = append(s.Time, t)
		s.Value = append(s.Value, 40+2*Days(t)+0.2*r.NormFloat64()) // it dries, and does not swing
		s.Temperature = append(s.Temperature, float32(18+0.5*Days(t)+2*wave+0.05*r.NormFloat64()))
		s.Battery = append(s.Battery, float32(3.6+0.2*math.Max(0, wave)+0.005*r.NormFloat64()))
	}
	var shared Shared
	shared.Reset(&probe, &s, &Context{})
	return Summarise(&probe, &s, &shared, Period{Window: Span{0, int64(days) * Day}})
}

// The phase of a known sine, on a trend, of a wave cut off below and with hours
// missing. (Derived: the sine is given.)
func TestSwingsOfAKnownHour(t *testing.T) {
	for _, hour := range []float64{0.2, 5, 14.5, 23.9} {
		for name, drop := range map[string]func(int64) bool{
			"whole":           nil,
			"a night missing": func(t int64) bool { return t > 3*Day+20*Hour && t < 4*Day+2*Hour },
		} {
			s := swinging("A", "L", hour, 10, 7, drop)
			for _, c := range []Channel{Temperature, BatteryVoltage} {
				if len(s.Swings[c]) != 10 {
					t.Fatalf("%s, hour %.1f: %d days of %s, want 10", name, hour, len(s.Swings[c]), c)
				}
				most := 0.3
				if drop != nil {
					most = 0.7 // a wave that is cut off below is no sine
				}
				for _, w := range s.Swings[c][1:9] { // a day at the end knows half of the trend
					if off := math.Abs(wrapped(float64(w.Hour) - hour)); off > most {
						t.Errorf("%s, hour %.1f, day %d: %s highest at %.2f", name, hour, w.Day, c, w.Hour)
					}
				}
			}
		}
	}
	if s := swinging("A", "L", 5, 10, 7, func(t int64) bool { return t%Day > 12*Hour }); len(s.Swings[Temperature]) != 0 {
		t.Errorf("half a day is taken for a day: %v", s.Swings[Temperature])
	}
	if s := swinging("A", "L", 5, 10, 7, nil); len(s.Swings[SoilMoisture]) > 1 {
		t.Errorf("noise is taken for a swing on %d of 10 days", len(s.Swings[SoilMoisture]))
	}
}

// Loggers against each other: one is three hours late. The order does not matter.
func TestBeatsAgainstTheFarm(t *testing.T) {
	var all []Summary
	for i := range 7 {
		hour := 22 + 0.1*float64(i)
		if i == 3 {
			hour += 3
		}
		all = append(all, swinging(fmt.Sprint("P", i), fmt.Sprint("L", i), hour, 20, uint64(i), nil))
	}
	beats := Beats(all)
	for i := range 7 {
		for _, b := range beats[fmt.Sprint("L", i)] {
			if b.Channel == SoilMoisture {
				continue
			}
			want := 0.1 * float64(i-3)
			if i == 3 {
				want = 3
			}
			if b.Loggers != 7 || len(b.Points) != 20 {
				t.Fatalf("L%d: %d loggers, %d days", i, b.Loggers, len(b.Points))
			}
			for _, p := range b.Points {
				if math.Abs(p.Ahead-want) > 0.35 {
					t.Errorf("L%d, %s, %s: %.2f h ahead, want %.1f", i, b.Channel, Stamp(p.Time), p.Ahead, want)
				}
			}
			if b.Spread < 0.1 || b.Spread > 0.5 || b.Jitter > 0.1 || b.Wander > 0.1 {
				t.Errorf("%s: spread %.2f, jitter %.3f, wander %.3f", b.Channel, b.Spread, b.Jitter, b.Wander)
			}
		}
	}
	for i, j := 0, len(all)-1; i < j; i, j = i+1, j-1 {
		all[i], all[j] = all[j], all[i]
	}
	if again := Beats(all); fmt.Sprint(again) != fmt.Sprint(beats) {
		t.Error("the order of the summaries matters")
	}
	if two := Beats(all[:2]); len(two) != 0 {
		t.Errorf("two loggers are held against each other: %v", two)
	}
}
