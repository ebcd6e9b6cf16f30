package schemas

import (
	"fmt"

	"github.com/apache/arrow/go/v17/arrow"
)

// Type is the kind of value that a column holds.
type Type uint8

// The types of a column. Times are instants in UTC; dates are stamps whose
// clock time may be left out in input tables.
const (
	Text Type = iota
	Number
	Integer
	Boolean
	Time
)

// String names the type as the printed dictionary does.
func (t Type) String() string {
	return [...]string{"text", "number", "integer", "boolean", "time"}[t]
}

// Arrow gives the Arrow type in which the column is held and written to Parquet.
func (t Type) Arrow() arrow.DataType {
	switch t {
	case Number:
		return arrow.PrimitiveTypes.Float64
	case Integer:
		return arrow.PrimitiveTypes.Int64
	case Boolean:
		return arrow.FixedWidthTypes.Boolean
	case Time:
		return arrow.FixedWidthTypes.Timestamp_us
	default:
		return arrow.BinaryTypes.String
	}
}

// Column is one column of a table.
type Column struct {
	Name     string
	Type     Type
	Unit     string // as printed; empty when the value has none
	Required bool   // never empty: required of an input, promised of an output
	Doc      string // one sentence
}

// Table is one table that goes in or comes out.
type Table struct {
	Name    string
	Doc     string
	Files   []string // the file names under which a run writes it; empty for inputs
	Columns []Column
}

// Header gives the column names in order, as the first line of a CSV.
func (t Table) Header() []string {
	names := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		names[i] = c.Name
	}
	return names
}

// Arrow gives the table's Arrow schema. Units and sentences travel as field metadata.
func (t Table) Arrow() *arrow.Schema {
	fields := make([]arrow.Field, len(t.Columns))
	for i, c := range t.Columns {
		fields[i] = arrow.Field{
			Name:     c.Name,
			Type:     c.Type.Arrow(),
			Nullable: !c.Required,
			Metadata: arrow.MetadataFrom(map[string]string{"unit": c.Unit, "comment": c.Doc}),
		}
	}
	return arrow.NewSchema(fields, nil)
}

// Index gives the place of a column, or -1 when the table has no such column.
func (t Table) Index(name string) int {
	for i, c := range t.Columns {
		if c.Name == name {
			return i
		}
	}
	return -1
}

// Tables lists every table, inputs first, in the order in which a person meets them.
func Tables() []Table {
	return []Table{
		ReadingsLong, Probes, Loggers, Irrigation, Weather, Visits, Overrides,
		Health, Findings, Exclusions, ExclusionsChanged, Flags, Coverage, UsableDaily, Queue, Quiet, Installs, RegisterMends, History, Rejects,
	}
}

// Lookup finds a table by its name; the error lists the names there are.
func Lookup(name string) (Table, error) {
	names := make([]string, 0, 16)
	for _, t := range Tables() {
		if t.Name == name {
			return t, nil
		}
		names = append(names, t.Name)
	}
	return Table{}, fmt.Errorf("no table is called %q; there are %v", name, names)
}
