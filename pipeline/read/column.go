package read

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/deprecated"
	"github.com/parquet-go/parquet-go/encoding"
	"github.com/parquet-go/parquet-go/format"

	"probeward/schemas"
)

// cursor reads one column of a Parquet file, page by page.
type cursor struct {
	leaf     *parquet.Column
	nanos    int64 // of an integer that is a stamp; 0 when it is none
	zoned    bool  // its stamps are instants
	day      bool  // its integers are days
	scale    int   // a decimal's places behind the mark
	decimal  bool
	unsigned bool

	pages parquet.Pages
	page  values // of the page at hand
	at    int

	dictionary parquet.Dictionary
	table      values  // the dictionary's values
	probes     []int32 // and the probes that they name, where they do; -2: not looked up yet

	scratch []byte
}

// values are those of one page: one of the slices is filled, by kind; there says
// which rows have a value at all, nil for all.
type values struct {
	kind   encoding.Kind // Double, Int64 or ByteArray
	n      int
	floats []float64
	ints   []int64
	texts  [][]byte
	ids    []int32 // places in the cursor's table, in place of the slices above; nil: none
	there  []bool
}

func newCursor(leaf *parquet.Column) (*cursor, error) {
	c := &cursor{leaf: leaf}
	if !leaf.Leaf() || leaf.MaxRepetitionLevel() > 0 {
		return nil, fmt.Errorf("column %q is nested; export a flat table", leaf.Name())
	}
	t := leaf.Type()
	if l := t.LogicalType(); l != nil {
		switch v := l.Value.(type) {
		case *format.TimestampType:
			c.zoned = v.IsAdjustedToUTC
			switch v.Unit.Value.(type) {
			case *format.MilliSeconds:
				c.nanos = 1e6
			case *format.MicroSeconds:
				c.nanos = 1e3
			case *format.NanoSeconds:
				c.nanos = 1
			}
		case *format.DateType:
			c.day = true
		case *format.DecimalType:
			c.scale, c.decimal = int(v.Scale), true
		case *format.IntType:
			c.unsigned = !v.IsSigned
		case *format.TimeType:
			return nil, fmt.Errorf("column %q holds hours without their day; export timestamps", leaf.Name())
		}
	}
	switch t.Kind() {
	case parquet.Int96:
		c.nanos, c.zoned = 1e3, true // made microseconds below
	case parquet.Boolean:
		return nil, fmt.Errorf("column %q holds yes and no; neither a stamp nor a reading", leaf.Name())
	case parquet.FixedLenByteArray:
		if c.decimal {
			break
		}
		return nil, fmt.Errorf("column %q has a fixed-length type that is not read; export it as a number, a timestamp or text", leaf.Name())
	}
	return c, nil
}

// start goes to the column's chunk of a row group.
func (c *cursor) start(group parquet.RowGroup) error {
	c.close()
	chunks := group.ColumnChunks()
	i := c.leaf.Index()
	if i < 0 || i >= len(chunks) {
		return errors.New("damaged: a row group lacks a column")
	}
	c.pages = chunks[i].Pages()
	c.page.n, c.at, c.dictionary = 0, 0, nil
	return nil
}

func (c *cursor) close() {
	if c.pages != nil {
		_ = c.pages.Close()
		c.pages = nil
	}
}

// ready makes sure that a row is at hand, and says how many are.
func (c *cursor) ready() (int, error) {
	for c.at >= c.page.n {
		p, err := c.pages.ReadPage()
		if errors.Is(err, io.EOF) {
			return 0, errors.New("damaged: a column ends before its rows do")
		}
		if err != nil {
			return 0, err
		}
		err = c.decode(p)
		parquet.Release(p)
		if err != nil {
			return 0, err
		}
		c.at = 0
	}
	return c.page.n - c.at, nil
}

// decode turns a page into values with a place for each row, nulls included.
func (c *cursor) decode(p parquet.Page) error {
	v := &c.page
	v.n = int(p.NumValues())
	levels, most := p.DefinitionLevels(), byte(c.leaf.MaxDefinitionLevel())
	v.there = v.there[:0]
	held := v.n
	if len(levels) > 0 && most > 0 {
		if len(levels) != v.n {
			return errors.New("damaged: a page's levels are not as many as its values")
		}
		held = 0
		for _, l := range levels {
			v.there = append(v.there, l == most)
			if l == most {
				held++
			}
		}
	}
	if held == v.n {
		v.there = nil
	}
	data := p.Data()
	if d := p.Dictionary(); d != nil {
		if d != c.dictionary {
			c.dictionary, c.probes = d, c.probes[:0]
			if err := c.fill(&c.table, d.Page().Data(), d.Len()); err != nil {
				return err
			}
		}
		v.kind = c.table.kind
		ids := data.Int32()
		if len(ids) < held {
			return errors.New("damaged: a page holds fewer values than it says")
		}
		v.ids = spread(v.ids[:0], ids[:held], v.there)
		for _, id := range v.ids {
			if id < 0 || int(id) >= c.table.n {
				return errors.New("damaged: a value is not in its dictionary")
			}
		}
		return nil
	}
	v.ids = nil
	n := v.n
	if err := c.fill(v, data, held); err != nil {
		return err
	}
	v.n = n
	if v.there != nil {
		switch v.kind {
		case encoding.Double:
			v.floats = spread(nil, v.floats, v.there)
		case encoding.Int64:
			v.ints = spread(nil, v.ints, v.there)
		default:
			v.texts = spread(nil, v.texts, v.there)
		}
	}
	return nil
}

// spread puts the values that are there at the places of their rows; the others
// are zero.
func spread[T any](into, from []T, there []bool) []T {
	if there == nil {
		return append(into, from...)
	}
	var none T
	i := 0
	for _, ok := range there {
		if ok {
			into = append(into, from[i])
			i++
		} else {
			into = append(into, none)
		}
	}
	return into
}

// fill copies n plain values as float64, int64 or text.
func (c *cursor) fill(v *values, data encoding.Values, n int) error {
	v.n = n
	switch data.Kind() {
	case encoding.Int32:
		v.kind, v.ints = encoding.Int64, v.ints[:0]
		for _, x := range data.Int32() {
			if c.unsigned {
				v.ints = append(v.ints, int64(uint32(x)))
			} else {
				v.ints = append(v.ints, int64(x))
			}
		}
	case encoding.Int64:
		v.kind, v.ints = encoding.Int64, append(v.ints[:0], data.Int64()...)
	case encoding.Int96:
		v.kind, v.ints = encoding.Int64, v.ints[:0]
		for _, x := range data.Int96() {
			v.ints = append(v.ints, julian(x))
		}
	case encoding.Float:
		v.kind, v.floats = encoding.Double, v.floats[:0]
		for _, x := range data.Float() {
			v.floats = append(v.floats, shortest(x))
		}
	case encoding.Double:
		v.kind, v.floats = encoding.Double, append(v.floats[:0], data.Double()...)
	case encoding.FixedLenByteArray:
		v.kind, v.floats = encoding.Double, v.floats[:0]
		for all, size := data.FixedLenByteArray(); size > 0 && len(all) >= size; all = all[size:] {
			v.floats = append(v.floats, scaledBytes(all[:size], c.scale))
		}
	case encoding.ByteArray:
		v.kind = encoding.ByteArray
		letters, offsets := data.ByteArray()
		letters = bytes.Clone(letters) // the page's own go back to a pool
		v.texts = v.texts[:0]
		for i := range max(len(offsets)-1, 0) {
			if offsets[i] > offsets[i+1] || int(offsets[i+1]) > len(letters) {
				return errors.New("damaged: a text reaches beyond its page")
			}
			v.texts = append(v.texts, letters[offsets[i]:offsets[i+1]])
		}
		if c.decimal {
			v.kind, v.floats = encoding.Double, v.floats[:0]
			for _, b := range v.texts {
				v.floats = append(v.floats, scaledBytes(b, c.scale))
			}
		}
	default:
		return fmt.Errorf("column %q has a type that is not read: %v", c.leaf.Name(), data.Kind())
	}
	have := len(v.texts)
	switch v.kind {
	case encoding.Double:
		have = len(v.floats)
	case encoding.Int64:
		have = len(v.ints)
	}
	if have < n {
		return errors.New("damaged: a page holds fewer values than it says")
	}
	return nil
}

// julian gives the microseconds of the old stamp of twelve bytes: nanoseconds of
// the day, then the Julian day (2440588 is 1970-01-01).
func julian(x deprecated.Int96) int64 {
	nanos := int64(x[0]) | int64(x[1])<<32
	return (int64(x[2])-2440588)*86_400_000_000 + nanos/1000
}

// shortest gives the decimal that the float32 was made from: the one of the fewest
// places that rounds to it. As a float64, 0.213 would else be 0.21299999952316284,
// and steps of the sensor's resolution would not compare.
func shortest(f float32) float64 {
	v := float64(f)
	if math.Abs(v) < 1e9 {
		for power := 1.0; power <= 1e7; power *= 10 {
			if r := math.Round(v*power) / power; float32(r) == f {
				return r
			}
		}
	}
	return v
}

// place says where row i from the current one stands: in the page or the table.
func (c *cursor) place(i int) (*values, int, bool) {
	i += c.at
	v := &c.page
	if v.there != nil && !v.there[i] {
		return nil, 0, false
	}
	if v.ids != nil {
		return &c.table, int(v.ids[i]), true
	}
	return v, i, true
}

// text gives row i as text; nil when it has none. It is valid until the next call.
func (c *cursor) text(i int) []byte {
	v, at, ok := c.place(i)
	if !ok {
		return nil
	}
	switch v.kind {
	case encoding.ByteArray:
		return bytes.TrimSpace(v.texts[at])
	case encoding.Int64:
		c.scratch = strconv.AppendInt(c.scratch[:0], v.ints[at], 10)
	default:
		c.scratch = strconv.AppendFloat(c.scratch[:0], v.floats[at], 'g', -1, 64)
	}
	return c.scratch
}

// number gives row i as a reading.
func (c *cursor) number(i int, w *cellWords) (float64, uint8, kind) {
	v, at, ok := c.place(i)
	if !ok {
		return 0, schemas.CodeNone, isBlank
	}
	switch v.kind {
	case encoding.Double:
		return w.number(v.floats[at])
	case encoding.Int64:
		if c.unsigned && v.ints[at] < 0 {
			return w.number(float64(uint64(v.ints[at])))
		}
		return w.number(scaled(v.ints[at], c.scale))
	}
	return w.text(bytes.TrimSpace(v.texts[at]))
}

// stamp gives row i as microseconds: an instant when the column is zoned. Only for
// columns that hold no text.
func (c *cursor) stamp(i int) (int64, bool) {
	v, at, ok := c.place(i)
	if !ok || v.kind != encoding.Int64 {
		return 0, false
	}
	x := v.ints[at]
	switch {
	case c.day:
		return x * 86_400_000_000, x > -1e6 && x < 1e7
	case c.nanos >= 1000:
		step := c.nanos / 1000
		return x * step, x < math.MaxInt64/step && x > math.MinInt64/step
	}
	if x < 0 {
		x -= 999 // towards the past, as time.UnixMicro has it
	}
	return x / 1000, true
}
