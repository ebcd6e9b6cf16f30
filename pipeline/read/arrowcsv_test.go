package read_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/csv"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// place is one cell of a table: its row and column, from 0.
type place struct{ row, column int }

// said is what a cell holds: nil for no value.
type held struct {
	time  int64
	probe string
	value *float64
}

// plainTable is a table that no two readers of CSV may read in two ways.
type plainTable struct {
	text    []byte
	sep     rune
	long    bool
	columns int // of values
}

func drawTable(t *rapid.T) plainTable {
	p := plainTable{
		sep:     rapid.SampledFrom([]rune(",;\t|")).Draw(t, "sep"),
		long:    rapid.Bool().Draw(t, "long"),
		columns: rapid.IntRange(1, 6).Draw(t, "columns"),
	}
	end := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "end")
	quote := func(cell string) string {
		if rapid.IntRange(0, 7).Draw(t, "quote") == 0 {
			return `"` + cell + `"`
		}
		return cell
	}
	number := func() string {
		switch rapid.IntRange(0, 6).Draw(t, "form") {
		case 0:
			return ""
		case 1:
			return strconv.FormatInt(rapid.Int64Range(-1e6, 1e6).Draw(t, "integer"), 10)
		case 2:
			return strconv.FormatFloat(rapid.Float64Range(-1e9, 1e9).Draw(t, "float"), 'e', rapid.IntRange(0, 17).Draw(t, "places"), 64)
		default:
			return strconv.FormatFloat(rapid.Float64Range(-1e5, 1e5).Draw(t, "float"), 'f', rapid.IntRange(0, 20).Draw(t, "places"), 64)
		}
	}
	var b strings.Builder
	line := func(cells ...string) {
		for i, c := range cells {
			if i > 0 {
				b.WriteRune(p.sep)
			}
			b.WriteString(quote(c))
		}
		b.WriteString(end)
	}
	names := []string{"time"}
	for k := range p.columns {
		names = append(names, fmt.Sprintf("s%d", k))
	}
	if p.long {
		p.columns, names = 1, []string{"time", "probe", "value"}
	}
	line(names...)
	// One stamp that no other order of day and month fits: the table is to be plain.
	at := time.Date(2026, 5, 13, 0, 0, 0, 0, time.UTC)
	for range rapid.IntRange(0, 60).Draw(t, "rows") {
		at = at.Add(time.Duration(rapid.IntRange(-3600, 7200).Draw(t, "step")) * time.Second)
		cells := []string{at.Format("2006-01-02 15:04:05")}
		if p.long {
			cells = append(cells, fmt.Sprintf("p%d", rapid.IntRange(0, 5).Draw(t, "probe")))
		}
		for range p.columns {
			cells = append(cells, number())
		}
		line(cells...)
	}
	p.text = []byte(b.String())
	return p
}

// byArrow reads the table with Arrow's own reader.
func (p plainTable) byArrow(t *rapid.T) map[place]held {
	fields := []arrow.Field{{Name: "time", Type: arrow.FixedWidthTypes.Timestamp_us}}
	first := 1
	if p.long {
		fields = append(fields, arrow.Field{Name: "probe", Type: arrow.BinaryTypes.String})
		first = 2
	}
	for k := range p.columns {
		fields = append(fields, arrow.Field{Name: fmt.Sprint(k), Type: arrow.PrimitiveTypes.Float64, Nullable: true})
	}
	// By places alone: the names in the schema are not those of the header.
	r := csv.NewReader(bytes.NewReader(p.text[bytes.IndexByte(p.text, '\n')+1:]), arrow.NewSchema(fields, nil), csv.WithComma(p.sep), csv.WithNullReader(false, ""), csv.WithChunk(7))
	defer r.Release()
	all := map[place]held{}
	for row := 0; r.Next(); {
		rec := r.Record()
		at := rec.Column(0).(*array.Timestamp)
		for i := range int(rec.NumRows()) {
			for k := range p.columns {
				h := held{time: int64(at.Value(i)), probe: fmt.Sprintf("p%d", k)}
				if p.long {
					h.probe = rec.Column(1).(*array.String).Value(i)
				}
				if v := rec.Column(first + k).(*array.Float64); v.IsValid(i) {
					h.value = ptr(v.Value(i))
				}
				all[place{row, first + k}] = h
			}
			row++
		}
	}
	if err := r.Err(); err != nil {
		t.Fatalf("Arrow: %v\n%s", err, p.text)
	}
	return all
}

// Plain tables give what Arrow's own CSV reader gives: the same values to the last
// bit, the same nulls, as many rows.
func TestAgreesWithArrow(t *testing.T) {
	var probes strings.Builder
	probes.WriteString("probe,logger,port,kind,unit\n")
	for k := range 6 {
		fmt.Fprintf(&probes, "p%d,L1,s%d,tensiometer,kPa\n", k, k)
	}
	reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte(probes.String())), "", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	conf := resolved(t, dir, "UTC", schemas.Source{Path: "*"})
	path := filepath.Join(dir, "L1.csv")
	rapid.Check(t, func(t *rapid.T) {
		p := drawTable(t)
		want := p.byArrow(t)
		if err := os.WriteFile(path, p.text, 0o644); err != nil {
			t.Fatal(err)
		}
		res, err := read.Files(context.Background(), read.Input{Config: conf, Register: reg})
		if err != nil {
			t.Fatal(err)
		}
		defer res.Release()
		lawful(t, res)
		if f := res.Files[0]; f.Err != "" || f.Used != int64(len(want)) || f.Rows != int64(len(want)/p.columns) {
			t.Fatalf("%+v, want %d readings\n%s", f, len(want), p.text)
		}
		got := map[place]held{}
		for _, b := range res.Batches {
			at, value := b.Column(schemas.ColTime).(*array.Timestamp), b.Column(schemas.ColValue).(*array.Float64)
			probe := b.Column(schemas.ColProbe).(*array.Uint32)
			line, column := b.Column(schemas.ColLine).(*array.Uint32), b.Column(schemas.ColColumn).(*array.Uint16)
			for i := range int(b.NumRows()) {
				h := held{time: int64(at.Value(i)), probe: reg.Probes[probe.Value(i)].Name}
				if value.IsValid(i) {
					h.value = ptr(value.Value(i))
				}
				got[place{int(line.Value(i)) - 2, int(column.Value(i))}] = h
			}
		}
		if d := cmp.Diff(want, got, cmp.AllowUnexported(place{}, held{})); d != "" {
			t.Fatalf("(-Arrow +read)\n%s\n%s", d, p.text)
		}
	})
}
