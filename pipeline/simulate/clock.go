package simulate

import (
	"math"
	"time"
)

// stamps gives the time that the logger wrote beside reading i of its k-th
// download. A clock that lost its date is wrong in the download that holds its
// onset, and right again in what is sent once more; one that was set wrong has
// stored its stamps so, and sends them so again.
func (rec *record) stamps(until time.Time, k int) func(i int) time.Time {
	if rec.clock == nil {
		return rec.grid.time
	}
	f := rec.clock
	a, b := rec.grid.span(f, until)
	if f.Form == "years" && int(f.Start.Sub(rec.grid.start)/fileSpan) != k {
		return rec.grid.time
	}
	return func(i int) time.Time {
		t := rec.grid.time(i)
		if i >= a && i < b {
			t = t.Add(f.clockWrong(t))
		}
		return t
	}
}

// clockWrong is what a wrong clock adds to the time.
func (f *Fault) clockWrong(t time.Time) time.Duration {
	whole := time.Duration(math.Round(f.Strength)) * time.Hour
	switch f.Form {
	case "years":
		return -whole * 8766 // a mean year, so that the minutes stay
	case "hours_ahead", "zone_ahead":
		return whole
	case "loses_time":
		lost := f.Strength * t.Sub(f.Start).Hours() / 24 // minutes
		return -time.Duration(lost*60) * time.Second
	}
	return -whole // hours_back, zone_behind, daylight_saving
}
