package report

import (
	"fmt"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/report/chart"
)

// stop is a line of the visits.
type stop struct {
	Rank                                    int
	Name, Where, Cause, Why, Minutes, Since string
	Crew                                    string // link
	Findings                                []link
}

type link struct{ To, Text string }

func (w *work) stops() (out []stop) {
	for i := range w.in.Visits {
		v := &w.in.Visits[i]
		s := stop{Rank: i + 1, Name: v.Name, Cause: v.Cause, Why: v.Why, Minutes: fmt.Sprintf("%.0f min", v.Minutes),
			Since: w.say.maybe(v.OpenSince, ""), Crew: fmt.Sprintf("crew.html#stop-%d", i+1)}
		s.Where = join(part("post ", v.Post), part("tag ", v.Tag), part("row ", v.Row), part("zone ", strings.Join(v.Zones, ", ")))
		for _, f := range v.Findings {
			found := &w.in.Judged.Findings[f]
			s.Findings = append(s.Findings, link{fmt.Sprintf("#finding-%d", f+1), title(found.Fault) + " of " + found.Name})
		}
		out = append(out, s)
	}
	return out
}

// healthRow is a row of the health table.
type healthRow struct {
	ID                   string // empty where a finding of the probe has it
	Name, Link           string
	Zone, Block, Post    string
	Depth, DepthSort     string
	Kind, Logger, Port   string
	Now, Was             mark
	Cause, Confidence    string
	Usable, UsableSort   string
	Last, LastSort       string
	Rank, RankLink, Ends string
	NotEvaluated         int
}

func (w *work) health() (out []healthRow) {
	for i := range w.in.Probes {
		p, st := &w.in.Probes[i], &w.in.Judged.States[i]
		r := healthRow{Name: p.Name, Zone: p.Zone, Block: p.Block, Post: p.Post, Depth: w.say.depth(p.DepthCM), Kind: title(string(p.Kind)),
			Logger: st.Logger, Port: st.Port, Now: markOf(st.Verdict), Cause: w.cause(i), Last: w.say.maybe(st.Last, "none"),
			LastSort: w.say.sortable(st.Last), NotEvaluated: st.NotEvaluated}
		if !p.DepthCM.OK {
			r.Depth = ""
		} else {
			r.DepthSort = fmt.Sprintf("%g", p.DepthCM.V)
		}
		if st.Confidence > 0 {
			r.Confidence = fmt.Sprintf("%.0f %%", 100*st.Confidence)
		}
		if st.Previous != "" {
			r.Was = markOf(st.Previous)
		}
		r.Usable = fmt.Sprint(st.Usable)
		if st.Expected.OK && st.Expected.V > 0 {
			share := min(1, float64(st.Usable)/float64(st.Expected.V))
			r.Usable, r.UsableSort = fmt.Sprintf("%.0f %%", 100*share), fmt.Sprintf("%.4f", share)
		}
		if n := w.stopOf[i]; n >= 0 {
			r.Rank, r.RankLink = fmt.Sprint(n+1), fmt.Sprintf("#stop-%d", n+1)
		}
		if w.firstOf[i] < 0 {
			r.ID = anchor("probe", p.Name)
		} else {
			r.Link = w.probeLink(i)
		}
		out = append(out, r)
	}
	return out
}

// overrideRow is a person's word.
type overrideRow struct{ Name, Link, Action, Span, Why, Ends, Did string }

func (w *work) overrides() (out []overrideRow) {
	actions := map[string]string{"ignore": "findings do not count", "accept": "readings are used whatever the scan says", "exclude": "readings are left out whatever the scan says"}
	for _, a := range w.in.Judged.Overrides {
		o := overrideRow{Name: w.in.Probes[a.Probe].Name, Link: w.probeLink(a.Probe), Action: a.Action + ": " + actions[a.Action], Why: a.Why, Ends: "never, until somebody takes it back"}
		if a.Ends.OK {
			o.Ends = w.say.at(a.Ends.V)
			if a.Expired {
				o.Ends += " (has ended)"
			}
		}
		o.Span = "from the start"
		if a.Start > w.in.Judged.Period.Lookback-100*365*detect.Day {
			o.Span = "from " + w.say.at(a.Start)
		}
		o.Did = fmt.Sprintf("%s silenced, %s in its span", count(a.Findings, "finding"), chart.Number(float64(a.Readings))+" readings")
		out = append(out, o)
	}
	return out
}
