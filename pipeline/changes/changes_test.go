package changes

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
)

const start = 1_780_000_000_000_000

// Derived: a probe's spans against those of the run before, in a zone whose day
// begins at 07:00 UTC.
func TestExclusions(t *testing.T) {
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Skipf("no time zones here, so no local midnight is tested (apt-get install tzdata): %v", err)
	}
	// start is 2026-05-28T20:26:40Z, 13:26:40 at the farm; the run before looked
	// until 2026-06-02T20:26:40Z and left out a day from two days before ours on.
	probes := []detect.Probe{{Name: "HB-0000", Zone: "B2"}}
	judged := &judge.Result{
		Period:     detect.Period{Lookback: start, Window: detect.Span{Start: start + detect.Day, End: start + 8*detect.Day}},
		Exclusions: []judge.Exclusion{{Probe: 0, Span: detect.Span{Start: start + 3*detect.Day, End: start + 8*detect.Day}, Reasons: []string{"open_circuit"}}},
	}
	before := &previous.Run{
		Period:     detect.Period{Lookback: start - 9*detect.Day, Window: detect.Span{Start: start - detect.Day, End: start + 5*detect.Day}},
		Exclusions: map[string][]previous.Exclusion{"HB-0000": {{Span: detect.Span{Start: start + 2*detect.Day, End: start + 4*detect.Day}, Reasons: "noise"}}},
	}
	day := func(d int) int64 { return time.Date(2026, 5, d, 0, 0, 0, 0, zone).UnixMicro() }
	want := []Change{
		{"B2", "HB-0000", day(30), false, 10 + 33.0/60 + 20.0/3600, "noise"},
		{"B2", "HB-0000", day(31), false, 13 + 26.0/60 + 40.0/3600, "noise"},
		{"B2", "HB-0000", day(32), true, 10 + 33.0/60 + 20.0/3600, "open_circuit"},
		{"B2", "HB-0000", day(33), true, 13 + 26.0/60 + 40.0/3600, "open_circuit"},
	}
	got := Exclusions(probes, judged, before, zone)
	if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
		t.Errorf("beyond the end of the run before nothing changes: %s", diff)
	}
	if len(Exclusions(probes, judged, nil, zone)) != 0 {
		t.Error("changes against no run")
	}
	// What was withdrawn and given back adds up to what differs: the hours of either
	// run, less twice what both leave out.
	hours := 0.0
	for _, c := range got {
		hours += c.Hours
	}
	if math.Abs(hours-(24+24)) > 1e-9 {
		t.Errorf("%v hours changed", hours)
	}
}
