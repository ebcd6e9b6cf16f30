package crew

import (
	"fmt"
	"math"
	"testing"

	"probeward/detectors/detect"
)

// BenchmarkFiles writes the files of 200 stops.
func BenchmarkFiles(b *testing.B) {
	in := smallRound()
	one := in.Visits[0]
	in.Visits = nil
	for i := range 200 {
		v := one
		v.Name = fmt.Sprintf("P%03d-cable", i)
		v.Latitude, v.Longitude = detect.Some(41+0.01*math.Sin(float64(i))), detect.Some(-119+0.01*math.Cos(float64(i)*1.7))
		v.RouteOrder = detect.Some(i + 1)
		in.Visits = append(in.Visits, v)
	}
	var bytes int
	for b.Loop() {
		files, err := Files(in)
		if err != nil {
			b.Fatal(err)
		}
		bytes = len(files[0].Bytes)
	}
	b.ReportMetric(float64(bytes)/1024, "page-KiB")
}
