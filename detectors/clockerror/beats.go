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

// swung are the findings of a clock that the daily swings of its logger show to
// stand away from those of the farm's others.
func (l *look) swung() []event {
	r := rhythm{look: l}
	for _, b := range l.p.Beats() {
		if float64(b.Loggers) >= l.p.Param("swing_loggers") && len(b.Points) >= 2*int(l.p.Param("swing_days")) {
			r.beats = append(r.beats, b)
		}
	}
	if len(r.beats) == 0 {
		return nil
	}
	cuts := r.cuts(l.whole, 0)
	if len(cuts) == 0 {
		if e, ok := r.drifts(); ok {
			return []event{e}
		}
	}
	return r.steps(cuts)
}

// within are the points of a channel in a span.
func within(points []detect.BeatPoint, s detect.Span) []detect.BeatPoint {
	i, _ := slices.BinarySearchFunc(points, s.Start, func(p detect.BeatPoint, t int64) int { return cmp.Compare(p.Time, t) })
	j, _ := slices.BinarySearchFunc(points, s.End, func(p detect.BeatPoint, t int64) int { return cmp.Compare(p.Time, t) })
	return points[i:j]
}

// middle is the median of some points and the sum of what they stand off it.
func (r *rhythm) middle(points []detect.BeatPoint) (median, cost float64) {
	r.buf = r.buf[:0]
	for _, p := range points {
		r.buf = append(r.buf, p.Ahead)
	}
	if cap(r.scratch) < len(r.buf) {
		r.scratch = make([]float64, 2*len(r.buf))
	}
	median = robust.Median(r.buf, r.scratch[:len(r.buf)])
	for _, v := range r.buf {
		cost += math.Abs(v - median)
	}
	return median, cost
}

// day is the standard deviation of one day of a channel, and week that of a week's
// level, neither below what a step of the stamps leaves.
func (r *rhythm) day(b *detect.Beat) float64 { return math.Hypot(b.Jitter, r.least()) }

func (r *rhythm) week(b *detect.Beat) float64 { return math.Hypot(b.Wander, r.least()) }

// least is a tenth of a step: a swing is fitted to many readings.
func (r *rhythm) least() float64 { return 0.1 * detect.Hours(r.cadence()) }

func (l *look) cadence() int64 {
	c := int64(0)
	for _, m := range l.p.Members() {
		if m.Cadence > 0 && (c == 0 || m.Cadence < c) {
			c = m.Cadence
		}
	}
	return max(c, detect.Minute)
}

// mostCuts bounds the search: a clock that changes more often is not told apart by days.
const mostCuts = 3

// cuts finds the instants at which the distance from the farm changes.
func (r *rhythm) cuts(s detect.Span, depth int) []int64 {
	if depth == mostCuts {
		return nil
	}
	at, ok := r.split(s)
	if !ok {
		return nil
	}
	if _, ok := r.change(detect.Span{Start: s.Start, End: at}, detect.Span{Start: at, End: s.End}); !ok {
		return nil
	}
	left, right := r.cuts(detect.Span{Start: s.Start, End: at}, depth+1), r.cuts(detect.Span{Start: at, End: s.End}, depth+1)
	return append(append(left, at), right...)
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
		if gain > best {
			best, at, ok = gain, t, true
		}
	}
	return at, ok
}

// change is what each channel says of the change between two spans, and whether it is
// a clock's: the same on all that can tell.
func (r *rhythm) change(before, after detect.Span) (all []witness, ok bool) {
	for i := range r.beats {
		b := &r.beats[i]
		p, q := within(b.Points, before), within(b.Points, after)
		if n := int(r.p.Param("swing_days")); len(p) < n || len(q) < n {
			continue
		}
		m, _ := r.middle(p)
		k, _ := r.middle(q)
		all = append(all, witness{b.Channel, k - m, math.Sqrt(sq(r.day(b))*median2*(1/float64(len(p))+1/float64(len(q))) + 2*sq(r.week(b)))})
	}
	mean, _ := agreed(all)
	strong, against := r.count(all, mean)
	if against || math.Abs(mean) < r.p.Param("least_shift") {
		return all, false
	}
	return all, strong >= int(r.p.Param("swing_channels")) || strong == 1 && r.stamped(before.End, mean).why != ""
}

// median2 is how much larger the variance of a median is than that of a mean, for
// normal noise: pi/2.
const median2 = math.Pi / 2

func sq(x float64) float64 { return x * x }

// agreed is the mean of what witnesses say, weighted by their precision, and its
// standard deviation.
func agreed(all []witness) (mean, sd float64) {
	sum, weight := 0.0, 0.0
	for _, w := range all {
		sum += w.hours / sq(w.sd)
		weight += 1 / sq(w.sd)
	}
	if weight == 0 {
		return 0, math.Inf(1)
	}
	return sum / weight, 1 / math.Sqrt(weight)
}

// count is how many witnesses show a shift clearly, and whether any that could tell
// speaks against it.
func (r *rhythm) count(all []witness, shift float64) (strong int, against bool) {
	clear := r.p.Param("swing_clear")
	for _, w := range all {
		if math.Abs(w.hours) >= clear*w.sd && w.hours*shift > 0 {
			strong++
		}
		if math.Abs(shift) >= clear*w.sd && math.Abs(w.hours-shift) > max(clear*w.sd, r.p.Param("swing_agree")*math.Abs(shift)) {
			against = true
		}
	}
	return strong, against
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
				m, _ := r.middle(p)
				sd := math.Sqrt(sq(b.Spread) + sq(r.week(b)) + sq(r.day(b))*median2/float64(len(p)))
				s.says = append(s.says, witness{b.Channel, m, sd})
			}
		}
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
		for _, w := range s.says {
			if math.Abs(w.hours) < r.p.Param("swing_clear")*w.sd || math.Abs(mean) < r.p.Param("least_shift") {
				return true
			}
		}
		return false
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

// drifts finds a clock that loses or gains time from some day on.
func (r *rhythm) drifts() (event, bool) {
	days := int64(r.p.Param("drift_days")) * detect.Day
	end := r.whole.End
	bestCost, bestAt := math.Inf(1), int64(0)
	for at := r.whole.Start; at+days <= end; at += detect.Day {
		cost := 0.0
		for i := range r.beats {
			cost += r.hinge(&r.beats[i], at, nil) / r.day(&r.beats[i])
		}
		if cost < bestCost {
			bestCost, bestAt = cost, at
		}
	}
	if math.IsInf(bestCost, 1) {
		return event{}, false
	}
	var all []witness
	for i := range r.beats {
		r.hinge(&r.beats[i], bestAt, &all)
	}
	total, sd := agreed(all)
	strong, against := r.count(all, total)
	if against || strong < int(r.p.Param("swing_channels")) || math.Abs(total) < r.least()*drifted {
		return event{}, false
	}
	return r.drifting(bestAt, total, sd, all), true
}

// drifted is how many tenths of a step a drift must amount to: readings are dated no
// more finely than half a step.
const drifted = 5

// hinge fits a level before an instant and a line after it that begins there, and
// gives what the points stand off. It tells how far the line goes by the end.
func (r *rhythm) hinge(b *detect.Beat, at int64, says *[]witness) (cost float64) {
	before, after := within(b.Points, detect.Span{Start: r.whole.Start, End: at}), within(b.Points, detect.Span{Start: at, End: r.whole.End})
	if len(after) < int(r.p.Param("drift_days"))/2 {
		return 0
	}
	var level, slope float64
	t, y := make([]float64, 0, len(after)), make([]float64, 0, len(after))
	for _, p := range after {
		t, y = append(t, detect.Days(p.Time-at)), append(y, p.Ahead)
	}
	scratch := make([]float64, max(len(after), robust.TheilSenSize(len(after))))
	if len(before) >= int(r.p.Param("swing_days")) {
		level, cost = r.middle(before)
		rates := make([]float64, len(t))
		for i := range t {
			rates[i] = (y[i] - level) / t[i]
		}
		slope = weightedMedian(rates, t)
	} else {
		slope, level = robust.TheilSenScratch(t, y, scratch)
	}
	for i := range t {
		cost += math.Abs(y[i] - level - slope*t[i])
	}
	if says != nil {
		n, whole := float64(len(after)), detect.Days(r.whole.End-at)
		sd := math.Sqrt(12*median2*sq(r.day(b))/n + 2*sq(r.week(b)))
		*says = append(*says, witness{b.Channel, slope * whole, sd})
	}
	return cost
}

// weightedMedian is the rate that leaves the least sum of absolute distances of a
// line through the origin.
func weightedMedian(v, weight []float64) float64 {
	order := make([]int, len(v))
	total := 0.0
	for i := range v {
		order[i] = i
		total += weight[i]
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(v[a], v[b]) })
	sum := 0.0
	for _, i := range order {
		if sum += weight[i]; sum >= total/2 {
			return v[i]
		}
	}
	return 0
}

// stamp is what the stamps say of a change: where it was, and in which words.
type stamp struct {
	at   int64
	why  string
	file string
}

// stamped looks for the step of the stamps that a change of the clock leaves: hours
// that are there twice where it was set back, a hole as long where it was set forward.
func (l *look) stamped(at int64, shift float64) (best stamp) {
	by, c := int64(shift*float64(detect.Hour)), l.cadence()
	slack := max(c, int64(0.1*math.Abs(float64(by))))
	nearest := detect.Day + detect.Day/2
	offer := func(t int64, why, file string) {
		if d := size(t - at); d <= nearest {
			nearest, best = d, stamp{t, why, file}
		}
	}
	for i := range l.files {
		f := &l.files[i]
		for k := 1; k < len(f.Segments); k++ {
			a, b := f.Segments[k-1], f.Segments[k]
			if back := a.Last + f.Cadence - b.First; by < 0 && back > f.Cadence && near(back, -by, slack) {
				offer(b.First, fmt.Sprintf("%s line %d steps back by %.1f h there", f.File, b.FromLine, detect.Hours(a.Last-b.First)), f.File)
			}
		}
	}
	if by > 0 {
		for _, q := range l.silences() {
			if near(q.Length(), by+c, slack) && q.Start > l.whole.Start && q.End < l.whole.End {
				offer(q.End, fmt.Sprintf("a hole of %.1f h ends there", detect.Hours(q.Length())), "")
			}
		}
	}
	return best
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
