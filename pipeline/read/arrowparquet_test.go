package read_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/big"
	"strings"
	"testing"
	"time"

	apq "github.com/apache/arrow/go/v17/parquet"
	"github.com/apache/arrow/go/v17/parquet/compress"
	"github.com/apache/arrow/go/v17/parquet/file"
	"github.com/apache/arrow/go/v17/parquet/schema"
	"github.com/google/go-cmp/cmp"
	"github.com/pierrec/lz4/v4"

	"probeward/schemas"
)

// Parquet as Arrow's own writer makes it, page by page: what most other programs
// write goes through it or one like it.

// strip is one column: its values by row.
type strip struct {
	node     schema.Node
	optional bool // every third row has none
	write    func(w file.ColumnChunkWriter, rows []int, levels []int16) error
}

// column makes a strip. of gives the value of a row.
func column[T any, W interface {
	WriteBatch([]T, []int16, []int16) (int64, error)
}](node schema.Node, err error, of func(row int) T) strip {
	if err != nil {
		panic(err)
	}
	return strip{node, node.RepetitionType() == apq.Repetitions.Optional, func(w file.ColumnChunkWriter, rows []int, levels []int16) error {
		var all []T
		for _, i := range rows {
			all = append(all, of(i))
		}
		_, err := w.(W).WriteBatch(all, levels, nil)
		return err
	}}
}

// byArrow writes rows in groups of so many.
func byArrow(t *testing.T, rows, group int, options []apq.WriterProperty, strips ...strip) []byte {
	t.Helper()
	var fields schema.FieldList
	for _, s := range strips {
		fields = append(fields, s.node)
	}
	root, err := schema.NewGroupNode("schema", apq.Repetitions.Required, fields, -1)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	w := file.NewParquetWriter(&b, root, file.WithWriterProps(apq.NewWriterProperties(options...)))
	for from := 0; from < rows; from += group {
		g := w.AppendRowGroup()
		for _, s := range strips {
			c, err := g.NextColumn()
			if err != nil {
				t.Fatal(err)
			}
			var there []int
			var levels []int16
			for i := from; i < min(rows, from+group); i++ {
				level := int16(1)
				if s.optional && i%3 == 1 {
					level = 0
				} else {
					there = append(there, i)
				}
				levels = append(levels, level)
			}
			if !s.optional {
				levels = nil
			}
			if err := s.write(c, there, levels); err != nil {
				t.Fatal(err)
			}
			if err := c.Close(); err != nil {
				t.Fatal(err)
			}
		}
		if err := g.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

const (
	must = iota
	may
)

var repetition = []apq.Repetition{apq.Repetitions.Required, apq.Repetitions.Optional}

func logical(name string, rep int, l schema.LogicalType, physical apq.Type, length int) (schema.Node, error) {
	n, err := schema.NewPrimitiveNodeLogical(name, repetition[rep], l, physical, length, -1)
	return n, err
}

func converted(name string, rep int, physical apq.Type, c schema.ConvertedType, precision, scale int) (schema.Node, error) {
	n, err := schema.NewPrimitiveNodeConverted(name, repetition[rep], physical, c, 0, precision, scale, -1)
	return n, err
}

func stampOf(i int) time.Time { return ten.Add(time.Duration(i) * 10 * time.Minute) }

func stampStrip(utc bool, unit schema.TimeUnitType, per time.Duration) strip {
	n, err := logical("time", must, schema.NewTimestampLogicalType(utc, unit), apq.Types.Int64, 0)
	return column[int64, *file.Int64ColumnChunkWriter](n, err, func(i int) int64 { return stampOf(i).UnixNano() / int64(per) })
}

func probeStrip() strip {
	n, err := logical("probe", must, schema.StringLogicalType{}, apq.Types.ByteArray, 0)
	return column[apq.ByteArray, *file.ByteArrayColumnChunkWriter](n, err, func(int) apq.ByteArray { return apq.ByteArray("a") })
}

func floatStrip(name string, rep int) strip {
	return column[float64, *file.Float64ColumnChunkWriter](schema.NewFloat64Node(name, repetition[rep], -1), nil, quarter)
}

func quarter(i int) float64 { return float64(i)/4 - 1 }

func twosComplement(x *big.Int, size int) []byte {
	if x.Sign() < 0 {
		x = new(big.Int).Add(x, new(big.Int).Lsh(big.NewInt(1), uint(8*size)))
	}
	return x.FillBytes(make([]byte, size))
}

// oldLZ4 packs as files before the format's version 2.9 have it: in blocks of up to a
// hundred bytes here, each behind its two lengths.
type oldLZ4 struct{ compress.Codec }

func init() { compress.RegisterCodec(compress.Codecs.Lz4, oldLZ4{}) }

func (oldLZ4) CompressBound(n int64) int64 { return 2*n + 100 }

func (o oldLZ4) EncodeLevel(into, from []byte, _ int) []byte { return o.Encode(into, from) }

func (oldLZ4) Encode(_, from []byte) (out []byte) {
	for len(from) > 0 {
		block := from[:min(len(from), 100)]
		from = from[len(block):]
		packed := make([]byte, lz4.CompressBlockBound(len(block)))
		n, err := lz4.CompressBlock(block, packed, nil)
		if err != nil || n == 0 {
			panic(fmt.Sprint("a block that does not pack: ", n, err))
		}
		out = binary.BigEndian.AppendUint32(out, uint32(len(block)))
		out = binary.BigEndian.AppendUint32(out, uint32(n))
		out = append(out, packed[:n]...)
	}
	return out
}

func TestParquetByArrow(t *testing.T) {
	micros := stampStrip(true, schema.TimeUnitMicros, time.Microsecond)
	ints := func(i int) int64 { return int64(i)*25 - 100 }
	wide := func(i int) *big.Int { return new(big.Int).Mul(big.NewInt(ints(i)), big.NewInt(1e16)) }
	value := func(n schema.Node, err error) func(func(int) int64) strip {
		return func(of func(int) int64) strip { return column[int64, *file.Int64ColumnChunkWriter](n, err, of) }
	}
	value32 := func(n schema.Node, err error, of func(int) int32) strip {
		return column[int32, *file.Int32ColumnChunkWriter](n, err, of)
	}
	decimal := func(precision, scale int32) schema.LogicalType { return schema.NewDecimalLogicalType(precision, scale) }
	for _, c := range []struct {
		name    string
		zone    string
		time    strip
		value   strip
		options []apq.WriterProperty
		at      func(i int) time.Time // nil: stampOf
		of      func(i int) float64   // nil: quarter
	}{
		{name: "milliseconds", zone: "Asia/Tokyo", time: stampStrip(true, schema.TimeUnitMillis, time.Millisecond)},
		{name: "microseconds", zone: "Asia/Tokyo", time: micros},
		{name: "nanoseconds", zone: "Asia/Tokyo", time: stampStrip(true, schema.TimeUnitNanos, time.Nanosecond)},
		{name: "milliseconds of a wall clock", zone: "America/Los_Angeles", time: stampStrip(false, schema.TimeUnitMillis, time.Millisecond), at: func(i int) time.Time { return stampOf(i).Add(7 * time.Hour) }},
		{name: "microseconds of a wall clock", zone: "Asia/Kolkata", time: stampStrip(false, schema.TimeUnitMicros, time.Microsecond), at: func(i int) time.Time { return stampOf(i).Add(-330 * time.Minute) }},
		{name: "nanoseconds of a wall clock", zone: "Asia/Kolkata", time: stampStrip(false, schema.TimeUnitNanos, time.Nanosecond), at: func(i int) time.Time { return stampOf(i).Add(-330 * time.Minute) }},
		{name: "seconds since 1970, a plain integer", zone: "Asia/Tokyo", time: column[int64, *file.Int64ColumnChunkWriter](schema.NewInt64Node("time", apq.Repetitions.Required, -1), nil, func(i int) int64 { return stampOf(i).Unix() })},
		{name: "milliseconds, as older files say it", zone: "Asia/Tokyo", time: func() strip {
			n, err := converted("time", must, apq.Types.Int64, schema.ConvertedTypes.TimestampMillis, 0, 0)
			return column[int64, *file.Int64ColumnChunkWriter](n, err, func(i int) int64 { return stampOf(i).UnixMilli() })
		}()},
		{name: "twelve bytes", zone: "Asia/Tokyo", time: column[apq.Int96, *file.Int96ColumnChunkWriter](schema.NewInt96Node("time", apq.Repetitions.Required, -1), nil, func(i int) (x apq.Int96) {
			at := stampOf(i)
			binary.LittleEndian.PutUint64(x[:8], uint64(at.Sub(at.Truncate(24*time.Hour))))
			binary.LittleEndian.PutUint32(x[8:], uint32(at.Unix()/86400+2440588))
			return x
		})},
		{name: "days", time: func() strip {
			n, err := logical("time", must, schema.DateLogicalType{}, apq.Types.Int32, 0)
			return value32(n, err, func(i int) int32 { return int32(20575 + i) })
		}(), at: func(i int) time.Time { return time.Unix(int64(20575+i)*86400, 0).UTC() }},
		{name: "text", zone: "America/Los_Angeles", time: func() strip {
			n, err := logical("time", must, schema.StringLogicalType{}, apq.Types.ByteArray, 0)
			return column[apq.ByteArray, *file.ByteArrayColumnChunkWriter](n, err, func(i int) apq.ByteArray { return apq.ByteArray(stampOf(i).Format(time.DateTime)) })
		}(), at: func(i int) time.Time { return stampOf(i).Add(7 * time.Hour) }},

		{name: "float32", value: column[float32, *file.Float32ColumnChunkWriter](schema.NewFloat32Node("value", apq.Repetitions.Required, -1), nil, func(i int) float32 { return float32((float64(i) - 10) / 10) }), of: func(i int) float64 { return math.Round(float64(i)-10) / 10 }},
		{name: "int32", value: value32(schema.NewInt32Node("value", apq.Repetitions.Optional, -1), nil, func(i int) int32 { return int32(ints(i)) }), of: func(i int) float64 { return float64(ints(i)) }},
		{name: "int64", value: value(schema.NewInt64Node("value", apq.Repetitions.Optional, -1), nil)(ints), of: func(i int) float64 { return float64(ints(i)) }},
		{name: "integers of 16 bits", value: func() strip {
			n, err := logical("value", may, schema.NewIntLogicalType(16, true), apq.Types.Int32, 0)
			return value32(n, err, func(i int) int32 { return int32(ints(i)) })
		}(), of: func(i int) float64 { return float64(ints(i)) }},
		{name: "unsigned, 32 bits", value: func() strip {
			n, err := logical("value", must, schema.NewIntLogicalType(32, false), apq.Types.Int32, 0)
			return value32(n, err, func(i int) int32 { return int32(uint32(4_000_000_000) + uint32(i)) })
		}(), of: func(i int) float64 { return 4e9 + float64(i) }},
		{name: "unsigned, 64 bits", value: func() strip {
			n, err := logical("value", must, schema.NewIntLogicalType(64, false), apq.Types.Int64, 0)
			return value(n, err)(func(i int) int64 { return -1 << 62 })
		}(), of: func(i int) float64 { return 0xc000000000000000 }},
		{name: "decimal of 32 bits", value: func() strip {
			n, err := logical("value", may, decimal(9, 2), apq.Types.Int32, 0)
			return value32(n, err, func(i int) int32 { return int32(ints(i)) })
		}()},
		{name: "decimal of 64 bits", value: func() strip {
			n, err := logical("value", may, decimal(18, 2), apq.Types.Int64, 0)
			return value(n, err)(ints)
		}()},
		{name: "decimal of 64 bits, as older files say it", value: func() strip {
			n, err := converted("value", may, apq.Types.Int64, schema.ConvertedTypes.Decimal, 18, 2)
			return value(n, err)(ints)
		}()},
		{name: "decimal of 128 bits", value: func() strip {
			n, err := logical("value", may, decimal(38, 18), apq.Types.FixedLenByteArray, 16)
			return column[apq.FixedLenByteArray, *file.FixedLenByteArrayColumnChunkWriter](n, err, func(i int) apq.FixedLenByteArray { return twosComplement(wide(i), 16) })
		}()},
		{name: "decimal of five bytes", value: func() strip {
			n, err := logical("value", must, decimal(10, 2), apq.Types.FixedLenByteArray, 5)
			return column[apq.FixedLenByteArray, *file.FixedLenByteArrayColumnChunkWriter](n, err, func(i int) apq.FixedLenByteArray { return twosComplement(big.NewInt(ints(i)), 5) })
		}()},
		{name: "decimal of bytes", value: func() strip {
			n, err := logical("value", may, decimal(20, 18), apq.Types.ByteArray, 0)
			return column[apq.ByteArray, *file.ByteArrayColumnChunkWriter](n, err, func(i int) apq.ByteArray { return twosComplement(wide(i), 9+i%3) })
		}()},
		{name: "text, with words and a unit", value: func() strip {
			n, err := logical("value", may, schema.StringLogicalType{}, apq.Types.ByteArray, 0)
			return column[apq.ByteArray, *file.ByteArrayColumnChunkWriter](n, err, func(i int) apq.ByteArray { return apq.ByteArray(fmt.Sprintf("%g", quarter(i))) })
		}()},

		{name: "plain, uncompressed", options: []apq.WriterProperty{apq.WithDictionaryDefault(false)}},
		{name: "pages of the second version", options: []apq.WriterProperty{apq.WithDataPageVersion(apq.DataPageV2)}},
		{name: "pages of the second version, plain, zstd", options: []apq.WriterProperty{apq.WithDataPageVersion(apq.DataPageV2), apq.WithDictionaryDefault(false), apq.WithCompression(compress.Codecs.Zstd)}},
		{name: "small pages", options: []apq.WriterProperty{apq.WithDataPageSize(64), apq.WithBatchSize(4)}},
		{name: "a dictionary that overflows", options: []apq.WriterProperty{apq.WithDictionaryPageSizeLimit(32), apq.WithDataPageSize(64), apq.WithBatchSize(4)}},
		{name: "the first version", options: []apq.WriterProperty{apq.WithVersion(apq.V1_0)}},
		{name: "snappy", options: []apq.WriterProperty{apq.WithCompression(compress.Codecs.Snappy)}},
		{name: "gzip", options: []apq.WriterProperty{apq.WithCompression(compress.Codecs.Gzip)}},
		{name: "zstd", options: []apq.WriterProperty{apq.WithCompression(compress.Codecs.Zstd)}},
		{name: "lz4 of old", options: []apq.WriterProperty{apq.WithCompression(compress.Codecs.Lz4)}},
		{name: "lz4 of old, pages of the second version", options: []apq.WriterProperty{apq.WithCompression(compress.Codecs.Lz4), apq.WithDataPageVersion(apq.DataPageV2), apq.WithDataPageSize(64), apq.WithBatchSize(4)}},
		{name: "brotli", options: []apq.WriterProperty{apq.WithCompression(compress.Codecs.Brotli)}},
	} {
		for _, shape := range []struct{ rows, group int }{{1, 100}, {40, 100}, {40, 7}} {
			t.Run(fmt.Sprintf("%s, %d rows in groups of %d", c.name, shape.rows, shape.group), func(t *testing.T) {
				if c.time.node == nil {
					c.time = micros
				}
				if c.value.node == nil {
					c.value = floatStrip("value", may)
				}
				if c.zone == "" {
					c.zone = "UTC"
				}
				if c.at == nil {
					c.at = stampOf
				}
				if c.of == nil {
					c.of = quarter
				}
				dir := t.TempDir()
				write(t, dir, "x.parquet", byArrow(t, shape.rows, shape.group, c.options, c.time, probeStrip(), c.value))
				reg := openFarm(t)
				var want []string
				for i := range shape.rows {
					v := fmt.Sprint(c.of(i))
					if c.value.optional && i%3 == 1 {
						v = "blank"
					}
					want = append(want, fmt.Sprintf("%s a %s @0:%d.2", strings.TrimSuffix(c.at(i).UTC().Format("01-02T15:04:05"), ":00"), v, i+1))
				}
				got := strings.Split(strings.TrimSpace(dump(reg, files(t, resolved(t, dir, c.zone, schemas.Source{Path: "*"}), reg))), "\n")
				if d := cmp.Diff(want, got); d != "" {
					t.Errorf("(-want +got)\n%s", d)
				}
			})
		}
	}
}
