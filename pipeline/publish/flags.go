package publish

import (
	"context"
	"fmt"
	"io"
	"runtime"

	"github.com/parquet-go/parquet-go"
	"golang.org/x/sync/errgroup"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
	"probeward/pipeline/arrange"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// Places of the columns of schemas.Flags; a test holds them to it.
const (
	flagsTime = iota
	flagsProbe
	flagsValue
	flagsUnit
	flagsTension
	flagsWater
	flagsFlag
	flagsBits
)

// flagsEncodings says how each column is written: stamps run in equal steps
// (delta), and everything else repeats (dictionary).
var flagsEncodings = map[string]string{
	"time": "delta", "value": "dict", "tension_kpa": "dict", "water_content": "dict", "qc_flag": "dict", "qc_bits": "dict",
}

const (
	// batchValues is how many values go to a column writer at once.
	batchValues = 8192
	// dictionaryBytes is where a column of ever new values stops being worth a
	// dictionary; from the next page on it is plain.
	dictionaryBytes = 1 << 20
	// groupRows is the most rows of a row group, and so what a worker holds.
	groupRows = 1 << 18
)

// flagsWriter writes flags.parquet: the probes in the order of the register, each
// in time order. Row groups are filled by several workers and committed in order,
// so that their number never shows in the bytes.
type flagsWriter struct {
	ctx    context.Context
	probes []detect.Probe
	judged *judge.Result
}

// stretch is some rows of one probe; group is the stretches of one row group.
type stretch struct {
	view     arrange.View
	from, to int
}

type group []stretch

// groups cuts a partition's rows into row groups.
func groups(p *arrange.Partition) (out []group) {
	var g group
	left := groupRows
	for i := range p.Probes() {
		v := p.View(i)
		for from := 0; from < v.Len(); {
			to := min(v.Len(), from+left)
			g = append(g, stretch{v, from, to})
			left -= to - from
			from = to
			if left == 0 {
				out, g, left = append(out, g), nil, groupRows
			}
		}
	}
	if len(g) > 0 {
		out = append(out, g)
	}
	return out
}

func (f flagsWriter) write(w io.Writer, partitions []*arrange.Partition) error {
	out := parquet.NewGenericWriter[any](w, append(comments(schemas.Flags), parquetSchema(schemas.Flags, flagsEncodings),
		parquet.DictionaryMaxBytes(dictionaryBytes), parquet.MaxRowsPerRowGroup(groupRows),
		// The column index and the chunks keep their bounds; pages need no second copy.
		parquet.DataPageStatistics(false), parquet.SkipPageBounds("unit"))...)
	workers := max(1, runtime.GOMAXPROCS(0))
	fillers := make([]filler, workers)
	for i := range fillers {
		fillers[i] = filler{flagsWriter: f, values: make([]parquet.Value, batchValues), same: make([]parquet.Value, batchValues)}
	}
	var wave []group
	var rows, kept int64
	flush := func() error {
		filled := make([]*parquet.ConcurrentRowGroupWriter, len(wave))
		var wait errgroup.Group
		for i, g := range wave {
			filled[i] = out.BeginRowGroup()
			wait.Go(func() error { return fillers[i].fill(filled[i], g) })
		}
		if err := wait.Wait(); err != nil {
			return err
		}
		for _, g := range filled {
			n, err := g.Commit()
			if err != nil {
				return err
			}
			rows += n
		}
		wave = wave[:0]
		return f.ctx.Err()
	}
	for _, p := range partitions {
		kept += p.Record.NumRows()
		for _, g := range groups(p) {
			if wave = append(wave, g); len(wave) == workers {
				if err := flush(); err != nil {
					return err
				}
			}
		}
	}
	if err := flush(); err != nil {
		return err
	}
	if rows != kept {
		return fmt.Errorf("%d readings were kept and %d flagged", kept, rows)
	}
	return out.Close()
}

// filler writes the columns of one row group at a time. Its buffers are reused.
type filler struct {
	flagsWriter
	values, same []parquet.Value
	flags, bits  []int64
	marked       bool // some flag or bit of the stretch is not a plain pass
}

// fill writes one stretch after the other, and of each one column after the other:
// a pass over a slice each, and no row is ever put together.
func (f *filler) fill(rows *parquet.ConcurrentRowGroupWriter, g group) error {
	columns := rows.ColumnWriters()
	if len(columns) != len(schemas.Flags.Columns) {
		return fmt.Errorf("the writer has %d columns, the table %d", len(columns), len(schemas.Flags.Columns))
	}
	for _, s := range g {
		if err := f.ctx.Err(); err != nil {
			return err
		}
		probe := &f.probes[s.view.Probe]
		f.mark(s)
		if err := f.times(columns[flagsTime], s); err != nil {
			return err
		}
		if err := f.repeat(columns[flagsProbe], s, parquet.ByteArrayValue([]byte(probe.Name))); err != nil {
			return err
		}
		if err := f.numbers(columns[flagsValue], s, func(i int) (float64, bool) { return s.view.Raw[i], true }); err != nil {
			return err
		}
		if err := f.repeat(columns[flagsUnit], s, parquet.ByteArrayValue([]byte(probe.Unit))); err != nil {
			return err
		}
		if err := f.numbers(columns[flagsTension], s, tension(probe, s.view)); err != nil {
			return err
		}
		if err := f.numbers(columns[flagsWater], s, water(probe, s.view)); err != nil {
			return err
		}
		if err := f.quality(columns[flagsFlag], s, f.flags, int64(schemas.FlagPass)); err != nil {
			return err
		}
		if err := f.quality(columns[flagsBits], s, f.bits, 0); err != nil {
			return err
		}
	}
	return nil
}

func (f *filler) times(w *parquet.ColumnWriter, s stretch) error {
	for at := s.from; at < s.to; at += batchValues {
		times := s.view.Time[at:min(s.to, at+batchValues)]
		for i, t := range times {
			f.values[i] = parquet.Int64Value(t)
		}
		if _, err := w.WriteRowValues(f.values[:len(times)]); err != nil {
			return err
		}
	}
	return nil
}

// repeat writes one value for every row of a stretch.
func (f *filler) repeat(w *parquet.ColumnWriter, s stretch, v parquet.Value) error {
	n := s.to - s.from
	for i := range f.same[:min(n, batchValues)] {
		f.same[i] = v
	}
	for ; n > 0; n -= batchValues {
		if _, err := w.WriteRowValues(f.same[:min(n, batchValues)]); err != nil {
			return err
		}
	}
	return nil
}

// numbers writes a column that may be null: of every blank, and where of says so.
// Without of it is null throughout.
func (f *filler) numbers(w *parquet.ColumnWriter, s stretch, of func(i int) (float64, bool)) error {
	if of == nil {
		return f.repeat(w, s, parquet.Value{})
	}
	for at := s.from; at < s.to; at += batchValues {
		n := min(s.to-at, batchValues)
		for i := range n {
			v, ok := of(at + i)
			if !ok || s.view.Blank(at+i) {
				f.values[i] = parquet.Value{}
				continue
			}
			f.values[i] = parquet.DoubleValue(v).Level(0, 1, 0)
		}
		if _, err := w.WriteRowValues(f.values[:n]); err != nil {
			return err
		}
	}
	return nil
}

// quality writes flags or bits; most stretches have one value throughout.
func (f *filler) quality(w *parquet.ColumnWriter, s stretch, of []int64, plain int64) error {
	if !f.marked {
		return f.repeat(w, s, parquet.Int64Value(plain))
	}
	for at := 0; at < len(of); at += batchValues {
		some := of[at:min(len(of), at+batchValues)]
		for i, v := range some {
			f.values[i] = parquet.Int64Value(v)
		}
		if _, err := w.WriteRowValues(f.values[:len(some)]); err != nil {
			return err
		}
	}
	return nil
}

// tension gives a probe's conversion to kPa: ohms by the published piecewise form
// with the temperature beside them, or its reference temperature; null for a short
// or an open. Tension as exported is itself. nil: the probe has none.
func tension(probe *detect.Probe, v arrange.View) func(i int) (float64, bool) {
	switch {
	case probe.Quantity == detect.Tension:
		return standard(probe, v)
	case probe.Quantity == detect.Ohms && probe.Kind == detect.GranularMatrix:
		return func(i int) (float64, bool) {
			temperature := soil.ReferenceTempC
			if t, ok := v.Temperature(i); ok {
				temperature = float64(t)
			}
			return soil.GranularTension(probe.Scale*(v.Raw[i]-probe.Offset), temperature)
		}
	default:
		return nil
	}
}

// water gives a probe's water content; nil: the probe has none.
func water(probe *detect.Probe, v arrange.View) func(i int) (float64, bool) {
	if probe.Quantity != detect.WaterContent {
		return nil
	}
	return standard(probe, v)
}

func standard(probe *detect.Probe, v arrange.View) func(i int) (float64, bool) {
	return func(i int) (float64, bool) { return probe.Scale * (v.Raw[i] - probe.Offset), true }
}

// mark fills flags and bits for the rows of a stretch: those of the mark that holds,
// a plain pass where none does, and 9 for a blank whatever holds.
func (f *filler) mark(s stretch) {
	f.flags, f.bits, f.marked = f.flags[:0], f.bits[:0], false
	marks, m := f.judged.Marks[s.view.Probe], 0
	for i, t := range s.view.Time[s.from:s.to] {
		for m < len(marks) && marks[m].End <= t {
			m++
		}
		flag, bits := schemas.FlagPass, int64(0)
		if m < len(marks) && marks[m].Holds(t) {
			flag, bits = marks[m].Flag, marks[m].Bits
		}
		if s.view.Blank(s.from + i) {
			flag = schemas.FlagMissing
		}
		f.marked = f.marked || flag != schemas.FlagPass || bits != 0
		f.flags, f.bits = append(f.flags, int64(flag)), append(f.bits, bits)
	}
}
