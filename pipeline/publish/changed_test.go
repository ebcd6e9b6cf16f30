package publish

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/pipeline/previous"
	"probeward/schemas"
)

// Derived: two probes' spans against those of the run before, in a zone whose day
// begins at 07:00 UTC.
func TestExclusionsChanged(t *testing.T) {
	in := run(t, "")
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Skipf("no time zones here, so no local midnight is tested: %v", err)
	}
	in.Config.Zone = zone
	// start is 2026-05-28T20:26:40Z, 13:26:40 at the farm; the run before looked
	// until 2026-06-02T20:26:40Z and left out a day from two days before ours on.
	name := in.Register.Probes[0].Name
	in.Previous = &previous.Run{
		Period:     detect.Period{Lookback: start - 9*detect.Day, Window: detect.Span{Start: start - detect.Day, End: start + 5*detect.Day}},
		Exclusions: map[string][]previous.Exclusion{name: {{Span: detect.Span{Start: start + 2*detect.Day, End: start + 4*detect.Day}, Reasons: "noise"}}},
	}
	type change struct {
		day, word string
		hours     float64
		reasons   string
	}
	var got []change
	for _, r := range in.exclusionsChanged().rows {
		if r[0] != "B2" || r[2] != name {
			t.Errorf("row of zone %v and probe %v", r[0], r[2])
		}
		got = append(got, change{time.UnixMicro(r[1].(int64)).In(zone).Format("01-02 15:04"), r[3].(string), r[4].(float64), r[5].(string)})
	}
	want := []change{
		{"05-30 00:00", "restored", round(10 + 33.0/60 + 20.0/3600).(float64), "noise"},
		{"05-31 00:00", "restored", round(13 + 26.0/60 + 40.0/3600).(float64), "noise"},
		{"06-01 00:00", "withdrawn", round(10 + 33.0/60 + 20.0/3600).(float64), "open_circuit"},
		{"06-02 00:00", "withdrawn", round(13 + 26.0/60 + 40.0/3600).(float64), "open_circuit"},
	}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(change{})); diff != "" {
		t.Errorf("beyond the end of the run before nothing changes: %s", diff)
	}
}

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
		Visits:   map[string]previous.Visit{"P07-cable": {OpenSince: detect.Some[int64](start - 5*detect.Day), RunsOpen: 1}},
		Exclusions: map[string][]previous.Exclusion{p[0].Name: {
			{Span: detect.Span{Start: start + 3*detect.Day, End: start + 8*detect.Day}, Reasons: "open_circuit"}}},
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
