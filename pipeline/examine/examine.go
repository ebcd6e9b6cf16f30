package examine

import (
	"context"
	"runtime"

	"golang.org/x/sync/errgroup"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
)

// Input is what the stage takes.
type Input struct {
	Probes     []detect.Probe
	Partitions []*arrange.Partition
	Contexts   []detect.Context // by the probe's place in the register
	Period     detect.Period
	Detectors  []*detect.Detector
	Thresholds detect.Thresholds
	// For gives a parameter that differs for a probe; may be nil.
	For      func(detector, param string, probe *detect.Probe) (float64, bool)
	Workers  int       // 0: one a processor
	Progress func(int) // called with the probes done of each partition; may be nil
}

// Probes examines every probe. Reports come by the probe's place in the register,
// whatever the number of workers.
func Probes(ctx context.Context, in Input) ([]detect.Report, error) {
	workers := in.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	reports := make([]detect.Report, len(in.Probes))
	examiners := make(chan *detect.Examiner, workers)
	for range workers {
		e, err := detect.NewExaminer(in.Detectors, in.Thresholds)
		if err != nil {
			return nil, err
		}
		e.For = in.For
		examiners <- e
	}
	series := make(chan *detect.Series, workers)
	for range workers {
		series <- new(detect.Series)
	}
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(workers)
	for _, part := range in.Partitions {
		g.Go(func() error {
			e, s := <-examiners, <-series
			defer func() { examiners <- e; series <- s }()
			for i := range part.Probes() {
				if err := ctx.Err(); err != nil {
					return err
				}
				place := part.First + i
				probe := &in.Probes[place]
				part.View(i).Series(probe, s)
				reports[place] = e.Probe(probe, s, &in.Contexts[place], in.Period)
			}
			if in.Progress != nil {
				in.Progress(part.Probes())
			}
			return nil
		})
	}
	return reports, g.Wait()
}
