package pipeline

import (
	"fmt"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/config"
	"probeward/pipeline/table"
)

// instant reads a stamp that a person gave; empty is absent.
func instant(flag, text string, zone *time.Location) (detect.Maybe[int64], error) {
	if text == "" {
		return detect.Maybe[int64]{}, nil
	}
	t, err := table.ParseTime(text, zone)
	if err != nil {
		return detect.Maybe[int64]{}, fmt.Errorf("%w: --%s: %w", config.ErrConfiguration, flag, err)
	}
	return detect.Some(t.UnixMicro()), nil
}

// weekSpan is an ISO 8601 week, written 2026-W21, from Monday to Monday at the farm.
func weekSpan(text string, zone *time.Location) (detect.Span, error) {
	var year, week int
	if n, err := fmt.Sscanf(text, "%4d-W%2d", &year, &week); err != nil || n != 2 || len(text) != len("2026-W21") {
		return detect.Span{}, fmt.Errorf("%w: --week %q: write it like 2026-W21", config.ErrConfiguration, text)
	}
	// 4 January always lies in week 1 (ISO 8601).
	fourth := time.Date(year, time.January, 4, 0, 0, 0, 0, zone)
	back := (int(fourth.Weekday()) + 6) % 7
	monday := time.Date(year, time.January, 4-back+7*(week-1), 0, 0, 0, 0, zone)
	if y, w := monday.ISOWeek(); y != year || w != week {
		return detect.Span{}, fmt.Errorf("%w: --week %q: that year has no such week", config.ErrConfiguration, text)
	}
	return detect.Span{Start: monday.UnixMicro(), End: monday.AddDate(0, 0, 7).UnixMicro()}, nil
}
