package publish

import (
	"math"
	"testing"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/apache/arrow/go/v17/arrow/memory"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
)

// start of the readings that tests make up.
const start = 1_780_000_000_000_000

// readings gives the partitions of some probes with n readings each, a reading
// every quarter of an hour. Values are those of a drying and watered soil in the
// probe's unit, whole in their last digit as loggers write them; every hundredth
// is a blank.
func readings(t testing.TB, probes []detect.Probe, n int, mem memory.Allocator) []*arrange.Partition {
	t.Helper()
	const together = 64
	var out []*arrange.Partition
	for first := 0; first < len(probes); first += together {
		last := min(first+together, len(probes))
		b := array.NewRecordBuilder(mem, arrange.Arranged)
		b.Reserve((last - first) * n)
		p := &arrange.Partition{First: first, Offsets: []int{0}}
		for i := first; i < last; i++ {
			for k := range n {
				b.Field(0).(*array.TimestampBuilder).Append(arrow.Timestamp(start + int64(k)*15*detect.Minute))
				if k%100 == 99 {
					b.Field(1).(*array.Float64Builder).AppendNull()
				} else {
					b.Field(1).(*array.Float64Builder).Append(reading(probes[i].Unit, i, k))
				}
				if i%2 == 0 {
					b.Field(2).(*array.Float32Builder).Append(float32(math.Round(10*(18+4*math.Sin(float64(k)/15)))) / 10)
				} else {
					b.Field(2).(*array.Float32Builder).AppendNull()
				}
				b.Field(3).(*array.Float32Builder).AppendNull()
				b.Field(4).(*array.Uint8Builder).Append(0)
			}
			p.Offsets = append(p.Offsets, p.Offsets[len(p.Offsets)-1]+n)
		}
		p.Record = b.NewRecord()
		b.Release()
		out = append(out, p)
	}
	return out
}

// reading is the value of probe i at reading k, as exported in the unit.
func reading(unit string, i, k int) float64 {
	day := math.Mod(float64(k)/96+float64(i)/7, 6)
	switch unit {
	case "ohm":
		return math.Round(900 * math.Exp(0.4*day+0.02*math.Sin(float64(k))))
	case "kPa":
		return math.Round(12 * math.Exp(0.35*day))
	default:
		return math.Round(1000*(0.34-0.02*day)) / 1000
	}
}
