package read_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/deprecated"

	"probeward/schemas"
)

func pack[T any](t testing.TB, rows []T, options ...parquet.WriterOption) []byte {
	t.Helper()
	var b bytes.Buffer
	w := parquet.NewGenericWriter[T](&b, options...)
	if _, err := w.Write(rows); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

var ten = time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)

func ptr[T any](v T) *T { return &v }

func TestParquetForms(t *testing.T) {
	type plain struct {
		Time  int64   `parquet:"time,timestamp(microsecond)"`
		Probe string  `parquet:"probe,dict"`
		Value float64 `parquet:"value"`
	}
	type optional struct {
		Value   *float32  `parquet:"value,optional"`
		Probe   string    `parquet:"probe"`
		Time    time.Time `parquet:"time,timestamp(millisecond)"`
		Unit    *string   `parquet:"unit,optional,dict"`
		Battery *float64  `parquet:"battery_v,optional"`
		Note    string    `parquet:"note"`
	}
	type text struct {
		Time  string `parquet:"time"`
		Probe string `parquet:"probe,dict"`
		Value string `parquet:"value,dict"`
	}
	type old struct {
		Time  deprecated.Int96 `parquet:"time"`
		Probe string           `parquet:"probe"`
		Value int32            `parquet:"value"`
	}
	type wide struct {
		Time int64    `parquet:"time,timestamp(nanosecond)"`
		S1   int64    `parquet:"s1"`
		S2   *float64 `parquet:"s2,optional,dict"`
		Note []string `parquet:"note"`
	}
	type loggers struct {
		Time   int64   `parquet:"time"`
		Logger string  `parquet:"logger,dict"`
		S1     float64 `parquet:"s1"`
		S2     float32 `parquet:"s2"`
	}
	us := ten.UnixMicro()
	for _, c := range []struct {
		name   string
		file   string
		zone   string
		bytes  []byte
		source schemas.Source
		want   string
	}{
		{"long", "x.parquet", "", pack(t, []plain{{us, "a", 1500}, {us, "c", .25}, {us + 6e8, "x", 1}, {us + 6e8, "a", math.NaN()}, {us + 6e8, "c", math.Inf(1)}}), schemas.Source{},
			"05-02T10:00 a 1500 @0:1.2\n05-02T10:00 c 0.25 @0:2.2\n05-02T10:10 a blank @0:4.2\nreject 0:3-3 \"probe\" \"x\" x1: the register…\nreject 0:5-5 \"value\" \"+Inf\" x1: not a number…\nnote probe \"x\" has no row…\n"},
		{"nulls, float32, units", "x.parquet", "", pack(t, []optional{
			{ptr(float32(0.213)), "c", ten, nil, ptr(12.5), ""}, {nil, "a", ten, nil, nil, ""}, {ptr(float32(1.5)), "a", ten.Add(time.Minute), ptr("kohm"), nil, ""}, {ptr(float32(7999)), "a", ten.Add(time.Hour), nil, nil, ""}}),
			schemas.Source{FaultCodes: map[string]string{"7999": "short_circuit"}},
			"05-02T10:00 c 0.213 12.5 V @0:1.0\n05-02T10:00 a blank @0:2.0\n05-02T10:01 a 1500 @0:3.0\n05-02T11:00 a blank code 2 @0:4.0\n"},
		{"all text", "x.parquet", "America/Los_Angeles", pack(t, []text{{"2026-05-02 03:00", "a", "1500"}, {"2026-05-02 03:10", "a", "NAN"}, {"soon", "a", "1"}, {"2026-05-02 03:10", "a", "wet"}}), schemas.Source{},
			"05-02T10:00 a 1500 @0:1.2\n05-02T10:10 a blank @0:2.2\nreject 0:3-3 \"\" \"soon\" x1: the stamp…\nreject 0:4-4 \"value\" \"wet\" x1: not a number…\n"},
		{"stamps of twelve bytes", "x.parquet", "", pack(t, []old{{deprecated.Int96{0x8d1f8000, 0x20be, 2461163}, "a", 1500}}), schemas.Source{}, "05-02T10:00:01.310720 a…"},
		{"wide", "L1.parquet", "", pack(t, []wide{{us * 1000, 1500, ptr(.25), nil}, {us*1000 + 6e11, 1501, nil, []string{"x"}}}), schemas.Source{},
			"05-02T10:00 a 1500 @0:1.1\n05-02T10:00 c 0.25 @0:1.2\n05-02T10:10 a 1501 @0:2.1\n05-02T10:10 c blank @0:2.2\n"},
		{"wide, a logger in each row, epoch", "x.parquet", "", pack(t, []loggers{{us / 1e6, "L1", 1500, .25}, {us / 1e6, "L2", 20, 0}}), schemas.Source{},
			"05-02T10:00 a 1500 @0:1.2\n05-02T10:00 c 0.25 @0:1.3\n05-02T10:00 d 20 @0:2.2\n"},
		{"no Parquet", "x.parquet", "", []byte("time,probe,value\n"), schemas.Source{}, "note x.parquet: not a Parquet file…\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, dir, c.file, c.bytes)
			if c.zone == "" {
				c.zone = "UTC"
			}
			c.source.Path = "*"
			reg := openFarm(t)
			got := dump(reg, files(t, resolved(t, dir, c.zone, c.source), reg))
			if c.name == "stamps of twelve bytes" {
				// Julian day 2461163 is 2026-05-02; 0x20be8d1f8000 ns of that day are 10:00.
				want := fmt.Sprintf("%s a 1500 @0:1.2\n", strings.TrimSuffix(time.UnixMicro((2461163-2440588)*86_400_000_000+0x20be8d1f8000/1000).UTC().Format("01-02T15:04:05"), ":00"))
				matches(t, want, got)
				return
			}
			matches(t, c.want, got)
		})
	}
}

// The same table as Parquet and as CSV gives the same readings, across pages, row
// groups and batches, nulls and dictionaries included.
func TestParquetAgreesWithText(t *testing.T) {
	type row struct {
		Time  int64    `parquet:"time,timestamp(microsecond),delta"`
		Probe string   `parquet:"probe,dict"`
		Value *float64 `parquet:"value,optional,dict"`
	}
	var rows []row
	var csv strings.Builder
	csv.WriteString("time,probe,value\n")
	for i := range 150_000 {
		at := ten.Add(time.Duration(i/4) * time.Minute)
		r := row{at.UnixMicro(), []string{"a", "c", "d", "x"}[i%4], nil}
		cell := ""
		if i%7 != 0 {
			r.Value = ptr(float64(i%500) / 100)
			cell = fmt.Sprint(*r.Value)
		}
		rows = append(rows, r)
		fmt.Fprintf(&csv, "%s,%s,%s\n", at.Format(time.RFC3339), r.Probe, cell)
	}
	reg := openFarm(t)
	dumps := map[string]string{}
	for name, b := range map[string][]byte{
		"x.csv":     []byte(csv.String()),
		"x.parquet": pack(t, rows, parquet.MaxRowsPerRowGroup(40_000), parquet.PageBufferSize(8<<10), parquet.Compression(&parquet.Zstd)),
	} {
		dir := t.TempDir()
		write(t, dir, name, b)
		res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), reg)
		if f := res.Files[0]; f.Err != "" || f.Read != 150_000 || f.Rejected != 37_500 {
			t.Errorf("%s: %+v", name, f)
		}
		text := dump(reg, res)
		if name == "x.csv" { // whose lines count the header
			text = renumber(text)
		}
		dumps[name] = strings.ReplaceAll(text, name, "x")
	}
	if dumps["x.csv"] != dumps["x.parquet"] {
		a, b := strings.Split(dumps["x.csv"], "\n"), strings.Split(dumps["x.parquet"], "\n")
		for i := range a {
			if i >= len(b) || a[i] != b[i] {
				t.Fatalf("entry %d: text %q, Parquet %q", i, a[i], b[min(i, len(b)-1)])
			}
		}
	}
}

// renumber takes the header's line off the places of a dump.
func renumber(dump string) string {
	var b strings.Builder
	for line := range strings.Lines(dump) {
		var n, m int
		if head, tail, ok := strings.Cut(line, "@0:"); ok {
			_, _ = fmt.Sscanf(tail, "%d.%d", &n, &m)
			line = fmt.Sprintf("%s@0:%d.%d\n", head, n-1, m)
		} else if tail, ok := strings.CutPrefix(line, "reject 0:"); ok {
			_, _ = fmt.Sscanf(tail, "%d-%d", &n, &m)
			_, rest, _ := strings.Cut(tail, " ")
			line = fmt.Sprintf("reject 0:%d-%d %s", n-1, m-1, rest)
		}
		b.WriteString(line)
	}
	return b.String()
}
