package publish

import (
	"bytes"
	"testing"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/pipeline/feedback"
	"probeward/pipeline/judge"
	"probeward/pipeline/rank"
)

func TestWhatPeopleSaidStandsInHealth(t *testing.T) {
	in := run(t, "")
	window := in.Judged.Period.Window
	word := judge.Applied{Override: judge.Override{Probe: 1, Action: judge.Accept, Span: detect.Span{Start: window.Start, End: window.End + detect.Day}, Why: "read by hand"},
		Ends: detect.Some(window.End + detect.Day)}
	gone := word
	gone.Expired, gone.Why = true, "over"
	later := word
	later.Start, later.Why = window.End+detect.Hour, "not yet"
	in.Judged.Overrides = []judge.Applied{gone, word, later}
	s := in.health()
	if got, want := record(s, 1)["override"], "accept until 2026-06-06 20:26: read by hand"; got != want {
		t.Errorf("override %q, want %q", got, want)
	}
	if got, ok := record(s, 0)["override"]; ok {
		t.Errorf("another probe's override %q", got)
	}
	if got, ok := record(s, 0)["watch"]; ok {
		t.Errorf("without visits the watch is %q", got)
	}
}

// What waits is written once a finding, whatever its order, with what the next run
// needs to know.
func TestQuietFindingsAreCarriedOn(t *testing.T) {
	in := run(t, "")
	of := func(name string, finding int) rank.Quieted {
		return rank.Quieted{Finding: finding, Why: "2 visits found nothing wrong; it waits", Evidence: feedback.Evidence{Subject: "probe", Name: name,
			Fault: "noise", Visits: 2, Last: start, Confidence: detect.Some(0.8)}}
	}
	in.Quiet = []rank.Quieted{of("b", 3), of("a", 1), of("a", 2)}
	s := in.quiet()
	var b bytes.Buffer
	if err := s.csv(&b); err != nil {
		t.Fatal(err)
	}
	_, rows := cells(t, b.Bytes())
	if len(rows) != 2 || rows[0][1] != "a" || rows[1][1] != "b" {
		t.Fatalf("rows %v", rows)
	}
	want := map[string]string{"subject": "probe", "name": "a", "fault": "noise", "visits": "2", "confidence": "0.8",
		"last_visit": rows[0][4], "why": "2 visits found nothing wrong; it waits"}
	if d := cmp.Diff(want, record(s, 0)); d != "" {
		t.Error(d)
	}
}

func TestVisitsInTheManifest(t *testing.T) {
	in := run(t, "")
	if in.field() != nil {
		t.Error("there are visits where none were given")
	}
	in.Feedback = &feedback.Book{Matched: 4, Unmatched: 1, Rates: []feedback.Rate{{Detector: "noise", Hits: 1, Misses: 2, Share: 1.0 / 3, Low: 0.0614919, High: 0.7923}}}
	got := in.field()
	if got.Used != 4 || got.Unmatched != 1 || len(got.Rates) != 1 || got.Rates[0] != (HitRate{"noise", 1, 0, 2, 0, 0.3333, 0.0615, 0.7923}) {
		t.Errorf("%+v", got)
	}
}
