package cabledamage

import (
	"math"
	"testing"

	"probeward/detectors/detect"
	"probeward/detectors/detecttest"
	"probeward/detectors/soil"
	"probeward/schemas"
)

func TestDetector(t *testing.T) { detecttest.Run(t, Detector) }

// The arithmetic in the manual: a leak of 8 kohm beside 20 kohm reads 5714.3 ohm,
// 34.27 kPa instead of 134.05 at 24 degC, and beside 2 kohm 1600, 13.28 instead of
// 15.22; 500 ohm in series with 550 read 10.66 kPa instead of 0 (parallel and series
// resistance with the piecewise form of Allen 2000; derived).
func TestLeakAndJoint(t *testing.T) {
	for _, c := range []struct{ ohms, leak, series, reads, kPa float64 }{
		{20000, 8000, 0, 5714.3, 34.27},
		{2000, 8000, 0, 1600, 13.28},
		{550, math.Inf(1), 500, 1050, 10.66},
	} {
		reads := soil.Parallel(c.ohms, c.leak) + c.series
		kPa, ok := soil.GranularTension(reads, 24)
		if !ok || math.Abs(reads-c.reads) > 0.05 || math.Abs(kPa-c.kPa) > 0.006 {
			t.Errorf("%.0f ohm reads %.1f ohm, %.3f kPa (%v); derived %.1f ohm, %.2f kPa", c.ohms, reads, kPa, ok, c.reads, c.kPa)
		}
	}
}

// A contact that flips all through a look-back stays one finding with a bounded
// number of parts, and no lost reading is left unflagged for it.
func TestPartsAreBounded(t *testing.T) {
	const n, every = 5000, 5
	series := &detect.Series{}
	for i := range n {
		v := 3000.0
		if i%every == every-1 {
			v = 199000
		}
		series.Time = append(series.Time, int64(i)*15*detect.Minute)
		series.Value = append(series.Value, v)
	}
	e, err := detect.NewExaminer([]*detect.Detector{Detector}, nil)
	if err != nil {
		t.Fatal(err)
	}
	e.Strict = true
	end := series.Time[n-1] + 15*detect.Minute
	probe := &detect.Probe{Name: "A", Kind: detect.GranularMatrix, Quantity: detect.Ohms, Unit: "ohm", Scale: 1}
	o := e.Probe(probe, series, &detect.Context{}, detect.Period{Window: detect.Span{Start: end - 7*detect.Day, End: end}}).Outcomes[0]
	if len(o.Findings) != 1 {
		t.Fatalf("%d findings, want 1", len(o.Findings))
	}
	parts := o.Findings[0].Parts
	if len(parts) == 0 || len(parts) > mostParts {
		t.Errorf("%d parts, want 1 to %d", len(parts), mostParts)
	}
	k := 0
	for i, at := range series.Time {
		for k < len(parts) && parts[k].End <= at {
			k++
		}
		failed := k < len(parts) && parts[k].Holds(at) && parts[k].Flag == schemas.FlagFail
		if series.Value[i] > 100000 && !failed {
			t.Fatalf("reading %d is lost and not flagged", i)
		}
	}
}
