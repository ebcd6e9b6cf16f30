package drill_test

import (
	"testing"

	"probeward/detectors"
	"probeward/pipeline/drill"
	"probeward/pipeline/simulate"
)

// BenchmarkFarm drills 120 probes of nine weeks as the command does by default.
func BenchmarkFarm(b *testing.B) {
	dir := b.TempDir() + "/farm"
	if _, err := simulate.Write(dir, simulate.Options{Seed: 3, Probes: 120, Weeks: 9, Faults: true}); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		r := run(b, dir+"/feed", detectors.All(), 0, drill.Options{Probes: drill.DefaultProbes, Seed: 1, Help: true})
		b.ReportMetric(float64(len(r.Trials)), "trials")
	}
}
