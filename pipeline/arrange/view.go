package arrange

import (
	"unsafe"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"

	"probeward/detectors/detect"
)

// Places of the columns in a partition's record.
const (
	colTime = iota
	colValue
	colTemperature
	colBattery
	colCode
)

// Arranged is the schema of a partition's record: the readings of some probes, one
// probe after the other, each in time order with no stamp twice. value is as
// exported; null is a blank.
var Arranged = arrow.NewSchema([]arrow.Field{
	colTime:        {Name: "time", Type: arrow.FixedWidthTypes.Timestamp_us},
	colValue:       {Name: "value", Type: arrow.PrimitiveTypes.Float64, Nullable: true},
	colTemperature: {Name: "temperature_c", Type: arrow.PrimitiveTypes.Float32, Nullable: true},
	colBattery:     {Name: "battery_v", Type: arrow.PrimitiveTypes.Float32, Nullable: true},
	colCode:        {Name: "code", Type: arrow.PrimitiveTypes.Uint8},
}, nil)

// Partition is the readings of a stretch of the register's probes.
type Partition struct {
	First   int   // place in the register of its first probe
	Offsets []int // probe First+i has the rows Offsets[i] to Offsets[i+1]
	Record  arrow.Record
}

// Probes counts the probes of the partition, those without readings included.
func (p *Partition) Probes() int { return len(p.Offsets) - 1 }

// View is one probe's rows in a partition, without a copy.
type View struct {
	Probe   int // place in the register
	from    int
	Time    []int64   // microseconds since 1970 in UTC, strictly increasing
	Raw     []float64 // as exported; meaningless where Blank
	value   *array.Float64
	temp    *array.Float32
	battery *array.Float32
	code    []uint8
}

// View gives the rows of the partition's probe at place i, from 0.
func (p *Partition) View(i int) View {
	a, b := p.Offsets[i], p.Offsets[i+1]
	times := p.Record.Column(colTime).(*array.Timestamp).TimestampValues()
	value := p.Record.Column(colValue).(*array.Float64)
	return View{
		Probe: p.First + i, from: a,
		Time:    micros(times[a:b]),
		Raw:     value.Float64Values()[a:b],
		value:   value,
		temp:    p.Record.Column(colTemperature).(*array.Float32),
		battery: p.Record.Column(colBattery).(*array.Float32),
		code:    p.Record.Column(colCode).(*array.Uint8).Uint8Values()[a:b],
	}
}

// micros looks at timestamps as plain integers; arrow.Timestamp is an int64.
func micros(t []arrow.Timestamp) []int64 {
	return unsafe.Slice((*int64)(unsafe.Pointer(unsafe.SliceData(t))), len(t))
}

// Len counts the rows, blanks included.
func (v View) Len() int { return len(v.Time) }

// Blank says whether row i has no value.
func (v View) Blank(i int) bool { return v.value.IsNull(v.from + i) }

// Code is what the logger wrote in place of a value at row i (schemas.CodeNone …).
func (v View) Code(i int) uint8 { return v.code[i] }

// Temperature beside row i, degC.
func (v View) Temperature(i int) (float32, bool) {
	if v.temp.IsNull(v.from + i) {
		return 0, false
	}
	return v.temp.Value(v.from + i), true
}

// Series fills s, whose slices are reused, with what detectors see of the view:
// values made standard for the probe, blanks apart.
func (v View) Series(probe *detect.Probe, s *detect.Series) {
	n := v.Len()
	s.Time, s.Value = s.Time[:0], s.Value[:0]
	s.Blank, s.Coded = s.Blank[:0], s.Coded[:0]
	s.Temperature = v.beside(v.temp, s.Temperature, n)
	s.Battery = v.beside(v.battery, s.Battery, n)
	for i, t := range v.Time {
		if v.Blank(i) {
			s.Blank = append(s.Blank, t)
			if c := v.code[i]; c != 0 {
				s.Coded = append(s.Coded, detect.Coded{Time: t, Code: c})
			}
			continue
		}
		s.Time = append(s.Time, t)
		s.Value = append(s.Value, probe.Scale*(v.Raw[i]-probe.Offset))
	}
}

// beside gathers a column at the rows that have a value, NaN where it is null; nil
// when it is null in all of them.
func (v View) beside(column *array.Float32, into []float32, n int) []float32 {
	if column.NullN() == column.Len() {
		return nil
	}
	into = into[:0]
	any := false
	values := column.Float32Values()
	for i := 0; i < n; i++ {
		if v.Blank(i) {
			continue
		}
		if column.IsNull(v.from + i) {
			into = append(into, nan32)
		} else {
			into = append(into, values[v.from+i])
			any = true
		}
	}
	if !any {
		return nil
	}
	return into
}
