package noise

import (
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/schemas"
)

// marks says which readings of the days are too far off to be used: all of a day of
// which more than a twentieth are, and of the others those that lie far from their
// neighbours.
func (l *look) marks(days []day, end int64) (parts []detect.Part) {
	add := func(from, to int64, flag schemas.Flag) {
		if n := len(parts); n > 0 && parts[n-1].Flag == flag {
			parts[n-1].End = to
			return
		}
		parts = append(parts, detect.Part{Span: detect.Span{Start: from, End: to}, Flag: flag})
	}
	for k := range days {
		d := &days[k]
		to := end
		if k+1 < len(days) {
			to = days[k+1].start
		}
		bears := l.bears(d)
		// Two deviations hold all but a twentieth.
		if d.noisy && !d.byHours && 2*d.scatter/middleOfSigma > bears {
			add(d.start, to, schemas.FlagFail)
			continue
		}
		for i := d.from; i < d.to; i++ {
			next := to
			if i+1 < d.to {
				next = l.t[i+1]
			}
			flag := schemas.FlagSuspect
			if l.apart(i) > l.p.Param("apart")*bears {
				flag = schemas.FlagFail
			}
			add(l.t[i], next, flag)
		}
	}
	return parts
}

// bears is how far off a reading may be, in the space of the differences.
func (l *look) bears(d *day) float64 {
	share := l.p.Param("bears")
	switch {
	case l.p.Quantity() == detect.WaterContent:
		return l.p.Param("bears_water")
	case l.inKPa:
		l.scratch = append(l.scratch[:0], l.x[d.from:d.to]...)
		return max(1, share*robust.Median(l.x[d.from:d.to], l.scratch))
	}
	return share
}

// apart is how far reading i is from the median of the nine about it.
func (l *look) apart(i int) float64 {
	from := max(0, i-4)
	to := min(len(l.x), i+5)
	var scratch [9]float64
	return math.Abs(l.x[i] - robust.Median(l.x[from:to], scratch[:to-from]))
}
