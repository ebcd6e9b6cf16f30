package drill_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"probeward/detectors"
	"probeward/detectors/detect"
	"probeward/pipeline"
	"probeward/pipeline/drill"
	"probeward/pipeline/simulate"
)

// farm writes an invented vineyard without faults and gives the folder that a scan reads.
func farm(t *testing.T, o simulate.Options) string {
	t.Helper()
	dir := t.TempDir() + "/farm"
	if _, err := simulate.Write(dir, o); err != nil {
		t.Fatal(err)
	}
	return dir + "/feed"
}

func run(t testing.TB, folder string, list []*detect.Detector, workers int, o drill.Options) *drill.Result {
	t.Helper()
	r, err := pipeline.Drill(context.Background(), pipeline.Options{Folder: folder, Detectors: list, Workers: workers}, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func without(name string) (out []*detect.Detector) {
	for _, d := range detectors.All() {
		if d.Name != name {
			out = append(out, d)
		}
	}
	return out
}

// blind is the list with one detector that always answers that all is well.
func blind(name string) []*detect.Detector {
	out := detectors.All()
	for i, d := range out {
		if d.Name == name {
			other := *d
			other.Run = func(*detect.Pass) detect.Outcome { return detect.Healthy() }
			out[i] = &other
		}
	}
	return out
}

func found(r *drill.Result, form string) (k, n int) {
	for _, row := range r.Rows {
		if row.Form == form {
			k, n = k+row.Found.K, n+row.Found.N
		}
	}
	return k, n
}

// A lead that opens on a probe in ohms is seen, and one that opens where no detector
// looks for it is not: what is counted comes from the detectors.
func TestOpenLeadIsFoundByItsDetectorAlone(t *testing.T) {
	folder := farm(t, simulate.Options{Seed: 5, Probes: 24, Weeks: 6, Export: "ohm"})
	o := drill.Options{Faults: []string{"open_circuit"}, Probes: 6, Seed: 1}
	if k, n := found(run(t, folder, detectors.All(), 2, o), "lead open"); n < 12 || 10*k < 9*n {
		t.Errorf("found %d of %d, want nine in ten of at least 12", k, n)
	}
	if k, n := found(run(t, folder, blind("open_circuit"), 2, o), "lead open"); k != 0 || n < 12 {
		t.Errorf("found %d of %d with a detector that looks away", k, n)
	}
	r := run(t, folder, without("noise"), 2, drill.Options{Faults: []string{"noise"}, Probes: 3, Seed: 1})
	if k, n := found(r, "noisy"); k != 0 || n < 3 {
		t.Errorf("found %d of %d without a detector", k, n)
	}
	if len(r.NoDetector) != 1 || r.NoDetector[0] != "noise" {
		t.Errorf("without a detector: %q", r.NoDetector)
	}
}

// The same seed gives the same bytes, whatever the number of workers; another seed
// gives other trials.
func TestSeedDecides(t *testing.T) {
	folder := farm(t, simulate.Options{Seed: 6, Probes: 24, Weeks: 6})
	print := func(workers int, seed uint64) string {
		var b bytes.Buffer
		r := run(t, folder, detectors.All(), workers, drill.Options{Probes: 2, Seed: seed, Help: true})
		if err := errors.Join(r.Print(&b), r.CSV(&b), r.JSON(&b)); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	one := print(1, 1)
	if print(3, 1) != one {
		t.Error("three workers give other bytes than one")
	}
	if print(3, 2) == one {
		t.Error("another seed gives the same trials")
	}
	table, _, _ := strings.Cut(one, "fault,form,")
	for _, line := range strings.Split(table, "\n") {
		if len(line) > 80 {
			t.Errorf("%d columns: %s", len(line), line)
		}
	}
}

func TestUnknownFault(t *testing.T) {
	for name, want := range map[string]string{"opne": "open_circuit", "clock_error": "is not drilled: it shows in the order"} {
		_, err := drill.Run(context.Background(), drill.Input{}, drill.Options{Faults: []string{name}})
		if !errors.Is(err, drill.ErrFault) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestNoFitProbe(t *testing.T) {
	folder := farm(t, simulate.Options{Seed: 7, Probes: 8, Weeks: 6})
	_, err := pipeline.Drill(context.Background(), pipeline.Options{Folder: folder}, drill.Options{Probes: 1})
	if !errors.Is(err, drill.ErrNoFit) || !strings.Contains(fmt.Sprint(err), "8 unknown") {
		t.Errorf("without detectors no probe is fit: %v", err)
	}
}
