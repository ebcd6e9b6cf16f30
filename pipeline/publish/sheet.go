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

// sheet is a table with its rows.
type sheet struct {
	table schemas.Table
	rows  []row
}

// add appends a row; too few or too many cells are a fault of this package.
func (s *sheet) add(cells ...any) {
	if len(cells) != len(s.table.Columns) {
		panic(fmt.Sprintf("publish: table %s has %d columns, a row of %d came", s.table.Name, len(s.table.Columns), len(cells)))
	}
	for i, c := range s.table.Columns {
		if cells[i] == nil && c.Required && c.Type != schemas.Text {
			panic(fmt.Sprintf("publish: table %s promises %s, a row came without", s.table.Name, c.Name))
		}
	}
	s.rows = append(s.rows, cells)
}

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
		return strconv.FormatFloat(v, 'f', -1, 64)
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

// parquetSchema gives a table's Parquet schema, columns in the declared order.
// Text columns are optional throughout: an empty cell is a null in both forms.
func parquetSchema(t schemas.Table) *parquet.Schema {
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
			tag += ",timestamp(microsecond)"
		default:
			of = reflect.TypeFor[string]()
			tag += ",dict"
		}
		if optional(c) {
			tag += ",optional"
		}
		fields[i] = reflect.StructField{Name: "C" + strconv.Itoa(i), Type: of, Tag: reflect.StructTag(`parquet:"` + tag + `"`)}
	}
	return parquet.NewSchema(t.Name, parquet.SchemaOf(reflect.New(reflect.StructOf(fields)).Interface()))
}

func optional(c schemas.Column) bool { return !c.Required || c.Type == schemas.Text }

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
	out := parquet.NewGenericWriter[any](w, append(comments(s.table), parquetSchema(s.table), parquet.MaxRowsPerRowGroup(1<<17))...)
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
	if optional(c) && v != nil {
		return 1
	}
	return 0
}

func value(c schemas.Column, v any) parquet.Value {
	switch v := v.(type) {
	case nil:
		return parquet.NullValue()
	case string:
		return parquet.ByteArrayValue([]byte(strings.ToValidUTF8(v, "\uFFFD")))
	case bool:
		return parquet.BooleanValue(v)
	case float64:
		return parquet.DoubleValue(v)
	case int64:
		return parquet.Int64Value(v)
	}
	panic(fmt.Sprintf("publish: a cell of column %s is a %T", c.Name, v))
}
