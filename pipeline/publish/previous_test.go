package publish

import (
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/pipeline/previous"
	"probeward/schemas"
)

func TestPreviousReadsWhatWasWritten(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	in := run(t, dir)
	in.Visits[0].OpenSince = detect.Some[int64](start - 5*detect.Day)
	if _, err := Folder(in); err != nil {
		t.Fatal(err)
	}
	got, err := previous.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	p := in.Register.Probes
	want := &previous.Run{
		Period:   in.Judged.Period,
		Verdicts: map[string]schemas.Verdict{p[0].Name: schemas.Unfit, p[1].Name: schemas.Fit, p[2].Name: schemas.Fit},
		Visits:   map[string]previous.Visit{"P07-cable": {OpenSince: detect.Some[int64](start - 5*detect.Day), RunsOpen: 1, Probes: []string{p[0].Name}}},
		Exclusions: map[string][]previous.Exclusion{p[0].Name: {
			{Span: detect.Span{Start: start + 3*detect.Day, End: start + 8*detect.Day}, Reasons: "open_circuit"}}},
		Findings: []previous.Finding{{Subject: "probe", Name: p[0].Name, Fault: "open_circuit", Confidence: 0.98,
			Distance: detect.Some(35000 - 0.333333)}},
	}
	share := detect.Some(round(float64(in.Judged.States[1].Usable) / float64(in.Judged.States[1].Expected.V)).(float64))
	for i, st := range in.Judged.States {
		h := previous.Past{Window: in.Judged.Period.Window, Probe: p[i].Name, Zone: p[i].Zone, Verdict: st.Verdict, UsableShare: share}
		if i == 0 {
			h.MainFault, h.UsableShare = "open_circuit", detect.Maybe[float64]{}
		}
		want.History = append(want.History, h)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A season's history grows by a run each week, and a week that is scanned again
// takes the place of its first scan.
func TestHistoryIsCarriedOn(t *testing.T) {
	in := run(t, filepath.Join(t.TempDir(), "out"))
	window := in.Judged.Period.Window
	week := detect.Span{Start: window.Start - 7*detect.Day, End: window.Start}
	in.Previous = &previous.Run{History: []previous.Past{
		{Window: week, Probe: "old", Verdict: schemas.Silent},
		{Window: window, Probe: "old", Verdict: schemas.Fit}, // this very week, scanned before
	}}
	rows := in.history().rows
	if len(rows) != 1+len(in.Register.Probes) || rows[0][2] != "old" || rows[0][4] != "silent" {
		t.Errorf("%d rows, the first %v", len(rows), rows[0])
	}
}
