package noise

import (
	"math"
	"math/rand/v2"
	"testing"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// A week of scatter in ohms after seven calm ones. Scatter of a fifth leaves the whole
// days out; scatter of one and a half in a hundred leaves them in, suspect, since a reading so far
// off still tells wet from dry. The calm weeks are left alone either way.
func TestHowMuchOfTheNoiseIsLeftOut(t *testing.T) {
	for _, c := range []struct{ scatter, least, most float64 }{{0.2, 0.95, 1}, {0.015, 0, 0.3}} {
		dice := rand.New(rand.NewPCG(3, 7))
		series := &detect.Series{}
		const days, a = 56, 96
		noisy := (days - 7) * a
		for i := range days * a {
			v := 3000 * math.Exp(0.5*math.Sin(float64(i)/a/5)+0.002*dice.NormFloat64())
			if i >= noisy {
				v *= math.Exp(c.scatter * dice.NormFloat64())
			}
			series.Time = append(series.Time, int64(i)*15*detect.Minute)
			series.Value = append(series.Value, math.Round(v))
		}
		e, err := detect.NewExaminer([]*detect.Detector{Detector}, nil)
		if err != nil {
			t.Fatal(err)
		}
		e.Strict = true
		end := series.Time[len(series.Time)-1] + 15*detect.Minute
		probe := &detect.Probe{Name: "A", Kind: detect.GranularMatrix, Quantity: detect.Ohms, Unit: "ohm", Scale: 1}
		o := e.Probe(probe, series, &detect.Context{}, detect.Period{Window: detect.Span{Start: end - 7*detect.Day, End: end}}).Outcomes[0]
		if len(o.Findings) != 1 {
			t.Fatalf("scatter of %g: %+v, want one finding", c.scatter, o)
		}
		out, early := 0, 0
		for i, at := range series.Time {
			for _, p := range o.Findings[0].Parts {
				if p.Holds(at) && p.Flag == schemas.FlagFail {
					if i < noisy {
						early++
					} else {
						out++
					}
				}
			}
		}
		if share := float64(out) / (7 * a); share < c.least || share > c.most || early > 0 {
			t.Errorf("scatter of %g: %.2f of the week is left out, want %g to %g; %d readings from before", c.scatter, share, c.least, c.most, early)
		}
	}
}
