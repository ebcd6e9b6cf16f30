package feedback

import (
	"sort"

	"probeward/detectors/detect"
)

// Since leaves the waterings that begin at an instant or later.
func Since(waters []detect.Water, t int64) []detect.Water {
	n := sort.Search(len(waters), func(i int) bool { return waters[i].Start >= t })
	if waters == nil {
		return nil
	}
	return waters[n:]
}

// Cut leaves a series' readings from an instant on.
func Cut(s *detect.Series, t int64) {
	n := sort.Search(len(s.Time), func(i int) bool { return s.Time[i] >= t })
	if s.Temperature != nil {
		s.Temperature = s.Temperature[n:]
	}
	if s.Battery != nil {
		s.Battery = s.Battery[n:]
	}
	s.Time, s.Value = s.Time[n:], s.Value[n:]
	s.Blank = s.Blank[sort.Search(len(s.Blank), func(i int) bool { return s.Blank[i] >= t }):]
	s.Coded = s.Coded[sort.Search(len(s.Coded), func(i int) bool { return s.Coded[i].Time >= t }):]
}
