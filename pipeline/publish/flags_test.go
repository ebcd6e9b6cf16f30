package publish

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"runtime"
	"testing"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/memory"
	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
	"probeward/pipeline/arrange"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// mixed gives probes of the three units in turn.
func mixed(n int) []detect.Probe {
	out := make([]detect.Probe, n)
	for i := range out {
		p := detect.Probe{Index: i, Name: fmt.Sprintf("HB-%04d", i), Scale: 1}
		switch i % 3 {
		case 0:
			p.Kind, p.Unit, p.Quantity = detect.GranularMatrix, "ohm", detect.Ohms
		case 1:
			p.Kind, p.Unit, p.Quantity = detect.GranularMatrix, "kPa", detect.Tension
		default:
			p.Kind, p.Unit, p.Quantity = detect.Dielectric, "m3/m3", detect.WaterContent
		}
		out[i] = p
	}
	return out
}

func BenchmarkFlags(b *testing.B) {
	probes := mixed(640)
	const each = 4000
	parts := readings(b, probes, each, memory.DefaultAllocator)
	judged := &judge.Result{Marks: make([][]judge.Mark, len(probes))}
	for i := range probes {
		if i%20 == 0 {
			judged.Marks[i] = []judge.Mark{{Span: detect.Span{Start: start + 3*detect.Day, End: start + 9*detect.Day}, Flag: schemas.FlagFail, Bits: 1}}
		}
	}
	b.ReportAllocs()
	b.ResetTimer()
	var size countingWriter
	for range b.N {
		size = 0
		if err := (flagsWriter{ctx: b.Context(), probes: probes, judged: judged}).write(&size, parts); err != nil {
			b.Fatal(err)
		}
	}
	rows := float64(len(probes) * each)
	b.ReportMetric(rows*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mrows/s")
	b.ReportMetric(float64(size)/rows, "B/row")
}

type countingWriter int64

func (c *countingWriter) Write(b []byte) (int, error) {
	*c += countingWriter(len(b))
	return len(b), nil
}

var _ io.Writer = (*countingWriter)(nil)

// flagsOf writes flags.parquet and reads it back.
func flagsOf(t *testing.T, f flagsWriter, parts []*arrange.Partition) (*parquet.File, []map[string]any, []byte) {
	t.Helper()
	f.ctx = t.Context()
	var b bytes.Buffer
	if err := f.write(&b, parts); err != nil {
		t.Fatal(err)
	}
	file, rows := rowsOf(t, b.Bytes())
	return file, rows, b.Bytes()
}

func TestFlagsAreOneRowForEachReading(t *testing.T) {
	probes := mixed(4)
	probes[1].Scale, probes[1].Offset = -1, 2
	probes[3].Quantity, probes[3].Kind, probes[3].Unit = detect.Raw, detect.Other, "mV"
	const each = 300
	parts := readings(t, probes, each, memory.DefaultAllocator)
	step := 15 * detect.Minute
	judged := &judge.Result{Marks: [][]judge.Mark{
		{
			{Span: detect.Span{Start: start + 10*step, End: start + 20*step}, Flag: schemas.FlagSuspect, Bits: 6},
			{Span: detect.Span{Start: start + 20*step, End: start + 101*step}, Flag: schemas.FlagFail, Bits: 1},
		}, nil,
		{{Span: detect.Span{Start: start - detect.Day, End: start + 400*step}, Flag: schemas.FlagNotEvaluated}},
		nil,
	}}
	file, rows, _ := flagsOf(t, flagsWriter{probes: probes, judged: judged}, parts)
	checkSchema(t, file, schemas.Flags)
	if len(rows) != len(probes)*each {
		t.Fatalf("%d rows, want %d", len(rows), len(probes)*each)
	}
	for n, r := range rows {
		i, k := n/each, n%each
		p := &probes[i]
		blank := k%100 == 99
		want := map[string]any{"time": start + int64(k)*step, "probe": p.Name, "unit": p.Unit, "value": nil, "tension_kpa": nil, "water_content": nil,
			"qc_flag": int64(1), "qc_bits": int64(0)}
		raw := reading(p.Unit, i, k)
		if !blank {
			want["value"] = raw
			switch i {
			case 0:
				// Even probes have a temperature beside them.
				celsius := float64(float32(math.Round(10*(18+4*math.Sin(float64(k)/15)))) / 10)
				if kPa, ok := soil.GranularTension(raw, celsius); ok {
					want["tension_kpa"] = kPa
				}
			case 1:
				want["tension_kpa"] = -(raw - 2)
			case 2:
				want["water_content"] = raw
			}
		}
		switch {
		case i == 0 && k >= 10 && k < 20:
			want["qc_flag"], want["qc_bits"] = int64(3), int64(6)
		case i == 0 && k >= 20 && k < 101:
			want["qc_flag"], want["qc_bits"] = int64(4), int64(1)
		case i == 2:
			want["qc_flag"] = int64(2)
		}
		if blank {
			want["qc_flag"] = int64(9)
		}
		if diff := cmp.Diff(want, r); diff != "" {
			t.Fatalf("row %d: %s", n, diff)
		}
	}
}

// Allen's piecewise form at the default temperature: 4 kohm and 24 degC give 25.221
// kPa (Shock, Barnum & Seddigh 1998; checked). A short and an open have no tension.
func TestTensionOfOhms(t *testing.T) {
	p := &mixed(1)[0]
	b := array.NewRecordBuilder(memory.DefaultAllocator, arrange.Arranged)
	defer b.Release()
	for k, ohms := range []float64{4000, 100, 1e6} {
		b.Field(0).(*array.TimestampBuilder).Append(arrow.Timestamp(start + int64(k)))
		b.Field(1).(*array.Float64Builder).Append(ohms)
		b.Field(2).(*array.Float32Builder).AppendNull()
		b.Field(3).(*array.Float32Builder).AppendNull()
		b.Field(4).(*array.Uint8Builder).Append(0)
	}
	part := &arrange.Partition{Offsets: []int{0, 3}, Record: b.NewRecord()}
	defer part.Record.Release()
	_, rows, _ := flagsOf(t, flagsWriter{probes: []detect.Probe{*p}, judged: &judge.Result{Marks: make([][]judge.Mark, 1)}}, []*arrange.Partition{part})
	if kPa, ok := rows[0]["tension_kpa"].(float64); !ok || math.Abs(kPa-25.221) > 0.0005 {
		t.Errorf("4 kohm is %v kPa, want 25.221", rows[0]["tension_kpa"])
	}
	if rows[1]["tension_kpa"] != nil || rows[2]["tension_kpa"] != nil {
		t.Errorf("a short is %v kPa and an open %v kPa, want none", rows[1]["tension_kpa"], rows[2]["tension_kpa"])
	}
}

// The number of workers never shows, nor that a probe is larger than a row group.
func TestFlagsAreTheSameBytesEachTime(t *testing.T) {
	probes := mixed(3)
	each := groupRows/2 + 1000
	if testing.Short() {
		t.Skip("rows beyond one row group are not tested in short runs (run without -short)")
	}
	parts := readings(t, probes, each, memory.DefaultAllocator)
	f := flagsWriter{ctx: t.Context(), probes: probes, judged: &judge.Result{Marks: make([][]judge.Mark, 3)}}
	write := func() []byte {
		var b bytes.Buffer
		if err := f.write(&b, parts); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	want := write()
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	if got := write(); !bytes.Equal(want, got) {
		t.Errorf("one worker writes other bytes than %d", before)
	}
	file, err := parquet.OpenFile(bytes.NewReader(want), int64(len(want)))
	if err != nil {
		t.Fatal(err)
	}
	groups := file.RowGroups()
	if file.NumRows() != int64(3*each) || len(groups) != 2 {
		t.Errorf("%d rows in %d row groups, want %d in 2", file.NumRows(), len(groups), 3*each)
	}
	for _, g := range groups {
		if g.NumRows() > groupRows {
			t.Errorf("a row group has %d rows, more than %d", g.NumRows(), groupRows)
		}
	}
}

func TestFlagsColumnsAreWhereTheyAreSaidToBe(t *testing.T) {
	for place, name := range map[int]string{flagsTime: "time", flagsProbe: "probe", flagsValue: "value", flagsUnit: "unit", flagsTension: "tension_kpa",
		flagsWater: "water_content", flagsFlag: "qc_flag", flagsBits: "qc_bits"} {
		if schemas.Flags.Index(name) != place {
			t.Errorf("%s stands at %d, not %d", name, schemas.Flags.Index(name), place)
		}
	}
	for name := range flagsEncodings {
		if schemas.Flags.Index(name) < 0 {
			t.Errorf("an encoding is named for %s, which is no column", name)
		}
	}
}
