package score

import (
	"math"

	"probeward/detectors/detect"
	"probeward/pipeline/score/column"
)

// span reads two stamps; without an end it has none.
func span(start, end string) (s detect.Span, err error) {
	if s.Start, err = column.Instant(start); err != nil {
		return s, err
	}
	if end == "" {
		s.End = math.MaxInt64
		return s, nil
	}
	s.End, err = column.Instant(end)
	return s, err
}
