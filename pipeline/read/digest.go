package read

import (
	"slices"

	"probeward/detectors/detect"
)

// digest notes the stamps of one logger in one file in the order written.
type digest struct {
	rows      int
	repeats   int
	last      int64
	started   bool
	segments  []detect.Segment // cut at every step that may prove a split
	gaps      []int64          // the step before each segment but the first
	steps     map[int64]int    // forward steps, counted
	step      int64            // the latest step and how often it came in a row
	times     int
	backwards int
	forwards  int
	crowded   bool // more candidates than are kept
}

// candidates is how many cuts are kept until the cadence says which of them count.
const candidates = 1 << 16

// unorderedShare of backward steps says that a file was sorted or shuffled on its
// way. One restart of a clock, or one overlap, is a step in thousands.
const unorderedShare = 0.05

// add notes a row's stamp.
func (d *digest) add(t int64, line int) {
	d.rows++
	if !d.started {
		d.started, d.last = true, t
		d.cut(t, line)
		return
	}
	s := &d.segments[len(d.segments)-1]
	step := t - d.last
	d.last = t
	if step < 0 || step > detect.Day {
		if step < 0 {
			d.backwards++
		} else {
			d.forward(step)
		}
		if len(d.segments) < candidates {
			d.gaps = append(d.gaps, step)
			d.cut(t, line)
			return
		}
		d.crowded = true
	} else if step > 0 {
		d.forward(step)
	} else {
		d.repeats++
	}
	s.ToLine, s.Last = line, t
	s.Rows++
}

// another notes a row of the same stamp as the row before that repeats nothing:
// another probe's.
func (d *digest) another(line int) {
	d.rows++
	s := &d.segments[len(d.segments)-1]
	s.ToLine = line
	s.Rows++
}

func (d *digest) cut(t int64, line int) {
	d.segments = append(d.segments, detect.Segment{FromLine: line, ToLine: line, Rows: 1, First: t, Last: t})
}

func (d *digest) forward(step int64) {
	d.forwards++
	if step == d.step {
		d.times++
		return
	}
	d.count()
	d.step, d.times = step, 1
}

func (d *digest) count() {
	if d.times == 0 {
		return
	}
	if d.steps == nil {
		d.steps = map[int64]int{}
	}
	d.steps[d.step] += d.times
	d.times = 0
}

// cadence is the median forward step; 0 when there is none.
func (d *digest) cadence() int64 {
	d.count()
	steps := make([]int64, 0, len(d.steps))
	for s := range d.steps {
		steps = append(steps, s)
	}
	slices.Sort(steps)
	seen := 0
	for _, s := range steps {
		if seen += d.steps[s]; 2*seen >= d.forwards {
			return s
		}
	}
	return 0
}

// stamps is the digest as the detectors take it.
func (d *digest) stamps(file, logger string) detect.Stamps {
	s := detect.Stamps{File: file, Logger: logger, Rows: d.rows, Repeats: d.repeats, Cadence: d.cadence()}
	for i, next := range d.segments {
		if i > 0 {
			gap := d.gaps[i-1]
			if gap >= 0 && gap <= 10*s.Cadence { // a day without a word is no proof at this cadence
				last := &s.Segments[len(s.Segments)-1]
				last.ToLine, last.Last = next.ToLine, next.Last
				last.Rows += next.Rows
				continue
			}
		}
		s.Segments = append(s.Segments, next)
	}
	steps := d.backwards + d.forwards
	if d.crowded || len(s.Segments) > detect.MaxSegments || float64(d.backwards) > unorderedShare*float64(steps) && d.backwards > 1 {
		s.Unordered, s.Segments = true, nil
	}
	return s
}
