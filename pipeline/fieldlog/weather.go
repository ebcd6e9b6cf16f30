package fieldlog

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
	"probeward/schemas"
)

// Weather is what fell, what the air asked for and how warm it was, each sorted and
// not overlapping.
type Weather struct {
	// Rain has a spell for each row with rain above 0 mm. HasRain tells a dry
	// spell from no rain gauge.
	Rain    []detect.Water
	HasRain bool
	// Demand has a stretch for each row with et0_mm, 0 included.
	Demand  []detect.Demand
	AirTemp []Temperature
	// Covered are the stretches for which rain was measured, 0 included, joined
	// where they touch: outside them, dry and unknown are not told apart.
	Covered []detect.Span
	Step    int64 // median step between rows; 0 with fewer than two
}

// Temperature is the mean of the air over a stretch of time, degC.
type Temperature struct {
	detect.Span
	C float64
}

// LoadWeather reads hourly or daily weather. A row holds until the next row's time,
// and for the median step at most (a daily row through a change of clocks: as long as
// its day); the last row for the median step; one row alone for a day.
func LoadWeather(path string, zone *time.Location) (Weather, []Note, error) {
	f, err := table.Load(path, schemas.Weather, zone)
	if err != nil {
		return Weather{}, nil, fmt.Errorf("weather: %w", err)
	}
	w, notes := weather(f)
	return w, notes, nil
}

// bound is what a column can hold on earth; beyond it is a sensor's error code or
// another unit. Records of the air are −89 and 57 degC, of a day's rain 1825 mm
// (World Meteorological Organization, from memory).
type bound struct{ low, high float64 }

var bounds = map[string]bound{
	"rain_mm": {0, 1825}, "air_temp_c": {-90, 60}, "et0_mm": {-2, 25},
}

func weather(f *table.File) (Weather, []Note) {
	var w Weather
	notes := f.Notes
	sorted := slices.Clone(f.Rows)
	slices.SortStableFunc(sorted, func(a, b table.Row) int { return cmp.Compare(a.Time("time").V, b.Time("time").V) })
	rows := sorted[:0]
	for _, r := range sorted {
		if n := len(rows); n > 0 && rows[n-1].Time("time").V == r.Time("time").V {
			notes = append(notes, r.Note("time", table.Warning, fmt.Sprintf("line %d has this time already; this row is left out", rows[n-1].Line)))
			continue
		}
		rows = append(rows, r)
	}
	w.Step = medianStep(rows)
	value := func(r table.Row, column string) detect.Maybe[float64] {
		v := r.Number(column)
		if b := bounds[column]; v.OK && (v.V < b.low || v.V > b.high) {
			notes = append(notes, r.Note(column, table.Warning, fmt.Sprintf("%s lies outside %g to %g: an error code, or another unit? taken as missing", column, b.low, b.high)))
			return detect.Maybe[float64]{}
		}
		return v
	}
	for i, r := range rows {
		span := w.span(rows, i)
		if mm := value(r, "rain_mm"); mm.OK {
			w.HasRain = true
			if mm.V > 0 {
				w.Rain = append(w.Rain, detect.Water{Span: span, MM: mm})
			}
			if n := len(w.Covered); n > 0 && w.Covered[n-1].End == span.Start {
				w.Covered[n-1].End = span.End
			} else {
				w.Covered = append(w.Covered, span)
			}
		}
		if mm := value(r, "et0_mm"); mm.OK {
			// Dew makes the equation slightly negative at night: no demand.
			w.Demand = append(w.Demand, detect.Demand{Span: span, MM: max(0, mm.V)})
		}
		if c := value(r, "air_temp_c"); c.OK {
			w.AirTemp = append(w.AirTemp, Temperature{Span: span, C: c.V})
		}
	}
	say := func(column, problem string) {
		notes = append(notes, Note{File: f.Name, Column: column, Severity: table.Info, Problem: problem})
	}
	if len(rows) > 0 && !w.HasRain {
		say("rain_mm", "no row has rain_mm: rain is unknown, not absent")
	}
	if len(rows) > 0 && len(w.Demand) == 0 {
		what := ""
		if f.Has("air_temp_c") && f.Has("rh_pct") && f.Has("wind_m_s") && f.Has("solar_w_m2") {
			what = "; it is not worked out from temperature, humidity, wind and radiation"
		}
		say("et0_mm", "no row has et0_mm: what needs the evaporative demand is not judged"+what)
	}
	table.SortNotes(notes)
	return w, notes
}

// medianStep between rows, which are sorted and differ in time.
func medianStep(rows []table.Row) int64 {
	if len(rows) < 2 {
		return 0
	}
	steps := make([]int64, len(rows)-1)
	for i := range steps {
		steps[i] = rows[i+1].Time("time").V - rows[i].Time("time").V
	}
	slices.Sort(steps)
	step := steps[(len(steps)-1)/2]
	if step >= 23*detect.Hour && step <= 25*detect.Hour {
		return detect.Day // a few days about a change of clocks
	}
	return step
}

// span of a row. Days through a change of clocks are 23 and 25 hours long; a longer
// step is a hole.
func (w Weather) span(rows []table.Row, i int) detect.Span {
	start := rows[i].Time("time").V
	step := w.Step
	if step == 0 {
		step = detect.Day
	}
	if i+1 < len(rows) {
		next := rows[i+1].Time("time").V - start
		if next <= step || (step >= 23*detect.Hour && next <= step+detect.Hour) {
			step = next
		}
	}
	return detect.Span{Start: start, End: start + step}
}
