package pipeline

import (
	"context"
	"hash/fnv"
	"io"
	"testing"

	"github.com/apache/arrow/go/v17/arrow/ipc"

	"probeward/detectors"
	"probeward/pipeline/arrange"
	"probeward/pipeline/drill"
	"probeward/pipeline/simulate"
)

// A drill works on copies: the arranged readings are the same bytes before and after,
// and so are the register and the log of waterings.
func TestDrillLeavesTheFarmAlone(t *testing.T) {
	dir := t.TempDir() + "/farm"
	if _, err := simulate.Write(dir, simulate.Options{Seed: 8, Probes: 24, Weeks: 6}); err != nil {
		t.Fatal(err)
	}
	s := &scan{Options: Options{Folder: dir + "/feed", Detectors: detectors.All(), DryRun: true, Progress: quiet{}}, ctx: context.Background()}
	for _, stage := range []func() error{s.open, s.read, s.arrange} {
		if err := stage(); err != nil {
			t.Fatal(err)
		}
	}
	rows, waterings := len(s.register.Probes), 0
	zones := make([]string, rows)
	for i, p := range s.register.Probes {
		zones[i] = p.Zone + " " + p.Unit
	}
	for _, w := range s.water {
		waterings += len(w)
	}
	before := digest(t, s.arranged.Partitions)
	r, err := drill.Run(s.ctx, s.rehearsal(), drill.Options{Probes: 1, Seed: 1, Help: true})
	if err != nil {
		t.Fatal(err)
	}
	touched := 0
	for _, row := range r.Rows {
		touched += row.Found.N
	}
	if touched < 20 {
		t.Fatalf("%d trials: this test would prove nothing", touched)
	}
	if digest(t, s.arranged.Partitions) != before {
		t.Error("the arranged readings changed")
	}
	for i, p := range s.register.Probes {
		if zones[i] != p.Zone+" "+p.Unit {
			t.Errorf("%s: the register changed from %s to %s %s", p.Name, zones[i], p.Zone, p.Unit)
		}
	}
	for _, w := range s.water {
		waterings -= len(w)
	}
	if waterings != 0 {
		t.Errorf("the log of waterings lost %d rows", waterings)
	}
}

func digest(t *testing.T, parts []*arrange.Partition) uint64 {
	t.Helper()
	h := fnv.New64a()
	for _, p := range parts {
		w := ipc.NewWriter(io.Writer(h), ipc.WithSchema(p.Record.Schema()))
		if err := w.Write(p.Record); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return h.Sum64()
}
