package detecttest

import (
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"probeward/detectors/detect"
)

// same compares answers to the bit, NaN equal to NaN.
func same(a, b detect.Outcome) string { return cmp.Diff(a, b, cmpopts.EquateNaNs()) }

// probeLaws are what holds of any probe detector on any series.
func probeLaws(t *testing.T, d *detect.Detector, k *kase, s *section, o detect.Outcome) {
	t.Helper()
	before := copySeries(&s.series)
	e := examiner(t, d)
	again := func(series *detect.Series, ctx *detect.Context, probe *detect.Probe, period detect.Period) detect.Outcome {
		return e.Probe(probe, series, ctx, period).Outcomes[0]
	}

	if diff := same(o, again(&s.series, &s.ctx, &s.probe, k.period)); diff != "" {
		t.Errorf("law of the same answer twice: %s", diff)
	}
	if diff := cmp.Diff(before, copySeries(&s.series), cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("law of the input unchanged: %s", diff)
	}

	// Another probe in between: nothing of it may stay.
	other := s.series
	other.Value = make([]float64, len(s.series.Value))
	for i, v := range s.series.Value {
		other.Value[len(other.Value)-1-i] = v
	}
	again(&other, &s.ctx, &s.probe, k.period)
	if diff := same(o, again(&s.series, &s.ctx, &s.probe, k.period)); diff != "" {
		t.Errorf("law of any order of probes: %s", diff)
	}

	inside(t, k.period, o)
	if diff := same(o, again(&s.series, undeclared(d, s), undeclaredProbe(d, s), k.period)); diff != "" {
		t.Errorf("law of undeclared columns: what is not in Needs or Uses changes the answer: %s", diff)
	}

	// Four weeks on, to the day of the week: no clock, no calendar.
	const shift = 28 * detect.Day
	moved := shifted(again(shiftSeries(&s.series, shift), shiftContext(&s.ctx, shift), shiftProbe(&s.probe, shift), shiftPeriod(k.period, shift)), -shift)
	if moved.State != o.State || len(moved.Findings) != len(o.Findings) {
		t.Errorf("law of time: four weeks on it is %s with %d findings, here %s with %d", moved.State, len(moved.Findings), o.State, len(o.Findings))
	} else {
		for i := range moved.Findings {
			if moved.Findings[i].Start != o.Findings[i].Start || moved.Findings[i].End != o.Findings[i].End {
				t.Errorf("law of time: finding %d moves with the calendar", i)
			}
		}
	}

	// Nothing at all is never healthy.
	empty := again(&detect.Series{}, &s.ctx, &s.probe, k.period)
	if empty.State == detect.Clear {
		t.Errorf("law of nothing: a series without readings is called clear")
	}
}

// inside checks that findings keep to the period and are whole.
func inside(t *testing.T, period detect.Period, o detect.Outcome) {
	t.Helper()
	for _, f := range o.Findings {
		if f.Start < period.Lookback || f.End > period.Window.End || f.Start >= f.End || f.ExcludeFrom > f.Start || f.ExcludeFrom < period.Lookback {
			t.Errorf("law of the period: a finding of %s to %s, excluded from %s, is not within it", detect.Stamp(f.Start), detect.Stamp(f.End), detect.Stamp(f.ExcludeFrom))
		}
		if f.Open != (f.End == period.Window.End) && f.Open {
			t.Errorf("law of the open end: an open finding ends at %s", detect.Stamp(f.End))
		}
		if !(f.Confidence > 0 && f.Confidence <= 1) {
			t.Errorf("law of confidence: %v is not in (0, 1]", f.Confidence)
		}
		if f.Evidence == "" || f.Unit == "" || math.IsNaN(f.Measured) || math.IsNaN(f.Threshold) {
			t.Errorf("law of evidence: a finding says in words, and in a measured value and a threshold with their unit, what it saw: %+v", f)
		}
		for i, part := range f.Parts {
			if part.Start >= part.End || part.Start < f.ExcludeFrom || part.End > f.End || i > 0 && part.Start < f.Parts[i-1].End {
				t.Errorf("law of parts: part %d is empty, outside its finding, or out of order", i)
			}
		}
	}
}

func groupLaws(t *testing.T, d *detect.Detector, k *kase, o detect.Outcome) {
	t.Helper()
	e := examiner(t, d)
	if diff := same(o, e.Group(group(k))[0]); diff != "" {
		t.Errorf("law of the same answer twice: %s", diff)
	}
	g := group(k)
	slices.Reverse(g.Members)
	if diff := same(o, e.Group(g)[0]); diff != "" {
		t.Errorf("law of any order of members: %s", diff)
	}
	inside(t, k.period, o)
	g = group(k)
	g.Members = nil
	if empty := e.Group(g)[0]; empty.State == detect.Clear && g.Stamps == nil {
		t.Errorf("law of nothing: a group without members is called clear")
	}
}
