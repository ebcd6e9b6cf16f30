package read_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/apache/arrow/go/v17/arrow"
	arrowcsv "github.com/apache/arrow/go/v17/arrow/csv"
	"github.com/parquet-go/parquet-go"

	"probeward/pipeline/config"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// vineyard is an invented export of 200 probes at 25 loggers, 10 minutes apart.
func vineyard(b *testing.B) (*register.Register, [][]string) {
	b.Helper()
	var table strings.Builder
	table.WriteString("probe,logger,port,kind,unit\n")
	var ports [][]string
	for i := range 25 {
		var names []string
		for k := range 8 {
			name := fmt.Sprintf("r%02d-p%d-60", i, k)
			names = append(names, name)
			fmt.Fprintf(&table, "%s,L%02d,s%d,dielectric,m3/m3\n", name, i, k)
		}
		ports = append(ports, names)
	}
	reg, err := register.Load(write(b, b.TempDir(), "probes.csv", []byte(table.String())), "", time.UTC)
	if err != nil {
		b.Fatal(err)
	}
	return reg, ports
}

func longText(ports [][]string, stamps int) []byte {
	var t bytes.Buffer
	t.WriteString("time,probe,value\n")
	for i := range stamps {
		at := ten.Add(time.Duration(10*i) * time.Minute).Format("2006-01-02 15:04:05")
		for l, names := range ports {
			for k, name := range names {
				fmt.Fprintf(&t, "%s,%s,0.%04d\n", at, name, 1500+(i*7+l*13+k*29)%2000)
			}
		}
	}
	return t.Bytes()
}

func wideText(stamps int) []byte {
	var t bytes.Buffer
	t.WriteString("timestamp,s0,s1,s2,s3,s4,s5,s6,s7,battery_v\n")
	for i := range stamps {
		t.WriteString(ten.Add(time.Duration(10*i) * time.Minute).Format("2006-01-02 15:04:05"))
		for k := range 8 {
			fmt.Fprintf(&t, ",0.%04d", 1500+(i*7+k*29)%2000)
		}
		t.WriteString(",12.61\n")
	}
	return t.Bytes()
}

func benchmarkFiles(b *testing.B, reg *register.Register, conf *config.Resolved, readings, size int) {
	b.SetBytes(int64(size))
	for b.Loop() {
		res, err := read.Files(context.Background(), read.Input{Config: conf, Register: reg, Workers: 1})
		if err != nil {
			b.Fatal(err)
		}
		if n := res.Files[0].Used; n != int64(readings) {
			b.Fatalf("used %d of %d readings: %v %+v", n, readings, res.Notes, res.Rejects)
		}
		res.Release()
	}
	report(b, readings)
}

func report(b *testing.B, readings int) {
	b.ReportMetric(float64(readings)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mreadings/s")
}

// The peers read the same cells into typed values and keep nothing.
func encodingCSV(b *testing.B, text []byte, values []int, readings int) {
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		r := csv.NewReader(bytes.NewReader(text))
		r.ReuseRecord = true
		_, _ = r.Read()
		n := 0
		for {
			record, err := r.Read()
			if err == io.EOF {
				break
			}
			if _, err := time.Parse("2006-01-02 15:04:05", record[0]); err != nil {
				b.Fatal(err)
			}
			for _, i := range values {
				if _, err := strconv.ParseFloat(record[i], 64); err != nil {
					b.Fatal(err)
				}
				n++
			}
		}
		if n != readings {
			b.Fatalf("%d readings of %d", n, readings)
		}
	}
	report(b, readings)
}

func arrowCSV(b *testing.B, text []byte, fields []arrow.Field, readings int) {
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		r := arrowcsv.NewReader(bytes.NewReader(text), arrow.NewSchema(fields, nil), arrowcsv.WithHeader(true), arrowcsv.WithChunk(1<<16))
		for r.Next() {
			r.Record()
		}
		if err := r.Err(); err != nil {
			b.Fatal(err)
		}
		r.Release()
	}
	report(b, readings)
}

func BenchmarkLong(b *testing.B) {
	reg, ports := vineyard(b)
	const stamps = 5000
	readings := stamps * 200
	text := longText(ports, stamps)
	dir := b.TempDir()
	write(b, dir, "long.csv", text)
	conf := resolved(b, dir, "America/Los_Angeles", schemas.Source{Path: "*.csv"})
	b.Run("read", func(b *testing.B) { benchmarkFiles(b, reg, conf, readings, len(text)) })
	b.Run("encoding_csv", func(b *testing.B) { encodingCSV(b, text, []int{2}, readings) })
	b.Run("arrow_csv", func(b *testing.B) {
		arrowCSV(b, text, []arrow.Field{{Name: "time", Type: arrow.BinaryTypes.String}, {Name: "probe", Type: arrow.BinaryTypes.String}, {Name: "value", Type: arrow.PrimitiveTypes.Float64}}, readings)
	})
}

func BenchmarkWide(b *testing.B) {
	reg, _ := vineyard(b)
	const rows = 100_000
	readings := rows * 8
	text := wideText(rows)
	dir := b.TempDir()
	write(b, dir, "L00.csv", text)
	conf := resolved(b, dir, "Etc/GMT+8", schemas.Source{Path: "*.csv"})
	fields := []arrow.Field{{Name: "timestamp", Type: arrow.BinaryTypes.String}}
	var values []int
	for k := range 9 {
		fields = append(fields, arrow.Field{Name: fmt.Sprint(k), Type: arrow.PrimitiveTypes.Float64})
		if k < 8 {
			values = append(values, 1+k)
		}
	}
	b.Run("read", func(b *testing.B) { benchmarkFiles(b, reg, conf, readings, len(text)) })
	b.Run("encoding_csv", func(b *testing.B) { encodingCSV(b, text, values, readings) })
	b.Run("arrow_csv", func(b *testing.B) { arrowCSV(b, text, fields, readings) })
}

func BenchmarkParquet(b *testing.B) {
	reg, ports := vineyard(b)
	type row struct {
		Time  int64   `parquet:"time,timestamp(microsecond),delta"`
		Probe string  `parquet:"probe,dict"`
		Value float64 `parquet:"value,dict"`
	}
	const stamps = 5000
	var rows []row
	for i := range stamps {
		for l, names := range ports {
			for k, name := range names {
				rows = append(rows, row{ten.UnixMicro() + int64(i)*6e8, name, float64(1500+(i*7+l*13+k*29)%2000) / 1e4})
			}
		}
	}
	dir := b.TempDir()
	p := filepath.Join(dir, "long.parquet")
	write(b, dir, "long.parquet", pack(b, rows, parquet.Compression(&parquet.Zstd), parquet.MaxRowsPerRowGroup(1<<20)))
	info, err := os.Stat(p)
	if err != nil {
		b.Fatal(err)
	}
	conf := resolved(b, dir, "UTC", schemas.Source{Path: "*.parquet"})
	benchmarkFiles(b, reg, conf, len(rows), int(info.Size()))
}
