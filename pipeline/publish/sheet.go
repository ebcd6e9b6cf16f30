package publish

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// row is one row of a table, a cell a column: nil (empty), string, float64, int64
// (an integer or an instant, as the column says) or bool.
type row []any

// sheet is a table with its rows. Both forms are written from the same cells.
type sheet struct {
	table schemas.Table
	rows  []row
	err   error // the first cell that the table does not allow
}

// add appends a row. Text is made valid UTF-8 and empty text an empty cell; a
// number that is none (NaN, infinite) is an empty cell too.
func (s *sheet) add(cells ...any) {
	if len(cells) != len(s.table.Columns) {
		panic(fmt.Sprintf("publish: table %s has %d columns, a row of %d came", s.table.Name, len(s.table.Columns), len(cells)))
	}
	for i, c := range s.table.Columns {
		switch v := cells[i].(type) {
		case string:
			cells[i] = text(strings.ToValidUTF8(v, "\uFFFD"))
		case float64:
			if math.IsNaN(v) || math.IsInf(v, 0) {
				cells[i] = nil
			}
		case int64:
			if c.Type == schemas.Time && (v < earliest || v >= latest) {
				cells[i] = nil
			}
		}
		if cells[i] == nil && c.Required && s.err == nil {
			s.err = fmt.Errorf("table %s, row %d: %s is promised and there is none", s.table.Name, len(s.rows)+1, c.Name)
		}
	}
	s.rows = append(s.rows, cells)
}

// The instants that RFC 3339 can write.
var (
	earliest = time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC).UnixMicro()
	latest   = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC).UnixMicro()
)

// cell gives a value that may be absent.
func cell[T any](m detect.Maybe[T]) any {
	if !m.OK {
		return nil
	}
	return m.V
}

// text gives a cell that is empty when there is nothing to say.
func text(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// round keeps six significant digits of what was computed: more would be noise.
func round(v float64) any {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	return r
}

// format writes a cell for a CSV.
func format(c schemas.Column, v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return v
	case bool:
		return strconv.FormatBool(v)
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64) // plain digits from 0.0001 to 1e21
	case int64:
		if c.Type == schemas.Time {
			return time.UnixMicro(v).UTC().Format(time.RFC3339Nano)
		}
		return strconv.FormatInt(v, 10)
	}
	panic(fmt.Sprintf("publish: a cell of column %s is a %T", c.Name, v))
}

// csv writes the sheet with its header.
func (s *sheet) csv(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(s.table.Header()); err != nil {
		return err
	}
	record := make([]string, len(s.table.Columns))
	for _, r := range s.rows {
		for i, c := range s.table.Columns {
			record[i] = format(c, r[i])
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// parquetSchema gives a table's Parquet schema, columns in the declared order, with
// an encoding for those that encodings names. Times are UTC in microseconds.
func parquetSchema(t schemas.Table, encodings map[string]string) *parquet.Schema {
	fields := make([]reflect.StructField, len(t.Columns))
	for i, c := range t.Columns {
		tag := c.Name
		var of reflect.Type
		switch c.Type {
		case schemas.Number:
			of = reflect.TypeFor[float64]()
		case schemas.Integer:
			of = reflect.TypeFor[int64]()
		case schemas.Boolean:
			of = reflect.TypeFor[bool]()
		case schemas.Time:
			of = reflect.TypeFor[int64]()
			tag += ",timestamp(microsecond:utc)"
		default:
			of = reflect.TypeFor[string]()
			tag += ",dict"
		}
		if e := encodings[c.Name]; e != "" {
			tag += "," + e
		}
		if !c.Required {
			tag += ",optional"
		}
		fields[i] = reflect.StructField{Name: "C" + strconv.Itoa(i), Type: of, Tag: reflect.StructTag(`parquet:"` + tag + `"`)}
	}
	return parquet.NewSchema(t.Name, parquet.SchemaOf(reflect.New(reflect.StructOf(fields)).Interface()))
}

// comments are the table's sentences, for whoever opens the file without the
// dictionary at hand.
func comments(t schemas.Table) []parquet.WriterOption {
	options := []parquet.WriterOption{
		parquet.Compression(&parquet.Zstd), parquet.CreatedBy("probeward", strconv.Itoa(schemas.Version), ""),
		parquet.KeyValueMetadata("comment", t.Doc),
	}
	for _, c := range t.Columns {
		words := c.Doc
		if c.Unit != "" {
			words += " [" + c.Unit + "]"
		}
		options = append(options, parquet.KeyValueMetadata("comment."+c.Name, words))
	}
	return options
}

// parquet writes the sheet.
func (s *sheet) parquet(w io.Writer) error {
	out := parquet.NewGenericWriter[any](w, append(comments(s.table), parquetSchema(s.table, nil), parquet.MaxRowsPerRowGroup(1<<17))...)
	values := make(parquet.Row, len(s.table.Columns))
	for _, r := range s.rows {
		for i, c := range s.table.Columns {
			values[i] = value(c, r[i]).Level(0, level(c, r[i]), i)
		}
		if _, err := out.WriteRows([]parquet.Row{values}); err != nil {
			return err
		}
	}
	return out.Close()
}

// level is the definition level of a cell: of an optional column 0 when empty.
func level(c schemas.Column, v any) int {
	if !c.Required && v != nil {
		return 1
	}
	return 0
}

func value(c schemas.Column, v any) parquet.Value {
	switch v := v.(type) {
	case nil:
		return parquet.NullValue()
	case string:
		return parquet.ByteArrayValue([]byte(v))
	case bool:
		return parquet.BooleanValue(v)
	case float64:
		return parquet.DoubleValue(v)
	case int64:
		return parquet.Int64Value(v)
	}
	panic(fmt.Sprintf("publish: a cell of column %s is a %T", c.Name, v))
}
