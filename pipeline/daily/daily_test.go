package daily

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
)

// A day has 25 hours when the clocks go back, and what is excluded counts for nothing.
func TestDays(t *testing.T) {
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	midnight := time.Date(2026, 11, 1, 0, 0, 0, 0, zone).UnixMicro()
	var s detect.Series
	for i := range 27 {
		s.Time, s.Value = append(s.Time, midnight+int64(i)*detect.Hour), append(s.Value, float64(i))
	}
	out := []judge.Exclusion{{Span: detect.Span{Start: midnight, End: midnight + 2*detect.Hour}}, {Span: detect.Span{Start: midnight + 24*detect.Hour, End: midnight + 25*detect.Hour}}}
	got := sum(nil, 3, &s, out, zone)
	want := []Day{
		{Probe: 3, Start: midnight, Minimum: 2, Mean: 12.5, Maximum: 23, Last: 23, Readings: 22, Excluded: 3},
		{Probe: 3, Start: midnight + 25*detect.Hour, Minimum: 25, Mean: 25.5, Maximum: 26, Last: 26, Readings: 2},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if got := sum(nil, 0, &s, []judge.Exclusion{{Span: detect.Span{Start: midnight, End: midnight + detect.Day*3}}}, zone); got != nil {
		t.Errorf("days without a usable reading: %v", got)
	}
}
