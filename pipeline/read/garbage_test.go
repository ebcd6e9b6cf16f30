package read_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/parquet-go/parquet-go"
	"pgregory.net/rapid"

	"probeward/pipeline/config"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// survives reads one file of any content: no panic, and the ledger holds.
func survives(t interface {
	Errorf(string, ...any)
	Fatalf(string, ...any)
}, reg *register.Register, conf *config.Resolved, name string, content []byte) {
	p := filepath.Join(conf.Dir, name)
	if err := os.WriteFile(p, content, 0o644); err != nil {
		t.Fatalf("%v", err)
	}
	defer os.Remove(p)
	res, err := read.Files(context.Background(), read.Input{Config: conf, Register: reg, Workers: 1})
	if err != nil {
		t.Fatalf("%q: %v", content, err)
	}
	lawful(t, res)
	res.Release()
}

func TestGarbage(t *testing.T) {
	reg := openFarm(t)
	conf := resolved(t, t.TempDir(), "America/Los_Angeles", schemas.Source{Path: "*", Missing: []string{"-9999"}})
	bits := []string{"time", "probe", "value", "unit", "logger", "s1", "s2", "battery_v", ",", ",", ",", "\n", "\n", ";", "\t", "\"", "\r\n", "a", "c", "L1", "L2",
		"2026-05-02 10:00", "2026-11-01 01:30", "2026-03-08 02:30", "05/06/2026 10:00", "1779271200", "0.25", "1500", "NAN", "1e999", "-9999", "kohm", "\xff", "\x00", "é", " "}
	heads := []string{"time,probe,value\n", "time,probe,value,unit,battery_v\n", "time,s1,s2\n", "time;logger;s1;s2\n", ""}
	names := []string{"x.csv", "L1.csv", "L1.txt", "x.csv.gz", "x.csv.zst", "x.parquet"}
	rapid.Check(t, func(t *rapid.T) {
		var content []byte
		content = append(content, rapid.SampledFrom(heads).Draw(t, "head")...)
		for _, b := range rapid.SliceOfN(rapid.SampledFrom(bits), 0, 80).Draw(t, "bits") {
			content = append(content, b...)
		}
		survives(t, reg, conf, rapid.SampledFrom(names).Draw(t, "name"), content)
	})
}

// Damaged Parquet files: bytes of a sound one changed or cut.
func TestDamagedParquet(t *testing.T) {
	type row struct {
		Time  int64    `parquet:"time,timestamp(microsecond),delta"`
		Probe string   `parquet:"probe,dict"`
		Value *float64 `parquet:"value,optional,dict"`
	}
	var rows []row
	for i := range 2000 {
		rows = append(rows, row{ten.UnixMicro() + int64(i)*6e7, []string{"a", "c"}[i%2], ptr(float64(i % 90))})
	}
	sounds := [][]byte{pack(t, rows), pack(t, rows, parquet.Compression(&parquet.Lz4Raw), parquet.DataPageVersion(1)), pack(t, rows, parquet.Compression(&parquet.Lz4Raw), parquet.MaxRowsPerRowGroup(300))}
	reg := openFarm(t)
	conf := resolved(t, t.TempDir(), "UTC", schemas.Source{Path: "*"})
	rapid.Check(t, func(t *rapid.T) {
		b := append([]byte(nil), rapid.SampledFrom(sounds).Draw(t, "sound")...)
		for range rapid.IntRange(1, 4).Draw(t, "damages") {
			b[rapid.IntRange(0, len(b)-1).Draw(t, "place")] = rapid.Byte().Draw(t, "byte")
		}
		survives(t, reg, conf, "x.parquet", b[:len(b)-rapid.SampledFrom([]int{0, 0, 0, 1, 500}).Draw(t, "cut")])
	})
}

func FuzzText(f *testing.F) {
	for _, c := range forms {
		f.Add([]byte(c.text))
	}
	reg := openFarm(f)
	conf := resolved(f, f.TempDir(), "America/Los_Angeles", schemas.Source{Path: "*"})
	f.Fuzz(func(t *testing.T, b []byte) { survives(t, reg, conf, "L1.csv", b) })
}
