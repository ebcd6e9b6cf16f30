package schemas

import "github.com/apache/arrow/go/v17/arrow"

// Places of the columns in a batch of readings.
const (
	ColTime = iota
	ColProbe
	ColValue
	ColTemperature
	ColBattery
	ColCode
	ColFile
	ColLine
	ColColumn
)

// Codes of ColCode: what a logger wrote in place of a value, as configured.
const (
	CodeNone  uint8 = 0 // a value, or an unexplained blank when the value is null
	CodeOpen  uint8 = 1 // the logger's own word for an open circuit
	CodeShort uint8 = 2 // the logger's own word for a short circuit
	CodeFault uint8 = 3 // any other fault code: no value
)

// Readings is the one schema in which every reading travels from the reader on.
// A row is what one port said at one instant. The value is as exported, in the
// unit that the register gives the probe; null is a blank: the logger spoke and
// the port gave no value. probe is the place of the probe in the register.
// file and line, and column (the column's place in that file, from 0), say where
// it was written. Batches come in the order of files by name, then of lines.
func Readings() *arrow.Schema { return readings }

var readings = arrow.NewSchema([]arrow.Field{
	ColTime:        {Name: "time", Type: arrow.FixedWidthTypes.Timestamp_us},
	ColProbe:       {Name: "probe", Type: arrow.PrimitiveTypes.Uint32},
	ColValue:       {Name: "value", Type: arrow.PrimitiveTypes.Float64, Nullable: true},
	ColTemperature: {Name: "temperature_c", Type: arrow.PrimitiveTypes.Float32, Nullable: true},
	ColBattery:     {Name: "battery_v", Type: arrow.PrimitiveTypes.Float32, Nullable: true},
	ColCode:        {Name: "code", Type: arrow.PrimitiveTypes.Uint8},
	ColFile:        {Name: "file", Type: arrow.PrimitiveTypes.Uint32},
	ColLine:        {Name: "line", Type: arrow.PrimitiveTypes.Uint32},
	ColColumn:      {Name: "column", Type: arrow.PrimitiveTypes.Uint16},
}, nil)
