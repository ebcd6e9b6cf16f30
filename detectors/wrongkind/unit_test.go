package wrongkind

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"probeward/detectors/detect"
)

// Cases are written in standard units; here the unit's factor is what is wrong.
func TestUnitWithoutItsFactor(t *testing.T) {
	for _, c := range []struct {
		name, unit string
		quantity   detect.Quantity
		scale      float64
		value      func(h float64) float64 // as exported
		kind       detect.Kind
		want       []detect.Amend
	}{
		{"ohms as kohm", "kohm", detect.Ohms, 1000, func(h float64) float64 { return 10 * math.Round(200+60*saw(h)) }, detect.GranularMatrix,
			[]detect.Amend{{Probe: 7, Column: "unit", Value: "ohm"}}},
		{"kohm as kohm", "kohm", detect.Ohms, 1000, func(h float64) float64 { return math.Round(200+60*saw(h)) / 100 }, detect.GranularMatrix, nil},
		{"fractions as percents", "%", detect.WaterContent, 0.01, func(h float64) float64 { return math.Round(200+60*saw(h)) / 1000 }, detect.Dielectric,
			[]detect.Amend{{Probe: 7, Column: "unit", Value: "m3/m3"}}},
		{"percents as percents", "%", detect.WaterContent, 0.01, func(h float64) float64 { return math.Round(200+60*saw(h)) / 10 }, detect.Dielectric, nil},
		{"percents as fractions", "m3/m3", detect.WaterContent, 1, func(h float64) float64 { return math.Round(300-60*saw(h)) / 10 }, detect.Dielectric,
			[]detect.Amend{{Probe: 7, Column: "unit", Value: "%"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			probe := detect.Probe{Index: 7, Name: "A", Kind: c.kind, Unit: c.unit, Quantity: c.quantity, Scale: c.scale}
			var s detect.Series
			for h := range 24 * 21 {
				s.Time = append(s.Time, int64(h)*detect.Hour)
				s.Value = append(s.Value, c.scale*c.value(float64(h)))
			}
			e, err := detect.NewExaminer([]*detect.Detector{Detector}, nil)
			if err != nil {
				t.Fatal(err)
			}
			e.Strict = true
			o := e.Probe(&probe, &s, &detect.Context{}, detect.Period{Window: detect.Span{Start: 14 * detect.Day, End: 21 * detect.Day}}).Outcomes[0]
			if found := o.State == detect.Found; found != (c.want != nil) {
				t.Fatalf("%v, want found to be %v", o, c.want != nil)
			}
			if c.want != nil && !slices.Equal(o.Findings[0].Amends, c.want) {
				t.Errorf("amends %s, want %s", fmt.Sprint(o.Findings[0].Amends), fmt.Sprint(c.want))
			}
		})
	}
}

// saw dries for four days and wets within hours.
func saw(h float64) float64 { return math.Mod(h, 96) / 96 }
