package pipeline

import (
	"fmt"

	"probeward/detectors/detect"
	"probeward/pipeline/amend"
	"probeward/pipeline/corroborate"
	"probeward/pipeline/examine"
	"probeward/pipeline/feedback"
	"probeward/pipeline/fieldlog"
)

// hear holds what the crew brought back against the register and the runs before.
func (s *scan) hear() {
	if s.config.Config.Visits == "" {
		return
	}
	s.book = feedback.New(feedback.Input{File: s.config.Config.Visits, Rows: s.seen, Register: s.register, Before: s.before,
		Period: s.arranged.Period, Zone: s.config.Zone})
	s.tableNotes = append(s.tableNotes, s.book.Notes...)
	if b := s.book; b.Unmatched+b.Repeated+b.Later > 0 {
		s.note("visits: of %d rows %d are used; %d are about nothing that is known, %d stand there twice, %d are later than the window",
			len(s.seen), b.Matched, b.Unmatched, b.Repeated, b.Later)
	}
}

// settle ends what the crew has mended.
func (s *scan) settle() error {
	s.hear()
	e, err := detect.NewExaminer(s.Detectors, thresholds(s.config))
	if err != nil {
		return err
	}
	e.For = s.forProbe()
	var contexts []detect.Context
	again := func(probe int, since int64) detect.Report {
		period := s.arranged.Period
		period.Lookback, period.Window.Start = since, max(since, period.Window.Start)
		if contexts == nil {
			contexts = examine.Contexts(s.register.Probes, s.arranged.Peaks, s.water, s.weather, s.arranged.Period)
		}
		ctx := contexts[probe]
		ctx.Irrigation = feedback.Since(ctx.Irrigation, since)
		series := s.series(probe)
		feedback.Cut(series, since)
		return e.Probe(&s.register.Probes[probe], series, &ctx, period)
	}
	s.reports, s.groups, s.mended = s.book.Settle(feedback.Settle{
		Reports: s.reports, Groups: s.groups, Again: again, Times: s.arranged.Times(),
		Regroup: func(reports []detect.Report) []corroborate.Verdict { return corroborate.Groups(s.groupInput(reports)) },
	})
	return nil
}

// series is what detectors see of a probe.
func (s *scan) series(probe int) *detect.Series {
	series := &detect.Series{}
	for _, part := range s.arranged.Partitions {
		if i := probe - part.First; i >= 0 && i < part.Probes() {
			part.View(i).Series(&s.register.Probes[probe], series)
		}
	}
	return series
}

// cadence is a probe's own step.
func (s *scan) cadence(probe int) int64 { return s.reports[probe].Summary.Cadence }

// replaced lists the new sensors of which the register may not know yet.
func (s *scan) replaced() (out []amend.Replaced) {
	for _, m := range s.book.Mends() {
		if m.Outcome != fieldlog.Replaced || m.Probe < 0 {
			continue
		}
		out = append(out, amend.Replaced{Probe: m.Probe, On: m.On, Zone: s.config.Zone,
			Evidence: fmt.Sprintf("%s:%d: replaced on %s", s.config.Config.Visits, m.Line, s.book.Day(m.On))})
	}
	return out
}
