package read_test

import (
	"context"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/memory"
	"github.com/google/go-cmp/cmp"

	"probeward/pipeline/config"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// realSet opens one of the real data sets, which lie beside the repository.
func realSet(t *testing.T, name string) (*config.Resolved, *register.Register) {
	t.Helper()
	_, here, _, _ := runtime.Caller(0)
	dir := filepath.Dir(here)
	for range 8 {
		set := filepath.Join(dir, "shared", "data", name)
		if _, err := os.Stat(filepath.Join(set, "scan.yaml")); err == nil {
			conf, err := config.Open(set, "", nil)
			if err != nil {
				t.Fatal(err)
			}
			reg, err := register.Load(conf.Path(conf.Probes), "", conf.Zone)
			if err != nil {
				t.Fatal(err)
			}
			return conf, reg
		}
		dir = filepath.Dir(dir)
	}
	t.Skipf("the real data set %s is not beside the repository: its counts and clock faults are not tested; put it at ../shared/data from the root", name)
	return nil, nil
}

func files(t *testing.T, conf *config.Resolved, reg *register.Register) *read.Result {
	t.Helper()
	alloc := memory.NewCheckedAllocator(memory.NewGoAllocator())
	res, err := read.Files(context.Background(), read.Input{Config: conf, Register: reg, Allocator: alloc})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { res.Release(); alloc.AssertSize(t, 0) })
	lawful(t, res)
	return res
}

// lawful holds what is true of every result: the ledger, the order and the counts.
func lawful(t interface {
	Errorf(string, ...any)
}, res *read.Result) {
	used := make([]int64, len(res.Files))
	rejected := make([]int64, len(res.Files))
	var lastFile, lastLine uint32
	for _, b := range res.Batches {
		if !b.Schema().Equal(schemas.Readings()) || b.NumRows() > 1<<16 {
			t.Errorf("a batch of %d rows in %v", b.NumRows(), b.Schema())
		}
		file, line := b.Column(schemas.ColFile).(*array.Uint32), b.Column(schemas.ColLine).(*array.Uint32)
		for i := range file.Len() {
			f, l := file.Value(i), line.Value(i)
			if f < lastFile || f == lastFile && l < lastLine {
				t.Errorf("file %d line %d comes after file %d line %d", f, l, lastFile, lastLine)
			}
			lastFile, lastLine = f, l
			used[f]++
		}
	}
	for _, r := range res.Rejects {
		rejected[r.File] += r.Readings
		if r.Why == "" || len(r.Text) > 80 || strings.ToValidUTF8(r.Text, "") != r.Text || r.LastLine < r.Line || r.Line < 1 {
			t.Errorf("reject %+v", r)
		}
	}
	for i, f := range res.Files {
		if f.Read != f.Used+f.Repeated+f.Rejected || f.Used != used[i] || f.Rejected != rejected[i] {
			t.Errorf("%s: read %d, used %d (%d in batches), rejected %d (%d in rejects)", f.Path, f.Read, f.Used, used[i], f.Rejected, rejected[i])
		}
	}
}

// The counts are the files' own: 5 ports in each file, a row for each line below
// the header.
func TestRangelandExports(t *testing.T) {
	conf, reg := realSet(t, "usses_logger_exports")
	res := files(t, conf, reg)
	there, err := filepath.Glob(filepath.Join(conf.Dir, "exports/*/*.txt"))
	if err != nil || len(res.Files) != len(there) {
		t.Errorf("%d files, want %d", len(res.Files), len(there))
	}
	var rows, rejected int64
	for _, f := range res.Files {
		if strings.Contains(f.Path, "original_15") { // its name is of no logger, by the configuration
			if !strings.Contains(f.Err, "does not match logger") {
				t.Errorf("%s: %q", f.Path, f.Err)
			}
			continue
		}
		text, err := os.ReadFile(filepath.Join(conf.Dir, f.Path))
		if err != nil {
			t.Fatal(err)
		}
		lines := int64(strings.Count(strings.TrimRight(string(text), "\r\n"), "\n"))
		if f.Err != "" || f.Rows != lines || f.Read != 5*f.Rows {
			t.Errorf("%s: %d rows of %d, read %d, err %q", f.Path, f.Rows, lines, f.Read, f.Err)
		}
		rows += f.Rows
		rejected += f.Rejected
	}
	for _, r := range res.Rejects {
		if !strings.HasPrefix(r.Why, "outside valid_from") {
			t.Errorf("%s:%d: %s", res.Files[r.File].Path, r.Line, r.Why)
		}
	}
	t.Logf("%d rows, %d of %d readings rejected in %d stretches", rows, rejected, 5*rows, len(res.Rejects))
	for _, f := range res.Files {
		if f.Err == "" && !strings.Contains(f.Layout, "kept in standard time, UTC-7: ") {
			t.Errorf("%s: layout %q", f.Path, f.Layout)
		}
	}
	zone := time.FixedZone("Mountain Standard Time", -7*3600)
	found := false
	for _, s := range res.Stamps {
		if s.File != "exports/2013_2/EM6843_2013_11_09-processed.txt" {
			continue
		}
		found = true
		if s.Logger != "EM6843" || len(s.Segments) != 2 || s.Unordered || s.Cadence != 2*3600*1e6 {
			t.Fatalf("digest %+v", s)
		}
		// Line 76 is the first after the jump, counted with the header.
		jump := s.Segments[1]
		if at := time.UnixMicro(jump.First).In(zone).Format("2006-01-02 15:04"); jump.FromLine != 76 || at != "2057-09-12 02:00" {
			t.Errorf("jump at line %d to %s, want line 76 to 2057-09-12 02:00", jump.FromLine, at)
		}
	}
	if !found {
		t.Error("no digest of EM6843 in 2013_2")
	}
}

func TestTensiometers(t *testing.T) {
	conf, reg := realSet(t, "alfalfa_tensiometers")
	res := files(t, conf, reg)
	if len(res.Files) != 1 {
		t.Fatalf("%d files", len(res.Files))
	}
	f := res.Files[0]
	// The logger keeps standard time: four rows of 2015-03-08 02:00 to 02:45 have no
	// place in the configured zone.
	if f.Rows != 6700 || f.Used != 20*6700 || f.Rejected != 0 || f.Err != "" {
		t.Errorf("rows %d, used %d, rejected %d, err %q; want 6,700 rows of 20 ports, all used", f.Rows, f.Used, f.Rejected, f.Err)
	}
	if want := "stamps kept in standard time, UTC-8: 4 rows stand in the hour that America/Los_Angeles leaves out in spring"; !strings.Contains(f.Layout, want) {
		t.Errorf("layout %q, want %q in it", f.Layout, want)
	}
	if v := res.Batches[0].Column(schemas.ColValue).(*array.Float64).Value(0); v != 615.6 {
		t.Errorf("first value %v, want 615.6", v)
	}
	// A zone of standard time gives the same.
	var err error
	if conf.Zone, err = time.LoadLocation("Etc/GMT+8"); err != nil {
		t.Fatal(err)
	}
	fixed := files(t, conf, reg)
	fixed.Files[0].Layout, fixed.Notes = f.Layout, res.Notes
	if d := cmp.Diff(dump(reg, fixed), dump(reg, res)); d != "" || !reflect.DeepEqual(fixed.Files, res.Files) || !reflect.DeepEqual(fixed.Stamps, res.Stamps) {
		t.Errorf("read at UTC-8 by proof and by configuration differ: %.2000s", d)
	}
}
