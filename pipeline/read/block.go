package read

import (
	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/memory"

	"probeward/schemas"
)

// blockRows is the most rows of one batch.
const blockRows = 1 << 16

// spare holds the buffers that all batches share where a column says nothing.
type spare struct {
	allocator memory.Allocator
	zeros     *memory.Buffer // blockRows values of up to four bytes
	absent    *memory.Buffer // a validity bitmap of nulls
}

func newSpare(a memory.Allocator) *spare {
	s := &spare{allocator: a, zeros: memory.NewResizableBuffer(a), absent: memory.NewResizableBuffer(a)}
	s.zeros.Resize(4 * blockRows)
	clear(s.zeros.Bytes())
	s.absent.Resize(blockRows / 8)
	clear(s.absent.Bytes())
	return s
}

func (s *spare) release() { s.zeros.Release(); s.absent.Release() }

// block gathers readings in plain slices until they become a batch. It is reused.
type block struct {
	spare   *spare
	file    uint32
	n       int
	time    []int64
	probe   []uint32
	value   []float64
	valid   []byte // bitmap
	side    [2]lane
	code    []uint8
	line    []uint32
	column  []uint16
	nulls   int
	coded   bool
	besides bool
	batches []arrow.Record
}

// lane is a column that most exports leave empty: temperature or battery.
type lane struct {
	value []float32
	valid []byte
	n     int // values there
	now   float32
	there bool
}

func newBlock(s *spare) *block {
	b := &block{
		spare: s,
		time:  make([]int64, blockRows), probe: make([]uint32, blockRows),
		value: make([]float64, blockRows), valid: make([]byte, blockRows/8),
		code: make([]uint8, blockRows), line: make([]uint32, blockRows), column: make([]uint16, blockRows),
	}
	for i := range b.side {
		b.side[i] = lane{value: make([]float32, blockRows), valid: make([]byte, blockRows/8)}
	}
	return b
}

// put adds a reading with a value.
func (b *block) put(t int64, probe uint32, v float64, line uint32, column uint16) {
	i := b.n
	b.time[i], b.probe[i], b.value[i], b.line[i], b.column[i] = t, probe, v, line, column
	b.valid[i>>3] |= 1 << (i & 7)
	if b.besides {
		b.putBeside()
	}
	b.n++
	if b.n == blockRows {
		b.flush()
	}
}

// blank adds a reading without a value.
func (b *block) blank(t int64, probe uint32, code uint8, line uint32, column uint16) {
	i := b.n
	b.time[i], b.probe[i], b.value[i], b.line[i], b.column[i] = t, probe, 0, line, column
	b.nulls++
	if code != schemas.CodeNone {
		b.code[i] = code
		b.coded = true
	}
	if b.besides {
		b.putBeside()
	}
	b.n++
	if b.n == blockRows {
		b.flush()
	}
}

// beside sets the temperature (k 0) or battery (k 1) of the readings put from now on.
func (b *block) beside(k int, v float32, there bool) {
	b.besides = true
	b.side[k].now, b.side[k].there = v, there
}

func (b *block) putBeside() {
	for k := range b.side {
		if l := &b.side[k]; l.there {
			l.value[b.n] = l.now
			l.valid[b.n>>3] |= 1 << (b.n & 7)
			l.n++
		}
	}
}

// flush makes a batch of what is there.
func (b *block) flush() {
	n := b.n
	if n == 0 {
		return
	}
	file := b.buffer(4 * n)
	places := arrow.Uint32Traits.CastFromBytes(file.Bytes())
	for i := range places {
		places[i] = b.file
	}
	columns := make([]arrow.Array, schemas.ColColumn+1)
	set := func(at int, values *memory.Buffer, valid *memory.Buffer, nulls int) {
		data := array.NewData(schemas.Readings().Field(at).Type, n, []*memory.Buffer{valid, values}, nil, nulls, 0)
		columns[at] = array.MakeFromData(data)
		data.Release()
		values.Release()
		if valid != nil {
			valid.Release()
		}
	}
	set(schemas.ColTime, b.copied(arrow.Int64Traits.CastToBytes(b.time[:n])), nil, 0)
	set(schemas.ColProbe, b.copied(arrow.Uint32Traits.CastToBytes(b.probe[:n])), nil, 0)
	var valid *memory.Buffer
	if b.nulls > 0 {
		valid = b.copied(b.valid[:(n+7)/8])
	}
	set(schemas.ColValue, b.copied(arrow.Float64Traits.CastToBytes(b.value[:n])), valid, b.nulls)
	for k, at := range []int{schemas.ColTemperature, schemas.ColBattery} {
		l := &b.side[k]
		if l.n == 0 {
			set(at, b.shared(b.spare.zeros), b.shared(b.spare.absent), n)
			continue
		}
		set(at, b.copied(arrow.Float32Traits.CastToBytes(l.value[:n])), b.copied(l.valid[:(n+7)/8]), n-l.n)
		clear(l.value[:n])
		clear(l.valid)
		l.n = 0
	}
	if b.coded {
		set(schemas.ColCode, b.copied(b.code[:n]), nil, 0)
		clear(b.code[:n])
	} else {
		set(schemas.ColCode, b.shared(b.spare.zeros), nil, 0)
	}
	set(schemas.ColFile, file, nil, 0)
	set(schemas.ColLine, b.copied(arrow.Uint32Traits.CastToBytes(b.line[:n])), nil, 0)
	set(schemas.ColColumn, b.copied(arrow.Uint16Traits.CastToBytes(b.column[:n])), nil, 0)
	b.batches = append(b.batches, array.NewRecord(schemas.Readings(), columns, int64(n)))
	for _, c := range columns {
		c.Release()
	}
	clear(b.valid)
	b.n, b.nulls, b.coded = 0, 0, false
}

func (b *block) buffer(n int) *memory.Buffer {
	buf := memory.NewResizableBuffer(b.spare.allocator)
	buf.Resize(n)
	return buf
}

func (b *block) copied(from []byte) *memory.Buffer {
	buf := b.buffer(len(from))
	copy(buf.Bytes(), from)
	return buf
}

func (b *block) shared(buf *memory.Buffer) *memory.Buffer {
	buf.Retain()
	return buf
}

// start makes ready for another file.
func (b *block) start(file uint32) {
	b.file = file
	b.besides = false
	for k := range b.side {
		b.side[k].there = false
	}
}

// take hands over the batches made so far.
func (b *block) take() []arrow.Record {
	b.flush()
	batches := b.batches
	b.batches = nil
	return batches
}
