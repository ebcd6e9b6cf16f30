package report

import (
	"math"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/report/chart"
)

// tableDays is how many days the table beside a chart shows one by one: the judged
// week. What lies before them is shown by weeks. A page of 500 charts opened half as
// fast with 14 days, for the sake of its tables.
const tableDays = 7

// dayRow is a day of the table beside a chart, or a week.
type dayRow struct {
	Day                           string
	Readings, Usable              int // usable of so many
	Least, Mean, Greatest, Newest string
}

// days sums a probe's readings up, the newest day first. Least, mean, greatest and
// newest are of the readings as they came, those that are left out too.
func (w *work) days(s *detect.Series, excluded []judge.Exclusion) (out []dayRow) {
	period := w.in.Judged.Period
	y, m, d := w.say.local(period.Window.End - 1).Date()
	midnight := func(back int) int64 {
		return time.Date(y, m, d-back, 0, 0, 0, 0, w.say.zone).UnixMicro()
	}
	end, at := period.Window.End, len(s.Time)
	for back := 0; end > period.Lookback; {
		span := detect.Span{Start: max(midnight(back), period.Lookback), End: end}
		row := dayRow{Day: w.say.local(span.Start).Format("Mon ") + w.say.day(span.Start)}
		if back >= tableDays {
			row.Day = w.say.day(span.Start) + " to " + w.say.day(span.End-1)
		}
		from := at
		for from > 0 && s.Time[from-1] >= span.Start {
			from--
		}
		row.sum(s, from, at, excluded)
		out = append(out, row)
		at, end = from, span.Start
		if back++; back >= tableDays {
			back += 6
		}
	}
	return out
}

// sum fills in what the readings from to at say.
func (r *dayRow) sum(s *detect.Series, from, to int, excluded []judge.Exclusion) {
	r.Readings = to - from
	if r.Readings == 0 {
		return
	}
	out := outside{spans: excluded}
	low, high, sum := math.Inf(1), math.Inf(-1), 0.0
	for i := from; i < to; i++ {
		v := s.Value[i]
		low, high, sum = min(low, v), max(high, v), sum+v
		if !out.holds(s.Time[i]) {
			r.Usable++
		}
	}
	r.Least, r.Greatest, r.Newest = chart.Number(low), chart.Number(high), chart.Number(s.Value[to-1])
	r.Mean = chart.Number(sum / float64(r.Readings))
}
