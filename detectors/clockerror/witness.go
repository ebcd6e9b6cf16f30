package clockerror

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/detect"
)

// clean is a span without the days beside its ends, which a change may have cut in
// two, where enough days are left without them.
func (r *rhythm) clean(b *detect.Beat, s detect.Span) []detect.BeatPoint {
	if s.Start > r.whole.Start {
		s.Start += detect.Day
	}
	if s.End < r.whole.End {
		s.End -= detect.Day
	}
	return within(b.Points, s)
}

// changed is what each channel says of the change from one span to another, which may
// lie on either side of it.
func (r *rhythm) changed(before, after detect.Span) (all []witness) {
	for i := range r.beats {
		b := &r.beats[i]
		p, q, n := r.clean(b, before), r.clean(b, after), int(r.p.Param("swing_days"))
		if len(p) < n {
			p = within(b.Points, before)
		}
		if len(q) < n {
			q = within(b.Points, after)
		}
		if len(p) < n || len(q) < n {
			continue
		}
		m, v := r.level(b, p)
		k, u := r.level(b, q)
		all = append(all, witness{b.Channel, wrapped(k - m), math.Sqrt(v + u + 2*sq(r.week(b)))})
	}
	sameSide(all)
	return all
}

// moved says whether so many channels or more show the change of a clock: the same on
// all that can tell.
func (r *rhythm) moved(all []witness, channels int) bool {
	mean, _ := agreed(all)
	strong, against := r.count(all, mean)
	return strong >= channels && !against && math.Abs(mean) >= r.p.Param("least_shift")
}

// change says whether the clock stood away in a span, against one in which it was
// right: by two channels, or by one and the stamps.
func (r *rhythm) change(right, s detect.Span) (all []witness, ok bool) {
	all = r.changed(right, s)
	if r.moved(all, int(r.p.Param("swing_channels"))) {
		return all, true
	}
	if !r.moved(all, 1) {
		return all, false
	}
	mean, _ := agreed(all)
	for _, b := range []stamp{r.stamped(s.Start, mean), r.stamped(s.End, -mean)} {
		// A failing supply makes holes and moves the swing of the battery.
		if b.file != "" || b.why != "" && !r.batteryAlone(all) {
			return all, true
		}
	}
	return all, false
}

// median2 is how much larger the variance of a median is than that of a mean, for
// normal noise: pi/2.
const median2 = math.Pi / 2

func sq(x float64) float64 { return x * x }

// sameSide writes what is said of twelve hours, ahead or behind, as the surest does.
func sameSide(all []witness) {
	if len(all) == 0 {
		return
	}
	hours := surest(all).hours
	for i := range all {
		all[i].hours = hours + wrapped(all[i].hours-hours)
	}
}

func surest(all []witness) witness {
	return slices.MinFunc(all, func(a, b witness) int { return cmp.Compare(a.sd, b.sd) })
}

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
// speaks against it. Moisture never does: as a soil dries, its swing goes over from
// that of the roots to that of the heat.
func (r *rhythm) count(all []witness, shift float64) (strong int, against bool) {
	clear := r.p.Param("swing_clear")
	for _, w := range all {
		if math.Abs(w.hours) >= clear*w.sd && w.hours*shift > 0 {
			strong++
		}
		if (w.channel == detect.Temperature || w.channel == detect.BatteryVoltage) && math.Abs(shift) >= clear*w.sd && math.Abs(w.hours-shift) > max(clear*w.sd, r.p.Param("swing_agree")*math.Abs(shift)) {
			against = true
		}
	}
	return strong, against
}

// batteryAlone says whether no other channel shows a change clearly.
func (r *rhythm) batteryAlone(all []witness) bool {
	return !slices.ContainsFunc(all, func(w witness) bool {
		return w.channel != detect.BatteryVoltage && math.Abs(w.hours) >= r.p.Param("swing_clear")*w.sd
	})
}
