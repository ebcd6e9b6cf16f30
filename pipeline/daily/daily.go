// Package daily sums a probe's usable readings up by the farm's days, for those who
// work with one value a day: what is excluded counts for nothing.
package daily

import (
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
	"probeward/pipeline/judge"
)

// Day is one probe's day. Values are in the standard unit of its quantity.
type Day struct {
	Probe              int   // place in the register
	Start              int64 // midnight at the farm
	Minimum, Mean      float64
	Maximum, Last      float64
	Readings, Excluded int
}

// Input is what the sums rest on. Nothing in it is written to.
type Input struct {
	Probes     []detect.Probe // the register
	Partitions []*arrange.Partition
	Judged     *judge.Result
	Zone       *time.Location // of the days; nil: UTC
}

// Usable gives each probe's days with at least one usable reading, by probe and day.
func Usable(in Input) (days []Day) {
	zone := in.Zone
	if zone == nil {
		zone = time.UTC
	}
	excluded := make([][]judge.Exclusion, len(in.Probes))
	for _, e := range in.Judged.Exclusions {
		excluded[e.Probe] = append(excluded[e.Probe], e)
	}
	var s detect.Series
	for _, part := range in.Partitions {
		for i := range part.Probes() {
			v := part.View(i)
			if v.Len() == 0 {
				continue
			}
			v.Series(&in.Probes[v.Probe], &s)
			days = sum(days, v.Probe, &s, excluded[v.Probe], zone)
		}
	}
	return days
}

// sum adds the days of one probe.
func sum(days []Day, probe int, s *detect.Series, out []judge.Exclusion, zone *time.Location) []Day {
	day := Day{Probe: probe}
	var total float64
	end := int64(0)
	flush := func() {
		if day.Readings > 0 {
			day.Mean = total / float64(day.Readings)
			days = append(days, day)
		}
	}
	next := 0
	for i, t := range s.Time {
		if i == 0 || t >= end {
			flush()
			day, total = Day{Probe: probe}, 0
			day.Start, end = dayOf(t, zone)
		}
		for next < len(out) && out[next].End <= t {
			next++
		}
		if next < len(out) && out[next].Start <= t {
			day.Excluded++
			continue
		}
		x := s.Value[i]
		if day.Readings == 0 {
			day.Minimum, day.Maximum = x, x
		}
		day.Minimum, day.Maximum, day.Last = min(day.Minimum, x), max(day.Maximum, x), x
		total += x
		day.Readings++
	}
	flush()
	return days
}

// dayOf gives the day at the farm in which an instant lies, half-open.
func dayOf(t int64, zone *time.Location) (start, end int64) {
	y, m, d := time.UnixMicro(t).In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, zone).UnixMicro(), time.Date(y, m, d+1, 0, 0, 0, 0, zone).UnixMicro()
}
