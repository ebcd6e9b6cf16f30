package arrange

import (
	"math"
	"testing"
	"time"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/memory"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

const start = int64(1_780_000_000_000_000) // 2026-05-28, within the day

// row is one reading of a test; a NaN value is a blank.
type row struct {
	probe int
	time  int64
	value float64
	file  int
}

// batches wraps rows as the reader would: one batch a file, lines from 2.
func batches(files int, rows []row) *read.Result {
	res := &read.Result{Files: make([]read.File, files)}
	for f := range files {
		b := array.NewRecordBuilder(memory.DefaultAllocator, schemas.Readings())
		line := uint32(2)
		for _, r := range rows {
			if r.file != f {
				continue
			}
			b.Field(schemas.ColTime).(*array.TimestampBuilder).Append(arrow.Timestamp(r.time))
			b.Field(schemas.ColProbe).(*array.Uint32Builder).Append(uint32(r.probe))
			if math.IsNaN(r.value) {
				b.Field(schemas.ColValue).(*array.Float64Builder).AppendNull()
			} else {
				b.Field(schemas.ColValue).(*array.Float64Builder).Append(r.value)
			}
			b.Field(schemas.ColTemperature).(*array.Float32Builder).AppendNull()
			b.Field(schemas.ColBattery).(*array.Float32Builder).AppendNull()
			b.Field(schemas.ColCode).(*array.Uint8Builder).Append(0)
			b.Field(schemas.ColFile).(*array.Uint32Builder).Append(uint32(f))
			b.Field(schemas.ColLine).(*array.Uint32Builder).Append(line)
			b.Field(schemas.ColColumn).(*array.Uint16Builder).Append(0)
			line++
		}
		res.Files[f] = read.File{Path: string(rune('a'+f)) + ".csv", Read: int64(line - 2), Used: int64(line - 2), Columns: []string{"value"}}
		res.Batches = append(res.Batches, b.NewRecord())
		b.Release()
	}
	return res
}

func probes(n int) *register.Register {
	reg := &register.Register{}
	for i := range n {
		reg.Probes = append(reg.Probes, detect.Probe{
			Index: i, Name: string(rune('A' + i)), Scale: 1, Quantity: detect.Tension, Kind: detect.GranularMatrix, Unit: "kPa",
			Wirings: []detect.Wiring{{Logger: "L" + string(rune('0'+i/2)), Port: "1", Span: detect.Span{Start: math.MinInt64, End: math.MaxInt64}}},
		})
	}
	return reg
}

func ask() Ask {
	return Ask{Window: 7 * detect.Day, Lookback: 56 * detect.Day, Zone: time.UTC}
}

func TestOrderRepeatsAndContradictions(t *testing.T) {
	at := func(i int) int64 { return start + int64(i)*15*detect.Minute }
	rows := []row{
		{0, at(2), 12, 0}, {0, at(0), 10, 0}, {0, at(1), math.NaN(), 0}, // out of order, and a blank
		{1, at(0), 5, 0},
		{0, at(0), 10, 1}, // the same again
		{0, at(1), 11, 1}, // a value where the first download had a blank
		{0, at(2), 99, 1}, // another value for a reading that is held
		{1, at(0), math.NaN(), 1},
	}
	r, err := Probes(batches(2, rows), probes(2), ask())
	if err != nil {
		t.Fatal(err)
	}
	defer r.Release()
	v := r.Partitions[0].View(0)
	want := []float64{10, 11, 12}
	if v.Len() != len(want) {
		t.Fatalf("probe A has %d rows, want %d", v.Len(), len(want))
	}
	for i, w := range want {
		if v.Time[i] != at(i) || v.Raw[i] != w || v.Blank(i) {
			t.Errorf("row %d is %v at %s, want %v", i, v.Raw[i], detect.Stamp(v.Time[i]), w)
		}
	}
	if got := r.Files[0]; got.Used != 3 || got.Repeated != 1 || got.Rejected != 0 {
		t.Errorf("a.csv: %d used, %d repeated, %d rejected; want 3, 1, 0", got.Used, got.Repeated, got.Rejected)
	}
	if got := r.Files[1]; got.Used != 1 || got.Repeated != 2 || got.Rejected != 1 {
		t.Errorf("b.csv: %d used, %d repeated, %d rejected; want 1, 2, 1", got.Used, got.Repeated, got.Rejected)
	}
	if len(r.Rejects) != 1 || r.Rejects[0].Line != 4 || r.Rejects[0].Text != "99" || r.Rejected[0] != 1 {
		t.Errorf("the contradiction is not listed with its line: %+v", r.Rejects)
	}
}

func TestUntilIsNeitherTheLargestStampNorTheEndOfAnUnfinishedDay(t *testing.T) {
	var rows []row
	morning := (start/detect.Day)*detect.Day + 6*detect.Hour // the export was made at six
	for p := range 8 {
		for k := int64(0); k < 20*96; k++ {
			rows = append(rows, row{p, morning - k*15*detect.Minute, 20, 0})
		}
	}
	// One logger's clock says 2057, for more readings than a day has.
	future := time.Date(2057, 9, 12, 2, 0, 0, 0, time.UTC).UnixMicro()
	for k := int64(0); k < 500; k++ {
		rows = append(rows, row{0, future + k*15*detect.Minute, 20, 0})
	}
	r, err := Probes(batches(1, rows), probes(8), ask())
	if err != nil {
		t.Fatal(err)
	}
	defer r.Release()
	if until := r.Period.Window.End; until <= morning || until > morning+detect.Hour {
		t.Errorf("until is %s, want just after %s", detect.Stamp(until), detect.Stamp(morning))
	}
	if len(r.Rejects) != 1 || r.Rejects[0].Readings != 500 || r.Rejects[0].LastLine-r.Rejects[0].Line != 499 {
		t.Errorf("500 readings of 2057 are one stretch of rejects: %+v", r.Rejects)
	}
	if r.Farm.End > future {
		t.Error("one logger's clock stretches the farm's span")
	}
}

func TestNothingInThePeriodIsAnErrorThatSaysWhatToDo(t *testing.T) {
	a := ask()
	a.Until = detect.Some(start - 400*detect.Day)
	if _, err := Probes(batches(1, []row{{0, start, 1, 0}}), probes(1), a); err == nil {
		t.Error("an empty period is scanned")
	}
	if _, err := Probes(batches(1, nil), probes(1), ask()); err == nil {
		t.Error("an empty export is scanned")
	}
}

// Whatever the order in which readings were written, and however often, a probe's
// series is the same, and every reading is booked once.
func TestAnyOrderGivesTheSameSeries(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "n")
		base := make([]row, n)
		for i := range base {
			base[i] = row{probe: i % 3, time: start + int64(i/3)*10*detect.Minute, value: float64(i)}
		}
		shuffled := rapid.Permutation(base).Draw(t, "order")
		again := rapid.IntRange(0, n).Draw(t, "again")
		rows := append([]row{}, shuffled...)
		for _, r := range shuffled[:again] {
			r.file = 1
			rows = append(rows, r)
		}
		one, err := Probes(batches(1, base), probes(3), ask())
		if err != nil {
			t.Fatal(err)
		}
		two, err := Probes(batches(2, rows), probes(3), ask())
		if err != nil {
			t.Fatal(err)
		}
		if one.Period != two.Period {
			t.Fatalf("the period depends on the order: %v and %v", one.Period, two.Period)
		}
		for p := range 3 {
			a, b := one.Partitions[0].View(p), two.Partitions[0].View(p)
			if a.Len() != b.Len() {
				t.Fatalf("probe %d has %d and %d rows", p, a.Len(), b.Len())
			}
			for i := range a.Time {
				if a.Time[i] != b.Time[i] || a.Raw[i] != b.Raw[i] {
					t.Fatalf("probe %d row %d differs", p, i)
				}
			}
		}
		if two.Files[1].Repeated != int64(again) {
			t.Fatalf("%d of %d repeats are booked", two.Files[1].Repeated, again)
		}
	})
}
