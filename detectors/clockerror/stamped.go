package clockerror

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
)

// stamp is what the stamps say of a change: the first stamp after it and the end of
// those before it, which overlap where the clock was set back, and in which words.
type stamp struct {
	from, until int64
	why         string
	file        string // empty: a hole
}

// stamped looks for the step of the stamps that a change of the clock leaves: hours
// that are there twice where it was set back, a hole as long where it was set forward.
func (l *look) stamped(at int64, shift float64) (best stamp) {
	by, c := int64(shift*float64(detect.Hour)), l.cadence()
	slack := max(c, int64(0.1*math.Abs(float64(by))))
	nearest := detect.Day + detect.Day/2
	offer := func(from, until int64, why, file string) {
		if d := size(from - at); d <= nearest {
			nearest, best = d, stamp{from, until, why, file}
		}
	}
	for i := range l.files {
		f := &l.files[i]
		for k := 1; k < len(f.Segments); k++ {
			a, b := f.Segments[k-1], f.Segments[k]
			if back := a.Last + f.Cadence - b.First; by < 0 && back > f.Cadence && near(back, -by, slack) {
				offer(b.First, a.Last+f.Cadence, fmt.Sprintf("%s line %d: the stamp steps back by %.1f h, as if the clock was set back by %.1f h", f.File, b.FromLine,
					detect.Hours(a.Last-b.First), detect.Hours(back)), f.File)
			}
		}
	}
	if silences := l.silences(); by > 0 {
		long := 0
		for _, q := range silences {
			if 2*q.Length() >= by {
				long++
			}
		}
		if long > manySilences {
			silences = nil
		}
		for _, q := range silences {
			if near(q.Length(), by+c, slack) && q.Start > l.whole.Start && q.End < l.whole.End {
				offer(q.End, q.Start+c, fmt.Sprintf("a hole of %.1f h ends at %s", detect.Hours(q.Length()), detect.Stamp(q.End)), "")
			}
		}
	}
	return best
}
