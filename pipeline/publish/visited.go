package publish

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/rank"
	"probeward/schemas"
)

// FieldEntry is what the visits of the crew said, and how the run took it.
type FieldEntry struct {
	Used      int       `json:"rows_used"`
	Unmatched int       `json:"rows_about_nothing_known"`
	Repeated  int       `json:"rows_repeated"`
	Later     int       `json:"rows_after_the_window"`
	Mended    int       `json:"mended_in_the_period"`
	Watched   int       `json:"probes_on_watch"`
	Quiet     int       `json:"findings_that_wait"`
	Rates     []HitRate `json:"hit_rates"`
}

// HitRate is how often a detector's finding was a fault where the crew looked.
type HitRate struct {
	Detector   string  `json:"detector"`
	Hits       int     `json:"hits"`
	Named      int     `json:"hits_by_name"`
	Misses     int     `json:"misses"`
	NotReached int     `json:"not_reached"`
	Share      float64 `json:"share"`
	Low        float64 `json:"low_95"`
	High       float64 `json:"high_95"`
}

// field sums up the visits; nil: there were none.
func (in *Input) field() *FieldEntry {
	b := in.Feedback
	if b == nil {
		return nil
	}
	e := &FieldEntry{Used: b.Matched, Unmatched: b.Unmatched, Repeated: b.Repeated, Later: b.Later, Mended: len(b.Mends()),
		Quiet: len(in.Quiet), Rates: []HitRate{}}
	for i := range in.Register.Probes {
		if b.Watch(i) != "" {
			e.Watched++
		}
	}
	for _, r := range b.Rates {
		e.Rates = append(e.Rates, HitRate{r.Detector, r.Hits, r.Named, r.Misses, r.NotReached, rounded(r.Share), rounded(r.Low), rounded(r.High)})
	}
	return e
}

func rounded(x float64) float64 { return math.Round(x*1e4) / 1e4 }

// words joins a person's words about a probe that hold at the window's end.
func (in *Input) words(probe int) string {
	var out []string
	for k := range in.Judged.Overrides {
		a := &in.Judged.Overrides[k]
		if a.Probe == probe && !a.Expired && a.Start < in.Arranged.Period.Window.End {
			out = append(out, rank.Word(a, in.Config.Zone))
		}
	}
	return strings.Join(out, "; ")
}

// quiet lists the findings that wait because of what visits found.
func (in *Input) quiet() *sheet {
	s := &sheet{table: schemas.Quiet}
	all := slices.Clone(in.Quiet)
	slices.SortFunc(all, func(a, b rank.Quieted) int {
		return cmp.Or(cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Fault, b.Fault), cmp.Compare(a.Finding, b.Finding))
	})
	all = slices.CompactFunc(all, func(a, b rank.Quieted) bool {
		return a.Subject == b.Subject && a.Name == b.Name && a.Fault == b.Fault
	})
	for _, q := range all {
		s.add(q.Subject, q.Name, q.Fault, int64(q.Visits), q.Last, roundMaybe(q.Confidence), roundMaybe(q.Distance), q.Why)
	}
	return s
}

func roundMaybe(m detect.Maybe[float64]) any {
	if !m.OK {
		return nil
	}
	return round(m.V)
}
