package pipeline

import (
	"context"
	"fmt"

	"probeward/pipeline/corroborate"
	"probeward/pipeline/drill"
	"probeward/pipeline/examine"
	"probeward/pipeline/judge"
)

// Drill opens, reads and arranges as a scan does, and then rehearses faults on the
// farm's fit probes. It writes nothing. What the crew brought back is left out: a probe
// with a finding that a visit ended is not among the fit ones.
func Drill(ctx context.Context, o Options, d drill.Options) (*drill.Result, error) {
	o.DryRun = true
	if o.Progress == nil {
		o.Progress = quiet{}
	}
	s := &scan{Options: o, ctx: ctx}
	for _, stage := range []func() error{s.open, s.read, s.arrange} {
		if err := stage(); err != nil {
			return nil, err
		}
	}
	defer s.arranged.Release()
	d.Workers = o.Workers
	d.Total = func(n int) { s.Progress.Stage("drill", "trials", int64(n)) }
	d.Progress = func(n int) { s.Progress.Add(int64(n)) }
	r, err := drill.Run(ctx, s.rehearsal(), d)
	if err != nil {
		return nil, fmt.Errorf("drill: %w", err)
	}
	return r, nil
}

// rehearsal is what the stages after arrange would take.
func (s *scan) rehearsal() drill.Input {
	a := s.arranged
	in := drill.Input{
		Examine: examine.Input{
			Probes: s.register.Probes, Partitions: a.Partitions, Period: a.Period,
			Detectors: s.Detectors, Thresholds: thresholds(s.config), For: s.forProbe(),
		},
		Corroborate: corroborate.Input{
			Stamps: s.readings.Stamps, Period: a.Period, Farm: a.Farm, Loggers: a.Loggers,
			Contradictions: a.Contradictions,
		},
		Judge: judge.Input{Period: a.Period, Rejected: a.Rejected, Zone: s.config.Zone},
		Times: a.Times, Peaks: a.Peaks, Water: s.water, Weather: s.weather,
	}
	for _, w := range s.words {
		if place, ok := s.register.Named(w.Probe); ok {
			in.Judge.Overrides = append(in.Judge.Overrides, judge.Override{Probe: place, Action: string(w.Action), Span: w.Span, Why: w.Why})
		}
	}
	return in
}
