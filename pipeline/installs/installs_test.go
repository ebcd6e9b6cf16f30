package installs

import (
	"strings"
	"testing"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

func TestNewProbes(t *testing.T) {
	const installed = 1_780_000_000_000_000
	settling := judge.Finding{Finding: detect.Finding{Fault: "settling", Open: true, Threshold: 14}}
	open := judge.Finding{Finding: detect.Finding{Fault: "open_circuit", Open: true}}
	masked := judge.Finding{Finding: detect.Finding{Fault: "noise", Open: true}, MaskedBy: "settling of c"}
	probes := []detect.Probe{{Name: "a"}, {Name: "b"}, {Name: "c"}, {Name: "d"}, {Name: "e"}}
	for i := range probes[:4] {
		probes[i].InstalledOn = detect.Some[int64](installed)
	}
	judged := &judge.Result{Findings: []judge.Finding{settling, open, masked}, States: []judge.State{
		{InGround: true}, {InGround: true, Touching: []int{0, 1}}, {InGround: true, Touching: []int{0, 2}}, {InGround: true, Touching: []int{0}}, {InGround: true}}}
	clear := detect.Report{Outcomes: []detect.Outcome{{}, detect.Healthy()}}
	in := Input{Probes: probes, Judged: judged, Zone: time.UTC,
		Detectors: []*detect.Detector{{Name: "flat_line"}, {Name: "wrong_kind"}}, Reports: []detect.Report{clear, clear, clear, {Outcomes: make([]detect.Outcome, 2)}, clear},
		Times: func(p int) []int64 {
			if p == 3 {
				return []int64{installed - detect.Day} // from before it went into the ground
			}
			return []int64{installed - detect.Hour, installed + 6*detect.Hour}
		},
		Previous: map[string]schemas.Verdict{"a": schemas.Fit, "b": schemas.Fit, "c": schemas.Fit, "d": schemas.Fit}}
	got := Installs(in)
	want := []struct {
		accepted bool
		words    string
	}{{false, "open_circuit"}, {true, "usable from 2026-06-11"}, {false, "no value came"}, {true, "not in the run before"}}
	if len(got) != 4 {
		t.Fatalf("%d installs, want b, c, d and e: %+v", len(got), got)
	}
	for i, n := range got {
		if n.Probe != i+1 || n.Accepted != want[i].accepted || !strings.Contains(n.Why, want[i].words) {
			t.Errorf("%+v, want %+v", n, want[i])
		}
	}
	if got[0].HoursToFirst != detect.Some(6.0) || !got[0].FitsKind.V || got[2].OnPort.OK || got[2].FitsKind.OK {
		t.Errorf("%+v", got)
	}
	in.Previous = nil
	if n := len(Installs(in)); n != 3 {
		t.Errorf("without a run before, %d new probes, want those that settle", n)
	}
}
