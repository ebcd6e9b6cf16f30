package rank

import (
	"fmt"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// farm is a judged farm in the making.
type farm struct {
	in Input
}

const weekStart = 1_780_000_000_000_000

func newFarm() *farm {
	return &farm{in: Input{
		Judged: &judge.Result{},
		Period: detect.Period{Lookback: weekStart - 56*detect.Day, Window: detect.Span{Start: weekStart, End: weekStart + 7*detect.Day}},
	}}
}

// probe adds a fit granular matrix sensor and gives its place.
func (f *farm) probe(name, logger, port, post, zone string, depth float64) int {
	i := len(f.in.Probes)
	f.in.Probes = append(f.in.Probes, detect.Probe{Index: i, Name: name, Farm: "Home", Block: "A", Zone: zone, Post: post,
		Kind: detect.GranularMatrix, Quantity: detect.Ohms, DepthCM: detect.Some(depth)})
	f.in.Details = append(f.in.Details, register.Detail{})
	f.in.Judged.States = append(f.in.Judged.States, judge.State{Verdict: schemas.Fit, Main: -1, InGround: true, Logger: logger, Port: port})
	return i
}

// find adds a finding that stands since some days before the window's end, and
// gives its probes the verdict that it makes.
func (f *farm) find(fault string, confidence, days float64, probes ...int) *judge.Finding {
	row, ok := schemas.FaultNamed(fault)
	if !ok {
		panic(fault)
	}
	end := f.in.Period.Window.End
	g := judge.Finding{Subject: row.Subject, Family: row.Family, Flag: row.FlagFor(confidence), Detector: fault, Probe: -1}
	g.Fault, g.Confidence, g.Open, g.Start, g.End = fault, confidence, true, end-int64(days*float64(detect.Day)), end
	switch row.Subject {
	case schemas.SubjectProbe:
		g.Probe, g.Name = probes[0], f.in.Probes[probes[0]].Name
	case schemas.SubjectLogger:
		g.Name, g.Probes = f.in.Judged.States[probes[0]].Logger, probes
	default:
		g.Name, g.Probes = f.in.Probes[probes[0]].Zone, probes
	}
	at := len(f.in.Judged.Findings)
	f.in.Judged.Findings = append(f.in.Judged.Findings, g)
	for _, p := range probes {
		s := &f.in.Judged.States[p]
		s.Touching = append(s.Touching, at)
		if v := row.VerdictFor(confidence); v != "" && s.Main < 0 {
			s.Verdict, s.Main, s.Confidence = v, at, confidence
		}
	}
	return &f.in.Judged.Findings[at]
}

func (f *farm) visits() []Visit { return Visits(f.in) }

// post adds n probes at one post and logger, at 30 and 60 cm in turn.
func (f *farm) post(n int, post, logger, zone string) []int {
	var out []int
	for k := range n {
		out = append(out, f.probe(fmt.Sprintf("%s-%d", post, k+1), logger, fmt.Sprintf("s%d", k+1), post, zone, float64(30+30*(k%2))))
	}
	return out
}
