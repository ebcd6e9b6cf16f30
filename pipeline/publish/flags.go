package publish

import (
	"fmt"
	"io"
	"runtime"
	"sync"

	"github.com/parquet-go/parquet-go"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
	"probeward/pipeline/arrange"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// flagRow lays out flags.parquet: the columns of schemas.Flags, and how each is
// encoded. Stamps run in equal steps (delta); values repeat (dictionary).
type flagRow struct {
	Time    int64   `parquet:"time,timestamp(microsecond),delta"`
	Probe   string  `parquet:"probe,dict"`
	Value   float64 `parquet:"value,optional,dict"`
	Unit    string  `parquet:"unit,dict"`
	Tension float64 `parquet:"tension_kpa,optional,dict"`
	Water   float64 `parquet:"water_content,optional,dict"`
	Flag    int64   `parquet:"qc_flag,dict"`
	Bits    int64   `parquet:"qc_bits,dict"`
}

// batchValues is how many values go to a column writer at once.
const batchValues = 8192

// dictionaryBytes is where a column of ever new values stops being worth a dictionary.
const dictionaryBytes = 1 << 20

// flagsWriter writes a row group a partition, several at once, committed in order.
type flagsWriter struct {
	probes []detect.Probe
	judged *judge.Result
}

func (f flagsWriter) write(w io.Writer, partitions []*arrange.Partition) error {
	out := parquet.NewGenericWriter[flagRow](w, append(comments(schemas.Flags), parquet.DictionaryMaxBytes(dictionaryBytes))...)
	workers := runtime.GOMAXPROCS(0)
	fillers := make([]filler, workers)
	for i := range fillers {
		fillers[i] = filler{flagsWriter: f, values: make([]parquet.Value, 0, batchValues)}
	}
	for at := 0; at < len(partitions); at += workers {
		wave := partitions[at:min(at+workers, len(partitions))]
		groups := make([]*parquet.ConcurrentRowGroupWriter, len(wave))
		errs := make([]error, len(wave))
		var wait sync.WaitGroup
		for i, p := range wave {
			if p.Record.NumRows() == 0 {
				continue
			}
			groups[i] = out.BeginRowGroup()
			wait.Go(func() { errs[i] = fillers[i].fill(groups[i], p) })
		}
		wait.Wait()
		for i, g := range groups {
			if errs[i] != nil {
				return errs[i]
			}
			if g == nil {
				continue
			}
			if _, err := g.Commit(); err != nil {
				return err
			}
		}
	}
	return out.Close()
}

// filler writes the columns of one row group. Its buffers are reused.
type filler struct {
	flagsWriter
	values []parquet.Value
	flags  []int64
	bits   []int64
}

// fill writes a partition a column at a time: each column is one pass over its
// slice, and only one column's page is open.
func (f *filler) fill(group *parquet.ConcurrentRowGroupWriter, p *arrange.Partition) error {
	views := make([]arrange.View, p.Probes())
	for i := range views {
		views[i] = p.View(i)
	}
	f.mark(views)
	columns := group.ColumnWriters()
	if len(columns) != len(schemas.Flags.Columns) {
		return fmt.Errorf("flags.parquet has %d columns, its table %d", len(columns), len(schemas.Flags.Columns))
	}
	base := 0
	for _, v := range views {
		probe := &f.probes[v.Probe]
		name, unit := parquet.ByteArrayValue([]byte(probe.Name)), parquet.ByteArrayValue([]byte(probe.Unit))
		flags, bits := f.flags[base:base+v.Len()], f.bits[base:base+v.Len()]
		base += v.Len()
		convert := tension(probe, v)
		for c, of := range []func(i int) parquet.Value{
			func(i int) parquet.Value { return parquet.Int64Value(v.Time[i]) },
			func(int) parquet.Value { return name },
			func(i int) parquet.Value { return present(v.Raw[i], !v.Blank(i)) },
			func(int) parquet.Value { return unit },
			func(i int) parquet.Value { return convert(i) },
			func(i int) parquet.Value {
				return present(probe.Scale*(v.Raw[i]-probe.Offset), probe.Quantity == detect.WaterContent && !v.Blank(i))
			},
			func(i int) parquet.Value { return parquet.Int64Value(flags[i]) },
			func(i int) parquet.Value { return parquet.Int64Value(bits[i]) },
		} {
			if err := f.column(columns[c], c, v.Len(), of); err != nil {
				return err
			}
		}
	}
	return nil
}

// optionalColumn says which columns of flagRow may be null.
var optionalColumn = [...]bool{2: true, 4: true, 5: true, 7: false}

func (f *filler) column(w *parquet.ColumnWriter, c, n int, of func(i int) parquet.Value) error {
	for at := 0; at < n; {
		f.values = f.values[:0]
		for ; at < n && len(f.values) < batchValues; at++ {
			v := of(at)
			definition := 0
			if optionalColumn[c] && !v.IsNull() {
				definition = 1
			}
			f.values = append(f.values, v.Level(0, definition, c))
		}
		if _, err := w.WriteRowValues(f.values); err != nil {
			return err
		}
	}
	return nil
}

func present(v float64, ok bool) parquet.Value {
	if !ok {
		return parquet.NullValue()
	}
	return parquet.DoubleValue(v)
}

// tension gives a probe's conversion to kPa: ohms by the published piecewise form
// with the temperature beside them, or its reference temperature; never of a short
// or an open. Tension as exported is itself.
func tension(probe *detect.Probe, v arrange.View) func(i int) parquet.Value {
	standard := func(i int) float64 { return probe.Scale * (v.Raw[i] - probe.Offset) }
	switch {
	case probe.Quantity == detect.Tension:
		return func(i int) parquet.Value { return present(standard(i), !v.Blank(i)) }
	case probe.Quantity == detect.Ohms && probe.Kind == detect.GranularMatrix:
		reference := soil.ReferenceTempC
		if probe.ReferenceTemp.OK {
			reference = probe.ReferenceTemp.V
		}
		return func(i int) parquet.Value {
			if v.Blank(i) {
				return parquet.NullValue()
			}
			temperature := reference
			if t, ok := v.Temperature(i); ok {
				temperature = float64(t)
			}
			kPa, ok := soil.GranularTension(standard(i), temperature)
			return present(kPa, ok)
		}
	default:
		return func(int) parquet.Value { return parquet.NullValue() }
	}
}

// mark fills flags and bits for the rows of all views, one after the other.
func (f *filler) mark(views []arrange.View) {
	f.flags, f.bits = f.flags[:0], f.bits[:0]
	for _, v := range views {
		marks := f.judged.Marks[v.Probe]
		m := 0
		for i, t := range v.Time {
			for m < len(marks) && marks[m].End <= t {
				m++
			}
			flag, bits := schemas.FlagPass, int64(0)
			if m < len(marks) && marks[m].Holds(t) {
				flag, bits = marks[m].Flag, marks[m].Bits
			}
			if v.Blank(i) {
				flag = schemas.FlagMissing
			}
			f.flags, f.bits = append(f.flags, int64(flag)), append(f.bits, bits)
		}
	}
}
