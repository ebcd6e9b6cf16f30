package clockerror

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/schemas"
)

// stretch is a part of the period in which the logger's daily swings keep one
// distance from the farm's.
type stretch struct {
	detect.Span
	says []witness // by channel; only those with enough days
}

// witness is what one channel says of a change or of a distance, in hours.
type witness struct {
	channel detect.Channel
	hours   float64
	sd      float64 // standard deviation
}

// rhythm is a logger's beats at work.
type rhythm struct {
	*look
	beats   []detect.Beat
	buf     []float64
	scratch []float64
}

// beats are the channels of the logger that can be held against the farm's.
func (l *look) beats() (out []detect.Beat) {
	for _, b := range l.p.Beats() {
		if len(l.p.Members()) > 0 && float64(b.Loggers) >= l.p.Param("swing_loggers") && len(b.Points) >= 2*int(l.p.Param("swing_days")) {
			out = append(out, b)
		}
	}
	return out
}

// swung are the findings of a clock that the daily swings of its logger show to
// stand away from those of the farm's others.
func (l *look) swung() []event {
	r := rhythm{look: l, beats: l.beats()}
	if len(r.beats) == 0 {
		return nil
	}
	cuts := r.cuts()
	// A drift looks like steps, and steps like a drift: the one that the days stand off
	// less is told.
	if e, cost, ok := r.drifts(); ok && cost < r.cost(cuts) {
		return []event{e}
	}
	return r.steps(cuts)
}

// cost is what the days stand off levels that change at the cuts.
func (r *rhythm) cost(cuts []int64) (sum float64) {
	from := r.whole.Start
	for _, to := range append(slices.Clone(cuts), r.whole.End) {
		for i := range r.beats {
			if p := within(r.beats[i].Points, detect.Span{Start: from, End: to}); len(p) > 0 {
				_, c := r.middle(p)
				sum += c / r.day(&r.beats[i])
			}
		}
		from = to
	}
	return sum
}

// within are the points of a channel in a span.
func within(points []detect.BeatPoint, s detect.Span) []detect.BeatPoint {
	i, _ := slices.BinarySearchFunc(points, s.Start, func(p detect.BeatPoint, t int64) int { return cmp.Compare(p.Time, t) })
	j, _ := slices.BinarySearchFunc(points, s.End, func(p detect.BeatPoint, t int64) int { return cmp.Compare(p.Time, t) })
	return points[i:j]
}

// middle is the median of some points, around the clock where they are spread over
// it, and the sum of what they stand off it.
func (r *rhythm) middle(points []detect.BeatPoint) (median, cost float64) {
	r.buf = r.buf[:0]
	far := false
	for _, p := range points {
		r.buf = append(r.buf, p.Ahead)
		far = far || math.Abs(p.Ahead) > 6
	}
	mean := 0.0
	if far {
		var c, s float64
		for _, v := range r.buf {
			y, x := math.Sincos(v * math.Pi / 12)
			c, s = c+x, s+y
		}
		mean = math.Atan2(s, c) * 12 / math.Pi
		for i, v := range r.buf {
			r.buf[i] = wrapped(v - mean)
		}
	}
	if cap(r.scratch) < len(r.buf) {
		r.scratch = make([]float64, 2*len(r.buf))
	}
	median = robust.Median(r.buf, r.scratch[:len(r.buf)])
	for i, v := range r.buf {
		r.buf[i] = math.Abs(v - median)
		cost += r.buf[i]
	}
	return wrapped(mean + median), cost
}

// wrapped takes a difference of hours of the day to -12 to 12.
func wrapped(h float64) float64 { return math.Mod(h+36, 24) - 12 }

// level is the median of some points and its variance. A logger whose days scatter
// more than the farm's is taken by its own.
func (r *rhythm) level(b *detect.Beat, points []detect.BeatPoint) (median, variance float64) {
	median, _ = r.middle(points)
	own := robust.Consistency * robust.Median(r.buf, r.scratch[:len(r.buf)])
	return median, sq(max(r.day(b), own)) * median2 / float64(len(points))
}

// day is the standard deviation of one day of a channel, and week that of a week's
// level, neither below what a step of the stamps leaves.
func (r *rhythm) day(b *detect.Beat) float64 { return math.Hypot(b.Jitter, r.least()) }

func (r *rhythm) week(b *detect.Beat) float64 { return math.Hypot(b.Wander, r.least()) }

// least is a tenth of a step, since a swing is fitted to many readings, and a tenth of
// a quarter of an hour where steps are short: panels and probes are not that alike.
func (r *rhythm) least() float64 { return 0.1 * detect.Hours(max(r.cadence(), 15*detect.Minute)) }

func (l *look) cadence() int64 {
	c := int64(0)
	for _, m := range l.p.Members() {
		if m.Cadence > 0 && (c == 0 || m.Cadence < c) {
			c = m.Cadence
		}
	}
	return max(c, detect.Minute)
}

// mostCuts bounds the search: a clock that changes more often is not told apart by
// days, and one that drifts is told by the slope.
const mostCuts = 6

// cuts finds the instants at which the distance from the farm changes. One channel is
// enough to look on from here; what is told asks for more.
func (r *rhythm) cuts() []int64 {
	days := int64(r.p.Param("swing_days"))
	var out []int64
	for i := range r.beats {
		b := &r.beats[i]
		length := days
		for r.far(b, length) > r.p.Param("least_shift") && length < longestBlock {
			length *= 2
		}
		out = append(out, r.levels(b, b.Points, length)...)
		if length > days { // the last days have no long block of their own yet
			end := b.Points[len(b.Points)-1].Time + 1
			out = append(out, r.levels(b, within(b.Points, detect.Span{Start: end - 2*longestBlock*detect.Day, End: end}), days)...)
		}
	}
	slices.Sort(out)
	// Two channels may put one change on neighbouring days.
	out = slices.CompactFunc(out, func(a, b int64) bool { return size(b-a) < days*detect.Day })
	for i := 0; i < len(out); {
		if r.moved(r.changed(r.between(out, i), r.between(out, i+1)), 1) {
			i++
		} else {
			out = slices.Delete(out, i, i+1)
		}
	}
	if out = r.withoutTrips(out); len(out) > mostCuts {
		return nil
	}
	return out
}

// far is from where on two levels of blocks of so many days differ.
func (r *rhythm) far(b *detect.Beat, days int64) float64 {
	sd := math.Sqrt(sq(r.day(b))*median2/float64(days) + 2*sq(r.week(b)))
	return max(r.p.Param("least_shift"), r.p.Param("swing_clear")*sd)
}

// levels finds where blocks of some days go over to another level, and within these to
// the day.
func (r *rhythm) levels(b *detect.Beat, points []detect.BeatPoint, days int64) (out []int64) {
	parts := blocks(points, days*detect.Day, int(r.p.Param("swing_days")))
	levels := make([]float64, len(parts))
	for k, s := range parts {
		levels[k], _ = r.middle(within(points, s))
		// The block before may be cut in two by the change.
		for back := 1; back <= min(2, k); back++ {
			if math.Abs(wrapped(levels[k]-levels[k-back])) <= r.far(b, days) {
				continue
			}
			around := detect.Span{Start: parts[max(0, k-back-1)].Start, End: s.End + days*detect.Day}
			if at, ok := r.split(around); ok {
				out = append(out, at)
			}
			break
		}
	}
	return out
}

// between is the stretch before the i-th cut; after the last one it goes to the end.
func (r *rhythm) between(cuts []int64, i int) detect.Span {
	s := r.whole
	if i > 0 {
		s.Start = cuts[i-1]
	}
	if i < len(cuts) {
		s.End = cuts[i]
	}
	return s
}

// withoutTrips drops stretches from which one channel alone comes back to where it was,
// and of which the stamps know nothing: days of odd weather, or a shadow.
func (r *rhythm) withoutTrips(cuts []int64) []int64 {
	for i := 1; i < len(cuts); {
		before, trip, after := r.between(cuts, i-1), r.between(cuts, i), r.between(cuts, i+1)
		_, clock := r.change(before, trip)
		if clock || r.moved(r.changed(before, after), 1) {
			i++
			continue
		}
		cuts = slices.Delete(cuts, i-1, i+1)
		i = max(1, i-1)
	}
	return cuts
}

// longestBlock is a week and a day: the farm's wander is that of weeks.
const longestBlock = 8

// blocks parts the points of a channel into spans of a length, from the last back, in
// time order; those with too few days are left out.
func blocks(points []detect.BeatPoint, length int64, least int) []detect.Span {
	var out []detect.Span
	first := points[0].Time
	for end := points[len(points)-1].Time + 1; end > first; end -= length {
		if s := (detect.Span{Start: end - length, End: end}); len(within(points, s)) >= least {
			out = append(out, s)
		}
	}
	slices.Reverse(out)
	return out
}

// split is where two medians explain all channels best, each in its own noise.
func (r *rhythm) split(s detect.Span) (at int64, ok bool) {
	days := int64(r.p.Param("swing_days"))
	best := 0.0
	for t := (s.Start/detect.Day + 1) * detect.Day; t < s.End; t += detect.Day {
		gain := 0.0
		for i := range r.beats {
			b := &r.beats[i]
			before, after := within(b.Points, detect.Span{Start: s.Start, End: t}), within(b.Points, detect.Span{Start: t, End: s.End})
			if int64(len(before)) < days || int64(len(after)) < days {
				continue
			}
			_, one := r.middle(within(b.Points, s))
			_, a := r.middle(before)
			_, c := r.middle(after)
			gain += (one - a - c) / r.day(b)
		}
		if gain > 0 && gain >= best { // in a hole, where the logger began anew
			best, at, ok = gain, t, true
		}
	}
	return at, ok
}

// steps makes findings of the stretches that stand away from the right one.
func (r *rhythm) steps(cuts []int64) []event {
	var all []stretch
	from := r.whole.Start
	for _, to := range append(slices.Clone(cuts), r.whole.End) {
		s := stretch{Span: detect.Span{Start: from, End: to}}
		for i := range r.beats {
			b := &r.beats[i]
			if p := within(b.Points, s.Span); len(p) >= int(r.p.Param("swing_days")) {
				m, v := r.level(b, p)
				s.says = append(s.says, witness{b.Channel, m, math.Sqrt(v + sq(b.Spread) + sq(r.week(b)))})
			}
		}
		sameSide(s.says)
		all = append(all, s)
		from = to
	}
	right := r.right(all)
	var out []event
	for i := range all {
		s := &all[i]
		if i == right {
			if shift, sd, ok := r.standing(s.says); ok {
				out = append(out, r.constant(s, shift, sd))
			}
			continue
		}
		ref := all[right].Span
		if says, ok := r.change(ref, s.Span); ok {
			out = append(out, r.stepped(s, says, i > 0, i+1 < len(all)))
		}
	}
	return out
}

// right is the stretch whose clock is taken as right: of those as near to the farm as
// its loggers are to each other the longest, or else the nearest of them.
func (r *rhythm) right(all []stretch) int {
	near := func(s *stretch) bool {
		mean, _ := agreed(s.says)
		if len(s.says) == 0 || math.Abs(mean) < r.p.Param("least_shift") {
			return true
		}
		w := surest(s.says)
		return math.Abs(w.hours) < r.p.Param("swing_clear")*w.sd
	}
	best := 0
	for i := 1; i < len(all); i++ {
		a, b := &all[best], &all[i]
		x, _ := agreed(a.says)
		y, _ := agreed(b.says)
		switch {
		case near(a) != near(b):
			if near(b) {
				best = i
			}
		case near(a) && b.Length() > a.Length(), !near(a) && math.Abs(y) < math.Abs(x):
			best = i
		}
	}
	return best
}

// standing says whether a logger is away from the farm all along, and by how much.
// The sun on the panel is asked for among the witnesses: probes that lie deeper than
// registered are late in heat and water alike.
func (r *rhythm) standing(all []witness) (shift, sd float64, ok bool) {
	shift, sd = agreed(all)
	strong, against := r.count(all, shift)
	sun, whole := false, true
	for _, w := range all {
		if math.Abs(w.hours) < r.p.Param("swing_clear")*w.sd {
			continue
		}
		sun = sun || w.channel == detect.BatteryVoltage
		whole = whole && math.Abs(w.hours-math.Round(shift)) <= r.p.Param("whole_hour")
	}
	far := math.Abs(shift) >= r.p.Param("standing_shift") || whole && math.Round(shift) != 0
	return shift, sd, far && sun && !against && strong >= int(r.p.Param("swing_channels"))
}

// words lists what the channels say.
func words(all []witness) string {
	var parts []string
	for _, w := range all {
		parts = append(parts, fmt.Sprintf("%s %+.1f h", w.channel, w.hours))
	}
	return strings.Join(parts, ", ")
}

// severity is the flag of readings whose stamps are off by so many hours.
func (l *look) severity(hours float64) schemas.Flag {
	if math.Abs(hours) >= l.p.Param("fail_shift") {
		return schemas.FlagFail
	}
	return schemas.FlagSuspect
}
