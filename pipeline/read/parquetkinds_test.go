package read_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	apq "github.com/apache/arrow/go/v17/parquet"
	"github.com/apache/arrow/go/v17/parquet/file"
	"github.com/apache/arrow/go/v17/parquet/schema"
	"github.com/parquet-go/parquet-go"
	pqcompress "github.com/parquet-go/parquet-go/compress"

	"probeward/schemas"
)

// Every codec and both kinds of pages give the same readings.
func TestParquetCodecs(t *testing.T) {
	type row struct {
		Time  int64    `parquet:"time,timestamp(millisecond)"`
		Probe string   `parquet:"probe,dict"`
		Value *float64 `parquet:"value,optional"`
		Unit  string   `parquet:"unit"`
	}
	var rows []row
	for i := range 500 {
		r := row{Time: stampOf(i).UnixMilli(), Probe: []string{"a", "d"}[i%2], Unit: []string{"kohm", "cbar"}[i%2]}
		if i%5 > 0 {
			r.Value = ptr(float64(i) / 8)
		}
		rows = append(rows, r)
	}
	reg := openFarm(t)
	first := ""
	for _, codec := range []struct {
		name  string
		codec pqcompress.Codec
	}{
		{"uncompressed", &parquet.Uncompressed}, {"snappy", &parquet.Snappy}, {"gzip", &parquet.Gzip}, {"zstd", &parquet.Zstd}, {"lz4", &parquet.Lz4Raw}, {"brotli", &parquet.Brotli},
	} {
		for _, version := range []int{1, 2} {
			for _, group := range []int64{1000, 90} {
				name := fmt.Sprintf("%s, pages of version %d, groups of %d", codec.name, version, group)
				dir := t.TempDir()
				write(t, dir, "x.parquet", pack(t, rows, parquet.Compression(codec.codec), parquet.DataPageVersion(version), parquet.MaxRowsPerRowGroup(group)))
				res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), reg)
				if f := res.Files[0]; f.Err != "" || f.Used != 500 || f.Rows != 500 {
					t.Errorf("%s: %+v", name, f)
				}
				text := dump(reg, res)
				if first == "" {
					first = text
					if !strings.Contains(text, "05-02T10:20 a 250 @0:3.2\n") || !strings.Contains(text, "05-02T10:00 a blank @0:1.2\n") {
						t.Fatal(text[:300])
					}
				}
				if text != first {
					t.Errorf("%s: other readings than uncompressed", name)
				}
			}
		}
	}
}

// What a file holds beside readings is named and costs nothing; what cannot be read is
// refused with words, and no more of the file than it must be.
func TestParquetKinds(t *testing.T) {
	type inner struct {
		A float64 `parquet:"a"`
		B []int64 `parquet:"b"`
	}
	type nested struct {
		Time int64   `parquet:"time,timestamp(microsecond)"`
		Meta inner   `parquet:"meta"`
		S1   float64 `parquet:"s1"`
		Tags []inner `parquet:"tags,list"`
		S2   float64 `parquet:"s2"`
	}
	type nestedPort struct {
		Time int64   `parquet:"time,timestamp(microsecond)"`
		S1   inner   `parquet:"s1"`
		S2   float64 `parquet:"s2"`
	}
	type boolean struct {
		Time    int64   `parquet:"time,timestamp(microsecond)"`
		S1      bool    `parquet:"s1"`
		S2      float64 `parquet:"s2"`
		Battery bool    `parquet:"battery_v"`
	}
	type loggers struct {
		Time   int64   `parquet:"time,timestamp(microsecond)"`
		Logger string  `parquet:"logger"`
		OK     bool    `parquet:"ok"`
		Meta   inner   `parquet:"meta"`
		S1     float64 `parquet:"s1"`
	}
	type long struct {
		Time  int64   `parquet:"time,timestamp(microsecond)"`
		Probe string  `parquet:"probe"`
		Value float64 `parquet:"value"`
	}
	type text struct {
		Time  string  `parquet:"time"`
		Probe string  `parquet:"probe"`
		Value float64 `parquet:"value"`
	}
	type trueOrNot struct {
		Time  int64  `parquet:"time,timestamp(microsecond)"`
		Probe string `parquet:"probe"`
		Value bool   `parquet:"value"`
	}
	us := ten.UnixMicro()
	sound := pack(t, []long{{us, "a", 1}, {us + 1, "a", 2}})
	hours := func() []byte {
		n, err := logical("time", must, schema.NewTimeLogicalType(true, schema.TimeUnitMillis), apq.Types.Int32, 0)
		return byArrow(t, 2, 2, nil, column[int32, *file.Int32ColumnChunkWriter](n, err, func(int) int32 { return 0 }), probeStrip(), floatStrip("value", must))
	}()
	half := func() []byte {
		n, err := logical("value", must, schema.Float16LogicalType{}, apq.Types.FixedLenByteArray, 2)
		return byArrow(t, 2, 2, nil, stampStrip(true, schema.TimeUnitMicros, time.Microsecond), probeStrip(), column[apq.FixedLenByteArray, *file.FixedLenByteArrayColumnChunkWriter](n, err, func(int) apq.FixedLenByteArray { return []byte{0, 0} }))
	}()
	for _, c := range []struct {
		name, file string
		bytes      []byte
		want       string
		ignored    string
	}{
		{"nested columns beside ports", "L1.parquet", pack(t, []nested{{us, inner{1, []int64{2, 3}}, 1500, []inner{{4, nil}, {5, nil}}, .25}, {us + 6e8, inner{}, 1501, nil, .26}}),
			"05-02T10:00 a 1500 @0:1.2\n05-02T10:00 c 0.25 @0:1.4\n05-02T10:10 a 1501 @0:2.2\n05-02T10:10 c 0.26 @0:2.4\n", "meta tags"},
		{"a nested column for a port", "L1.parquet", pack(t, []nestedPort{{us, inner{}, .25}}),
			"05-02T10:00 c 0.25 @0:1.2\nreject 0:1-1 \"s1\" \"\" x1: column \"s1\" is nested; export a flat table\n", ""},
		{"yes and no for a port and the battery", "L1.parquet", pack(t, []boolean{{us, true, .25, true}, {us + 6e8, false, .26, true}}),
			"05-02T10:00 c 0.25 @0:1.2\n05-02T10:10 c 0.26 @0:2.2\nreject 0:1-2 \"s1\" \"\" x2: column \"s1\" holds yes and no; neither a stamp nor a reading\nnote L1.parquet: column \"battery_v\" holds yes and no; neither a stamp nor a reading; it is left\n", "battery_v"},
		{"other columns where each row names its logger", "x.parquet", pack(t, []loggers{{us, "L1", true, inner{}, 1500}}), "05-02T10:00 a 1500 @0:1.4\n", "meta ok"},
		{"yes and no for values", "x.parquet", pack(t, []trueOrNot{{us, "a", true}}), "note x.parquet: column \"value\" holds yes and no; neither a stamp nor a reading\n", ""},
		{"hours without a day", "x.parquet", hours, "note x.parquet: column \"time\" holds hours without their day; export timestamps\n", ""},
		{"half a float", "x.parquet", half, "note x.parquet: column \"value\" has a fixed-length type that is not read…\n", ""},
		{"no rows", "x.parquet", pack(t, []long{}), "note x.parquet: no row below the header\n", ""},
		{"no rows, stamps as text", "x.parquet", pack(t, []text{}), "note x.parquet: no row below the header\n", ""},
		{"no rows, by Arrow", "x.parquet", byArrow(t, 0, 1, nil, stampStrip(true, schema.TimeUnitMicros, time.Microsecond), probeStrip(), floatStrip("value", may)), "note x.parquet: no row below the header\n", ""},
		{"no row has a stamp", "x.parquet", pack(t, []text{{"", "a", 1}}), "note x.parquet: no row has a stamp\n", ""},
		{"no bytes", "x.parquet", nil, "note x.parquet: not a Parquet file that can be read: …\n", ""},
		{"the end missing", "x.parquet", sound[:len(sound)-9], "note x.parquet: not a Parquet file that can be read: …\n", ""},
		{"the start missing", "x.parquet", sound[9:], "note x.parquet: not a Parquet file that can be read: …\n", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, dir, c.file, c.bytes)
			reg := openFarm(t)
			res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), reg)
			matches(t, c.want, dump(reg, res))
			for _, n := range strings.Fields(c.ignored) {
				if got := strings.Join(res.Files[0].IgnoredColumns, " "); !strings.Contains(got, n) {
					t.Errorf("ignored columns %q, want %q among them", got, n)
				}
			}
		})
	}
}
