package report

import (
	"cmp"
	"fmt"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/previous"
	"probeward/schemas"
)

// season is what the crew brought back, and how verdicts went from run to run.
type season struct {
	Rates    []rateRow
	Watched  []watchRow
	Quiet    []quietRow
	Verdicts []mark
	Runs     []runRow // the newest first
}

type rateRow struct {
	Detector                        string
	Hits, Named, Misses, NotReached int
	Share                           string
}

type watchRow struct{ Name, Link, Text string }

type quietRow struct{ Title, Why string }

// runRow is one run. Fit is the share of its probes that were fit, in percent.
type runRow struct {
	Window string
	Counts []int // by verdict
	Fit    int
	Usable string
}

// seasonRuns is how many runs the page shows; history.parquet has them all.
const seasonRuns = 30

func (w *work) season() season {
	s := season{Runs: w.runs()}
	for _, v := range verdictOrder {
		s.Verdicts = append(s.Verdicts, markOf(v))
	}
	for _, q := range w.in.Quiet {
		f := &w.in.Judged.Findings[q.Finding]
		s.Quiet = append(s.Quiet, quietRow{title(f.Fault) + ", " + f.Name, q.Why})
	}
	if w.in.Book == nil {
		return s
	}
	for _, r := range w.in.Book.Rates {
		row := rateRow{title(r.Detector), r.Hits, r.Named, r.Misses, r.NotReached, "no visit yet"}
		if r.Hits+r.Misses > 0 {
			row.Share = fmt.Sprintf("%.0f %% (%.0f to %.0f %%)", 100*r.Share, 100*r.Low, 100*r.High)
		}
		s.Rates = append(s.Rates, row)
	}
	for i := range w.in.Probes {
		if text := w.in.Book.Watch(i); text != "" {
			s.Watched = append(s.Watched, watchRow{w.in.Probes[i].Name, w.probeLink(i), text})
		}
	}
	return s
}

var verdictOrder = []schemas.Verdict{schemas.Fit, schemas.Doubtful, schemas.Unfit, schemas.Silent, schemas.Settling, schemas.Unknown}

// runs counts the verdicts of this run and of those before.
func (w *work) runs() (out []runRow) {
	type tally struct {
		counts []int
		share  float64
		shares int
	}
	sums := map[detect.Span]*tally{}
	add := func(h previous.Past) {
		t := sums[h.Window]
		if t == nil {
			t = &tally{counts: make([]int, len(verdictOrder))}
			sums[h.Window] = t
		}
		if k := slices.Index(verdictOrder, h.Verdict); k >= 0 {
			t.counts[k]++
		}
		if h.UsableShare.OK {
			t.share += h.UsableShare.V
			t.shares++
		}
	}
	window := w.in.Judged.Period.Window
	if w.in.Previous != nil {
		for _, h := range w.in.Previous.History {
			if h.Window != window {
				add(h)
			}
		}
	}
	for i := range w.in.Judged.States {
		st := &w.in.Judged.States[i]
		h := previous.Past{Window: window, Verdict: st.Verdict}
		if st.Expected.OK && st.Expected.V > 0 {
			h.UsableShare = detect.Some(min(1, float64(st.Usable)/float64(st.Expected.V)))
		}
		add(h)
	}
	spans := make([]detect.Span, 0, len(sums))
	for s := range sums {
		spans = append(spans, s)
	}
	slices.SortFunc(spans, func(a, b detect.Span) int {
		return cmp.Or(-cmp.Compare(a.End, b.End), -cmp.Compare(a.Start, b.Start))
	})
	for _, span := range spans[:min(len(spans), seasonRuns)] {
		t := sums[span]
		row := runRow{Window: fmt.Sprintf("%s to %s", w.say.at(span.Start), w.say.at(span.End)), Counts: t.counts}
		all := 0
		for _, n := range t.counts {
			all += n
		}
		if all > 0 {
			row.Fit = (100*t.counts[0] + all/2) / all
		}
		if t.shares > 0 {
			row.Usable = fmt.Sprintf("%.0f %%", 100*t.share/float64(t.shares))
		}
		out = append(out, row)
	}
	return out
}
