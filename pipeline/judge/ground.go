package judge

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
)

// inGround is when a probe was in the ground, as registered; without dates it
// always was.
func inGround(p *detect.Probe) detect.Span {
	s := detect.Span{Start: math.MinInt64, End: math.MaxInt64}
	if p.InstalledOn.OK {
		s.Start = p.InstalledOn.V
	}
	if p.RemovedOn.OK {
		s.End = p.RemovedOn.V
	}
	return s
}

// groundedAt says why a probe was not in the ground or not wired at an instant;
// empty: it was. A register without loggers wires every probe.
func groundedAt(p *detect.Probe, t int64) string {
	if p.RemovedOn.OK && p.RemovedOn.V <= t {
		return "removed on " + detect.Stamp(p.RemovedOn.V)
	}
	if p.InstalledOn.OK && p.InstalledOn.V > t {
		return "installed on " + detect.Stamp(p.InstalledOn.V) + ", after the window"
	}
	if _, ok := wiringAt(p, t); ok || len(p.Wirings) == 0 {
		return ""
	}
	return fmt.Sprintf("wired to no logger at the window's end, last to %s", p.Wirings[len(p.Wirings)-1].Logger)
}

// wiringAt finds the wiring that holds at an instant.
func wiringAt(p *detect.Probe, t int64) (detect.Wiring, bool) {
	for _, at := range p.Wirings {
		if at.Holds(t) {
			return at, true
		}
	}
	return detect.Wiring{}, false
}

// present is how much of the window a probe was in the ground and wired.
func present(p *detect.Probe, window detect.Span) int64 {
	s := inGround(p).Overlap(window)
	if len(p.Wirings) == 0 {
		return s.Length()
	}
	var all []detect.Span
	for _, at := range p.Wirings {
		all = append(all, at.Overlap(s))
	}
	return length(union(all))
}
