package loggerpower

import (
	"math"

	"probeward/detectors/detect"
)

// port is a probe while it is at this logger.
type port struct {
	member     *detect.Summary
	excursions []detect.Excursion // that count, sorted; those with one reading between are one
}

// portsOf lists the probes at the logger that have readings, with their excursions.
func portsOf(p *detect.GroupPass) []port {
	var out []port
	members := p.Members()
	margin, kPa := p.Param("margin"), p.Param("margin_kpa")
	for i := range members {
		m := &members[i]
		at := wired(m, p.Name())
		if m.Values == 0 || len(at) == 0 || !hears(m, at) {
			continue
		}
		one := port{member: m}
		limits := m.Probe.Limits()
		for _, e := range dead(limits, m.Excursions) {
			if !beyond(m.Probe.Quantity, limits, e.Value, margin, kPa) || !within(at, e.Start) {
				continue
			}
			// It is known only at its readings: what is missing after them is not its.
			e.End = min(e.End, e.Start+int64(2*e.Readings+4)*m.Cadence)
			if n := len(one.excursions); n > 0 && e.Start-one.excursions[n-1].End <= m.Cadence {
				last := &one.excursions[n-1]
				last.End, last.Open = e.End, e.Open
				last.Readings += e.Readings
				continue
			}
			one.excursions = append(one.excursions, e)
		}
		out = append(out, one)
	}
	return out
}

// dead leaves out the calm stretches of live readings between two excursions: they
// too are entered and left by leaps. Of excursions that touch one another those
// beyond the limits are dead; where none is, the first, since the readings before
// it were no excursion, and then every second.
func dead(limits detect.Limits, all []detect.Excursion) []detect.Excursion {
	var out []detect.Excursion
	for i := 0; i < len(all); {
		j, outside := i+1, limits.Outside(all[i].Value)
		for j < len(all) && all[j].Start == all[j-1].End {
			outside = outside || limits.Outside(all[j].Value)
			j++
		}
		for k := i; k < j; k++ {
			if outside && limits.Outside(all[k].Value) || !outside && (k-i)%2 == 0 {
				out = append(out, all[k])
			}
		}
		i = j
	}
	return out
}

// wired gives when the register has a probe at a logger; always, where it says
// nothing at all of its wiring.
func wired(m *detect.Summary, logger string) []detect.Span {
	if len(m.Probe.Wirings) == 0 {
		return []detect.Span{m.Period.Whole()}
	}
	var out []detect.Span
	for _, w := range m.Probe.Wirings {
		if s := w.Span.Overlap(m.Period.Whole()); w.Logger == logger && s.Start < s.End {
			out = append(out, s)
		}
	}
	return out
}

func within(spans []detect.Span, t int64) bool {
	for _, s := range spans {
		if s.Holds(t) {
			return true
		}
	}
	return false
}

// hears says whether a probe's readings reach into the time at the logger.
func hears(m *detect.Summary, at []detect.Span) bool {
	for _, s := range at {
		if m.First.OK && m.First.V < s.End && m.Last.V >= s.Start {
			return true
		}
	}
	return false
}

// beyond says whether an excursion's value is far enough from what soil can be: a
// dead value within the limits was entered and left by leaps already.
func beyond(q detect.Quantity, limits detect.Limits, v, share, kPa float64) bool {
	switch {
	case v < limits.Low && q == detect.Tension:
		return limits.Low-v >= kPa
	case v < limits.Low:
		return limits.Low-v >= share*math.Abs(limits.Low)
	case v > limits.High:
		return v-limits.High >= share*math.Abs(limits.High)
	default:
		return true
	}
}
