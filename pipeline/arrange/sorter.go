package arrange

import (
	"fmt"
	"math"
	"sort"
	"strconv"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/bitutil"
	"github.com/apache/arrow/go/v17/arrow/memory"

	"probeward/detectors/detect"
	"probeward/pipeline/read"
	"probeward/schemas"
)

// sorter scatters the batches' rows to their probes and puts each probe in order.
type sorter struct {
	result *Result
	in     *read.Result
	probes []detect.Probe

	counts               []int
	bases                []uint32 // first row of each batch, over all batches
	temperature, battery bool     // whether any reading has one
	lastOutside          outsideKey
	firstOutside         int // rejects before this one are the reader's

	order   []int // scratch of one probe
	pending chunk // scratch of one probe that has to be sorted
}

// chunk is the columns of a partition while it is filled.
type chunk struct {
	time    []int64
	value   []float64
	valid   []bool
	temp    []float32
	battery []float32
	code    []uint8
	row     []uint32 // over all batches: where it came from
}

func (s *sorter) newChunk(n int) chunk {
	c := chunk{time: make([]int64, n), value: make([]float64, n), valid: make([]bool, n), code: make([]uint8, n), row: make([]uint32, n)}
	if s.temperature {
		c.temp = make([]float32, n)
	}
	if s.battery {
		c.battery = make([]float32, n)
	}
	return c
}

// scatter fills one partition after the other. A partition goes through the
// batches' probe column once for its rows, so only one is loose in memory at a time.
func (s *sorter) scatter() {
	for first := 0; first < len(s.probes); {
		last, rows := first, 0
		for last < len(s.probes) && (last == first || rows+s.counts[last] <= partitionRows) {
			rows += s.counts[last]
			last++
		}
		s.result.Partitions = append(s.result.Partitions, s.partition(first, last, rows))
		first = last
	}
}

func (s *sorter) partition(first, last, rows int) *Partition {
	c := s.newChunk(rows)
	at := make([]int, last-first+1)
	for i := first; i < last; i++ {
		at[i-first+1] = at[i-first] + s.counts[i]
	}
	next := append([]int(nil), at...)
	whole := s.result.Period.Whole()
	for n, b := range s.in.Batches {
		s.gather(b, s.bases[n], whole, first, last, next, &c)
	}
	p := &Partition{First: first, Offsets: make([]int, last-first+1)}
	to := 0
	for i := range last - first {
		p.Offsets[i] = to
		to = s.settle(&c, first+i, at[i], at[i+1], to)
	}
	p.Offsets[last-first] = to
	p.Record = s.record(c, to)
	return p
}

// gather copies a batch's rows of the probes [first, last) to their places.
func (s *sorter) gather(b arrow.Record, base uint32, whole detect.Span, first, last int, next []int, c *chunk) {
	times := micros(b.Column(schemas.ColTime).(*array.Timestamp).TimestampValues())
	who := b.Column(schemas.ColProbe).(*array.Uint32).Uint32Values()
	value := b.Column(schemas.ColValue).(*array.Float64)
	values := value.Float64Values()
	code := b.Column(schemas.ColCode).(*array.Uint8).Uint8Values()
	temp := b.Column(schemas.ColTemperature).(*array.Float32)
	batt := b.Column(schemas.ColBattery).(*array.Float32)
	nulls := value.NullN() > 0
	for i, w := range who {
		p := int(w)
		if p < first || p >= last || times[i] < whole.Start || times[i] >= whole.End {
			continue
		}
		k := next[p-first]
		next[p-first]++
		c.time[k], c.code[k], c.row[k] = times[i], code[i], base+uint32(i)
		if !nulls || value.IsValid(i) {
			c.value[k], c.valid[k] = values[i], true
		}
		if c.temp != nil {
			c.temp[k] = float32At(temp, i)
		}
		if c.battery != nil {
			c.battery[k] = float32At(batt, i)
		}
	}
}

func float32At(a *array.Float32, i int) float32 {
	if a.IsNull(i) {
		return nan32
	}
	return a.Value(i)
}

// settle puts the rows [a, b) of one probe in order, drops repeats and
// contradictions, and moves what is left to the place to. It returns the place
// behind them.
func (s *sorter) settle(c *chunk, probe, a, b, to int) int {
	s.sort(c, a, b)
	start := to
	for i := a; i < b; i++ {
		if to > start && c.time[i] == c.time[to-1] {
			s.meet(c, probe, to-1, i)
			continue
		}
		c.move(i, to)
		to++
	}
	s.result.Peaks[probe] = peak(c.value[start:to], c.valid[start:to])
	return to
}

func (c *chunk) move(from, to int) {
	if from == to {
		return
	}
	c.time[to], c.value[to], c.valid[to], c.code[to], c.row[to] = c.time[from], c.value[from], c.valid[from], c.code[from], c.row[from]
	if c.temp != nil {
		c.temp[to] = c.temp[from]
	}
	if c.battery != nil {
		c.battery[to] = c.battery[from]
	}
}

// sort orders the rows [a, b) by time, rows of one stamp as they were written.
func (s *sorter) sort(c *chunk, a, b int) {
	ordered := true
	for i := a + 1; i < b && ordered; i++ {
		ordered = c.time[i-1] <= c.time[i]
	}
	if ordered {
		return
	}
	n := b - a
	s.order = s.order[:0]
	for i := range n {
		s.order = append(s.order, a+i)
	}
	sort.SliceStable(s.order, func(i, j int) bool { return c.time[s.order[i]] < c.time[s.order[j]] })
	if len(s.pending.time) < n {
		s.pending = s.newChunk(n + n/2)
	}
	p := &s.pending
	for k, i := range s.order {
		p.time[k], p.value[k], p.valid[k], p.code[k], p.row[k] = c.time[i], c.value[i], c.valid[i], c.code[i], c.row[i]
		if c.temp != nil {
			p.temp[k] = c.temp[i]
		}
		if c.battery != nil {
			p.battery[k] = c.battery[i]
		}
	}
	copy(c.time[a:b], p.time)
	copy(c.value[a:b], p.value)
	copy(c.valid[a:b], p.valid)
	copy(c.code[a:b], p.code)
	copy(c.row[a:b], p.row)
	if c.temp != nil {
		copy(c.temp[a:b], p.temp)
	}
	if c.battery != nil {
		copy(c.battery[a:b], p.battery)
	}
}

// meet settles two rows of one probe and stamp: the one held, and the one that
// came later. A value stands before a blank; the same again is a repeat; another
// value is rejected, because nothing here can tell which of them is true.
func (s *sorter) meet(c *chunk, probe, held, i int) {
	file, line, column := s.source(c.row[i])
	f := &s.result.Files[file]
	switch {
	case c.valid[i] && !c.valid[held]:
		// The blank was the repeat: book it on its own file.
		blankFile, _, _ := s.source(c.row[held])
		s.result.Files[blankFile].Used--
		s.result.Files[blankFile].Repeated++
		c.move(i, held)
		return
	case !c.valid[i] || c.value[i] == c.value[held]:
		f.Used--
		f.Repeated++
		return
	}
	f.Used--
	f.Rejected++
	s.result.Rejected[probe]++
	if all := &s.result.Contradictions[probe]; len(*all) < mostContradictions && (len(*all) == 0 || (*all)[len(*all)-1] != c.time[held]) {
		*all = append(*all, c.time[held])
	}
	heldFile, heldLine, _ := s.source(c.row[held])
	name := ""
	if column < len(f.Columns) {
		name = f.Columns[column]
	}
	s.result.Rejects = append(s.result.Rejects, read.Reject{
		File: file, Line: line, LastLine: line, Column: name, Probe: probe, Readings: 1,
		Why: fmt.Sprintf("another value, %s, is held for probe %s at %s from %s line %d",
			strconv.FormatFloat(c.value[held], 'g', -1, 64), s.probes[probe].Name, detect.Stamp(c.time[i]),
			s.result.Files[heldFile].Path, heldLine),
		Text: strconv.FormatFloat(c.value[i], 'g', -1, 64),
	})
}

// mostContradictions bounds what is kept of a probe; a clock's are some hours.
const mostContradictions = 4096

// source says in which file, line and column a row was written.
func (s *sorter) source(row uint32) (file, line, column int) {
	n := sort.Search(len(s.bases), func(i int) bool { return s.bases[i] > row }) - 1
	b, i := s.in.Batches[n], int(row-s.bases[n])
	return int(b.Column(schemas.ColFile).(*array.Uint32).Value(i)),
		int(b.Column(schemas.ColLine).(*array.Uint32).Value(i)),
		int(b.Column(schemas.ColColumn).(*array.Uint16).Value(i))
}

func peak(value []float64, valid []bool) Peak {
	p := Peak{Value: math.Inf(-1)}
	stand := 0
	for i, v := range value {
		switch {
		case !valid[i]:
			continue
		case v > p.Value:
			p, stand = Peak{v, 1}, 1
		case v == p.Value:
			stand++
			p.Stand = max(p.Stand, stand)
		default:
			stand = 0
		}
	}
	if p.Stand == 0 {
		return Peak{}
	}
	return p
}

// record wraps the first n rows of the columns into Arrow, without a copy but for
// the bits of validity.
func (s *sorter) record(c chunk, n int) arrow.Record {
	bits := func(valid func(i int) bool) (*memory.Buffer, int) {
		b := make([]byte, bitutil.BytesForBits(int64(n)))
		nulls := 0
		for i := range n {
			if valid(i) {
				bitutil.SetBit(b, i)
			} else {
				nulls++
			}
		}
		return memory.NewBufferBytes(b), nulls
	}
	none := memory.NewBufferBytes(make([]byte, bitutil.BytesForBits(int64(n))))
	data := func(dtype arrow.DataType, valid *memory.Buffer, nulls int, values []byte) arrow.Array {
		d := array.NewData(dtype, n, []*memory.Buffer{valid, memory.NewBufferBytes(values)}, nil, nulls, 0)
		defer d.Release()
		return array.MakeFromData(d)
	}
	beside := func(values []float32) arrow.Array {
		if values == nil {
			return data(arrow.PrimitiveTypes.Float32, none, n, make([]byte, 4*n))
		}
		valid, nulls := bits(func(i int) bool { return values[i] == values[i] })
		return data(arrow.PrimitiveTypes.Float32, valid, nulls, arrow.Float32Traits.CastToBytes(values[:n]))
	}
	valid, nulls := bits(func(i int) bool { return c.valid[i] })
	columns := []arrow.Array{
		colTime:        data(arrow.FixedWidthTypes.Timestamp_us, nil, 0, arrow.Int64Traits.CastToBytes(c.time[:n])),
		colValue:       data(arrow.PrimitiveTypes.Float64, valid, nulls, arrow.Float64Traits.CastToBytes(c.value[:n])),
		colTemperature: beside(c.temp),
		colBattery:     beside(c.battery),
		colCode:        data(arrow.PrimitiveTypes.Uint8, nil, 0, c.code[:n]),
	}
	rec := array.NewRecord(Arranged, columns, int64(n))
	for _, col := range columns {
		col.Release()
	}
	return rec
}
