package read

import (
	"cmp"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/read/stamp"
	"probeward/schemas"
)

// A second clock beside the one that stamps the readings: how far the device's stood
// from that of what received its messages.

// second is the other clock's stamp of the row at hand.
type second struct {
	format *stamp.Format // nil: by its type, or not read
	ok     bool
	plain  bool // t is the instant; else only the wall's reading is known
	t      int64
	wall   int64
	bad    int64 // cells that are no stamps
}

// secondClock finds the column of the other clock, where the configuration names one.
// It is not guessed: what a receiver calls its stamp may be another zone's, and a whole
// farm would be told that its clocks are wrong.
func (l *layout) secondClock(src *schemas.Source) {
	for _, ours := range []string{"device_time", "gateway_time"} {
		name := src.Columns[ours]
		if name == "" {
			continue
		}
		switch i := column(l.names, name); {
		case i < 0:
			l.say("no column %q for %s", name, ours)
		case i != l.time && l.second < 0:
			l.second, l.device = i, ours == "device_time"
			_, l.secondOffset = offsetIn(name)
		}
	}
}

// settleSecond finds how the other clock is written, by sample.
func (s *sheet) settleSecond(guess *stamp.Guess) {
	l := s.layout
	if l.second < 0 {
		return
	}
	name := l.names[l.second]
	format, err := guess.Format()
	if err != nil && s.source.TimeFormat != "" {
		format, err = stamp.Compile(s.source.TimeFormat)
	}
	if err != nil {
		l.say("the other clock %q is not compared: %v", name, err)
		l.second = -1
		return
	}
	s.second.format = format
	who := "what received the message"
	if l.device {
		who = "the device"
	}
	l.say("compared with the clock of %s, %q", who, name)
}

// setSecond reads the other clock's stamp of a row.
func (s *sheet) setSecond(b []byte) {
	if s.layout.second < 0 {
		return
	}
	s.second.ok = false
	if len(b) == 0 {
		return
	}
	t, zoned, ok := s.second.format.Parse(b)
	s.setOther(t, zoned, ok)
}

func (s *sheet) setOther(t int64, zoned, ok bool) {
	if off := s.layout.secondOffset; off.known && !zoned {
		t, zoned = t-off.micros, true
	}
	o := &s.second
	if o.ok = ok; !ok {
		o.bad++
		return
	}
	if o.t, o.plain = t, zoned; !zoned {
		o.wall = t
		o.t, o.plain = s.clock.Plain(t)
	}
}

// rowSecond is setSecond for row i of a Parquet stretch.
func (s *sheet) rowSecond(t *parquetTable, i int) {
	if s.layout.second < 0 {
		return
	}
	s.second.ok = false
	c := t.cursors[s.layout.second]
	if s.second.format != nil {
		s.setSecond(c.text(i))
	} else if at, ok := c.stamp(i); ok {
		s.setOther(at, c.zoned, true)
	}
}

// compare notes the row's two stamps: t is that of its readings. Near a change of
// the clocks the other is not known, and the row is passed over.
func (s *sheet) compare(l *lags, t int64, fixed bool) {
	o := &s.second
	if s.layout.second < 0 || !o.ok {
		return
	}
	other := o.t
	switch {
	case o.wall != 0 && fixed:
		other = o.wall - s.kept.offset
	case !o.plain:
		return
	}
	if s.layout.device {
		l.add(t, other)
	} else {
		l.add(other, t)
	}
}

// compared puts the digest of the two clocks beside that of the stamps.
func (s *sheet) compared(st detect.Stamps, l *lags) detect.Stamps {
	if s.layout.second >= 0 {
		st.Lags, st.ByDevice = l.stretches(), !s.layout.device
	}
	return st
}

// lags digests how far a device's clock stands from the receiver's. A message that
// waited is off by its own time of waiting; a clock is off by the same for many.
type lags struct {
	rows            int
	device, gateway int64    // stamps of the row before
	open            []lagRun // the one that was met last at the end
	closed          []detect.Lag
}

// lagRun is a stretch while it grows.
type lagRun struct {
	detect.Lag
	first     int64 // the shift of its first message
	sum       int64 // of the shifts, less the first
	from, met int   // messages of the file
}

const (
	// jitter is how far shifts of one stretch may lie from its first: what a relayed
	// message takes (common practice, no source).
	jitter = 2 * detect.Minute
	// lagRest is how long a stretch may rest: two ways of relaying, of which one keeps
	// another zone, take turns; the next day it is a stretch of its own.
	lagRest = detect.Day
	// openRuns is how many stretches may take turns.
	openRuns = 16
	// leastRun is the least that is a stretch: two messages may wait equally long.
	leastRun = 3
)

// add notes a message.
func (l *lags) add(gateway, device int64) {
	if l.rows > 0 && gateway == l.gateway && device == l.device {
		return // another reading of the same message
	}
	l.rows++
	l.gateway, l.device = gateway, device
	shift := device - gateway
	for i := len(l.open) - 1; i >= 0; i-- {
		r := &l.open[i]
		if d := shift - r.first; d > jitter || d < -jitter || gateway < r.Start-lagRest || gateway > r.End+lagRest {
			continue
		}
		r.Start, r.End = min(r.Start, gateway), max(r.End, gateway)
		r.Rows++
		r.sum += shift - r.first
		r.met = l.rows
		if last := len(l.open) - 1; i < last {
			run := l.open[i]
			copy(l.open[i:], l.open[i+1:])
			l.open[last] = run
		}
		return
	}
	if len(l.open) == openRuns {
		l.close(&l.open[0])
		l.open = l.open[:copy(l.open, l.open[1:])]
	}
	l.open = append(l.open, lagRun{
		Lag:   detect.Lag{Span: detect.Span{Start: gateway, End: gateway}, Rows: 1},
		first: shift, from: l.rows, met: l.rows,
	})
}

func (l *lags) close(r *lagRun) {
	if r.Rows < leastRun {
		return
	}
	r.Shift = r.first + r.sum/int64(r.Rows)
	r.Among = r.met - r.from + 1
	l.closed = append(l.closed, r.Lag)
	if len(l.closed) >= 2*detect.MaxLags {
		l.keep()
	}
}

// keep drops the stretches of the fewest messages.
func (l *lags) keep() {
	slices.SortFunc(l.closed, func(a, b detect.Lag) int {
		return cmp.Or(cmp.Compare(b.Rows, a.Rows), cmp.Compare(a.Start, b.Start), cmp.Compare(a.Shift, b.Shift))
	})
	l.closed = l.closed[:min(len(l.closed), detect.MaxLags)]
}

// stretches ends the digest.
func (l *lags) stretches() []detect.Lag {
	for i := range l.open {
		l.close(&l.open[i])
	}
	l.open = nil
	l.keep()
	slices.SortFunc(l.closed, func(a, b detect.Lag) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.Shift, b.Shift))
	})
	return l.closed
}
