package report

import (
	"strings"
	"testing"

	"probeward/detectors/detect"
	"probeward/pipeline/feedback"
	"probeward/pipeline/previous"
	"probeward/pipeline/rank"
	"probeward/schemas"
)

// Runs are told the newest first, each once, this one as it is judged now and not as
// an earlier scan of the same week had it; visits' hits stand with their interval.
func TestSeason(t *testing.T) {
	in := farm(4, 1)
	window := in.Judged.Period.Window
	week := detect.Span{Start: window.Start - 7*detect.Day, End: window.Start}
	in.Previous = &previous.Run{Verdicts: map[string]schemas.Verdict{}, History: []previous.Past{
		{Window: week, Probe: "P0000", Verdict: schemas.Silent, UsableShare: detect.Some(0.5)},
		{Window: week, Probe: "P0001", Verdict: schemas.Fit, UsableShare: detect.Some(1.0)},
		{Window: window, Probe: "P0000", Verdict: schemas.Unknown},
	}}
	in.Book = &feedback.Book{Rates: []feedback.Rate{{Detector: "open_circuit", Hits: 9, Named: 8, Misses: 1, NotReached: 2, Share: 0.9, Low: 0.6, High: 0.98}, {Detector: "noise"}}}
	in.Quiet = []rank.Quieted{{Finding: 0, Why: "nothing wrong, <twice>"}}
	w := &work{in: &in, say: newWords(&in)}
	w.places()
	s := w.season()
	if len(s.Runs) != 2 || s.Runs[0].Counts[0] != 3 || s.Runs[0].Counts[1] != 1 || s.Runs[0].Counts[5] != 0 || s.Runs[0].Fit != 75 {
		t.Errorf("runs %+v, want 3 fit and 1 doubtful first", s.Runs)
	}
	if s.Runs[1].Fit != 50 || s.Runs[1].Usable != "75 %" || s.Runs[1].Counts[3] != 1 {
		t.Errorf("the week before: %+v", s.Runs[1])
	}
	if len(s.Rates) != 2 || s.Rates[0].Share != "90 % (60 to 98 %)" || s.Rates[1].Share != "no visit yet" {
		t.Errorf("rates %+v", s.Rates)
	}
	b, err := Page(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"nothing wrong, &lt;twice&gt;", "90 % (60 to 98 %)", "open circuit"} {
		if !strings.Contains(string(b), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}
