package detect

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/robust"
)

// Beat is how one channel of a logger keeps the farm's time: by how much its daily
// swing comes ahead of that of the other loggers.
type Beat struct {
	Channel Channel
	Points  []BeatPoint // sorted by time
	// Of the farm's loggers: how many have the channel, the robust standard deviations
	// of one logger's median from another's, of a week's from its logger's own, and of
	// a day's from its week's; hours.
	Loggers                int
	Spread, Wander, Jitter float64
}

// BeatPoint is one day. A clock that runs ahead stamps the same noon later: its
// swing comes later by the stamps, and Ahead is positive.
type BeatPoint struct {
	Time  int64   // the middle of the day, by the logger's stamps
	Ahead float64 // h, -12 to 12, of the farm's median
}

// beatLoggers is how many loggers a day's median is taken of, at least: of two that
// disagree nobody knows which is right (derived: a majority of three).
const beatLoggers = 3

// Beats holds the daily swings of a farm's loggers against each other, channel by
// channel, and within a channel depth by depth and kind by kind: heat and roots have
// other phases at other depths. The keys are loggers. The order of the summaries does
// not matter.
func Beats(members []Summary) map[string][]Beat {
	out := map[string][]Beat{}
	for c := range channels {
		points := channelPoints(members, c)
		names := make([]string, 0, len(points))
		for name := range points {
			names = append(names, name)
		}
		if len(names) < beatLoggers {
			continue
		}
		slices.Sort(names)
		b := Beat{Channel: c, Loggers: len(names)}
		b.scales(names, points)
		for _, name := range names {
			b.Points = points[name]
			out[name] = append(out[name], b)
		}
	}
	return out
}

// beatClass are the series whose phases compare.
type beatClass struct {
	kind  Kind
	depth float64
}

// turn is one swing of one logger.
type turn struct {
	class  beatClass
	day    int32
	logger string
	hour   float64
}

// channelPoints gives each logger's days, by the median over its ports.
func channelPoints(members []Summary, c Channel) map[string][]BeatPoint {
	var all []turn
	for i := range members {
		m := &members[i]
		class := beatClass{depth: m.Probe.DepthCM.V}
		switch {
		case c == BatteryVoltage:
			class.depth = 0
		case !m.Probe.DepthCM.OK:
			class.depth = -1
		}
		if c == SoilMoisture {
			class.kind = m.Probe.Kind
		}
		for _, s := range m.Swings[c] {
			if logger, ok := m.Probe.loggerAt(int64(s.Day)*Day + Day/2); ok {
				all = append(all, turn{class, s.Day, logger, float64(s.Hour)})
			}
		}
	}
	slices.SortFunc(all, func(a, b turn) int {
		return cmp.Or(cmp.Compare(a.class.kind, b.class.kind), cmp.Compare(a.class.depth, b.class.depth), cmp.Compare(a.day, b.day),
			cmp.Compare(a.logger, b.logger), cmp.Compare(a.hour, b.hour))
	})
	// One phase a logger, class and day; then each against the median of that day.
	perLogger := map[string][]BeatPoint{}
	var hours, scratch []float64
	for i := 0; i < len(all); {
		var of []turn
		j := i
		for ; j < len(all) && all[j].class == all[i].class && all[j].day == all[i].day; j++ {
			if n := len(of); n > 0 && of[n-1].logger == all[j].logger {
				hours = append(hours, all[j].hour)
				of[n-1].hour, _ = middleHour(hours, &scratch)
				continue
			}
			hours = append(hours[:0], all[j].hour)
			of = append(of, all[j])
		}
		i = j
		if len(of) < beatLoggers {
			continue
		}
		hours = hours[:0]
		for _, o := range of {
			hours = append(hours, o.hour)
		}
		farm, ok := middleHour(hours, &scratch)
		if !ok {
			continue
		}
		for _, o := range of {
			perLogger[o.logger] = append(perLogger[o.logger], BeatPoint{int64(o.day)*Day + Day/2, wrapped(o.hour - farm)})
		}
	}
	for name, points := range perLogger {
		perLogger[name] = oneADay(points, &scratch)
	}
	return perLogger
}

// oneADay joins the classes of a logger's channel by their median.
func oneADay(points []BeatPoint, scratch *[]float64) []BeatPoint {
	slices.SortFunc(points, func(a, b BeatPoint) int {
		return cmp.Or(cmp.Compare(a.Time, b.Time), cmp.Compare(a.Ahead, b.Ahead))
	})
	out := points[:0]
	var day []float64
	for i := 0; i < len(points); {
		j := i
		day = day[:0]
		for ; j < len(points) && points[j].Time == points[i].Time; j++ {
			day = append(day, points[j].Ahead)
		}
		out = append(out, BeatPoint{points[i].Time, robust.Median(day, buffer(scratch, len(day)))})
		i = j
	}
	return out
}

// scales measures how loggers, weeks and days differ on this farm.
func (b *Beat) scales(names []string, points map[string][]BeatPoint) {
	var own, weeks, days []float64
	var one, week, scratch []float64
	for _, name := range names {
		p := points[name]
		one = one[:0]
		for _, x := range p {
			one = append(one, x.Ahead)
		}
		middle := robust.Median(one, buffer(&scratch, len(one)))
		own = append(own, middle)
		for i := 0; i < len(p); {
			j := i
			week = week[:0]
			for ; j < len(p) && p[j].Time < p[i].Time+7*Day; j++ {
				week = append(week, p[j].Ahead)
			}
			if len(week) >= 4 {
				m := robust.Median(week, buffer(&scratch, len(week)))
				weeks = append(weeks, math.Abs(m-middle))
				for _, x := range week {
					days = append(days, math.Abs(x-m))
				}
			}
			i = j
		}
	}
	_, mad := robust.MAD(own, buffer(&scratch, len(own)))
	b.Spread = robust.Consistency * mad
	if len(weeks) > 0 {
		b.Wander = robust.Consistency * robust.Median(weeks, buffer(&scratch, len(weeks)))
		b.Jitter = robust.Consistency * robust.Median(days, buffer(&scratch, len(days)))
	}
}

// middleHour is the median hour of a day around the clock: the median of the hours
// from the mean direction. Where they point everywhere there is none.
func middleHour(hours []float64, scratch *[]float64) (float64, bool) {
	var c, s float64
	for _, h := range hours {
		y, x := math.Sincos(h * math.Pi / 12)
		c, s = c+x, s+y
	}
	if math.Hypot(c, s) < 0.3*float64(len(hours)) {
		return 0, false
	}
	mean := math.Atan2(s, c) * 12 / math.Pi
	buf := buffer(scratch, 2*len(hours))
	off := buf[:len(hours)]
	for i, h := range hours {
		off[i] = wrapped(h - mean)
	}
	return math.Mod(mean+robust.Median(off, buf[len(hours):])+48, 24), true
}

// wrapped takes a difference of hours of the day to -12 to 12.
func wrapped(h float64) float64 { return math.Mod(h+36, 24) - 12 }

// loggerAt is the logger of a probe at an instant.
func (p *Probe) loggerAt(t int64) (string, bool) {
	for _, w := range p.Wirings {
		if w.Logger != "" && w.Holds(t) {
			return w.Logger, true
		}
	}
	return "", false
}
