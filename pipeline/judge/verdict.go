package judge

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/schemas"
)

const (
	// overSteps is how many of its own steps a probe must have read well before a
	// fault counts as over (common practice, no source): one good reading of a
	// loose contact proves nothing.
	overSteps = 10
	// lastsFor is how long a fault that only counts when it comes back must stand
	// at the window's end to count without (common practice, no source).
	lastsFor = detect.Day
	// surest is the most that a verdict of fit may claim (common practice, no
	// source): what no detector looks for can still be wrong.
	surest = 0.95
)

// claim is the verdict that one finding makes of a probe; empty: none.
func (w *work) claim(probe int, t *touch) schemas.Verdict {
	f, fault := &w.out.Findings[t.finding], &w.faults[t.finding]
	v := fault.VerdictFor(f.Confidence)
	window := w.in.Period.Window
	if v == "" || t.ignored || f.MaskedBy != "" || t.end() <= window.Start || untouched(&f.Finding) {
		return ""
	}
	if fault.Lasting {
		if !w.stillOpen(t.open, t.end()) {
			return ""
		}
		return v
	}
	over := overSteps * w.in.Reports[probe].Summary.Cadence
	stands := w.stillOpen(t.open, t.end()+over)
	if fault.Recurs {
		last := t.spans[len(t.spans)-1].Overlap(window)
		if w.times(probe, fault.Name) < 2 && (!stands || last.Length() < lastsFor) {
			return ""
		}
		return v
	}
	if stands {
		return v
	}
	if v == schemas.Unfit {
		return schemas.Doubtful
	}
	return ""
}

// times counts how often a fault came up on a probe in the window: stretches of
// its findings with good readings between.
func (w *work) times(probe int, fault string) int {
	var all, one []detect.Span
	for k := range w.touches[probe] {
		t := &w.touches[probe][k]
		f := &w.out.Findings[t.finding]
		if f.Fault != fault || t.ignored || f.MaskedBy != "" {
			continue
		}
		one = extents(one[:0], f, true)
		for _, s := range one {
			all = append(all, s.Overlap(w.in.Period.Window))
		}
	}
	return len(union(all))
}

// order gives the place of a verdict in the order of precedence.
func order(v schemas.Verdict) int { return slices.Index(schemas.Verdicts(), v) }

// verdict fills in what a probe is at the window's end, and why.
func (w *work) verdict(probe int, s *State) {
	p := &w.in.Probes[probe]
	s.Main = -1
	var main *touch
	s.Verdict = schemas.Fit
	s.Faults = w.faultsOf(probe, s)
	for k := range w.touches[probe] {
		t := &w.touches[probe][k]
		v := w.claim(probe, t)
		if v == "" {
			continue
		}
		if main == nil || w.before(v, t, s.Verdict, main) {
			s.Verdict, main = v, t
		}
	}
	away := groundedAt(p, w.in.Period.Window.End-1)
	s.InGround = away == ""
	why := away
	if main != nil && s.InGround {
		f := &w.out.Findings[main.finding]
		s.Main, s.Confidence, s.Since = main.finding, f.Confidence, detect.Some(main.start())
	} else if why == "" {
		why = w.unsure(probe, s)
	}
	run, not, reasons := w.count(probe)
	s.Run, s.NotEvaluated, s.NotEvaluatedWhy = run, not, reasons
	if why != "" {
		s.Verdict = schemas.Unknown
		s.NotEvaluatedWhy = "unknown: " + why
		if reasons != "" {
			s.NotEvaluatedWhy += "; " + reasons
		}
	}
	if s.Verdict == schemas.Fit {
		s.Confidence = min(surest, float64(run)/float64(max(1, run+not)))
	}
}

// before says whether a finding makes a probe's verdict before another does: the
// worse verdict, then the surer, the older, the earlier in the table of faults.
func (w *work) before(v schemas.Verdict, t *touch, than schemas.Verdict, other *touch) bool {
	f, g := &w.out.Findings[t.finding], &w.out.Findings[other.finding]
	return cmp.Or(
		cmp.Compare(order(v), order(than)), cmp.Compare(g.Confidence, f.Confidence),
		cmp.Compare(t.start(), other.start()),
		cmp.Compare(schemas.FaultBit(f.Fault), schemas.FaultBit(g.Fault)),
		cmp.Compare(t.finding, other.finding),
	) < 0
}

// faultsOf lists a probe's and its loggers' faults that touch the window, and
// notes all findings that touch the probe.
func (w *work) faultsOf(probe int, s *State) []string {
	var bits int64
	for k := range w.touches[probe] {
		t := &w.touches[probe][k]
		s.Touching = append(s.Touching, t.finding)
		f := &w.out.Findings[t.finding]
		if f.Subject != schemas.SubjectZone && t.end() > w.in.Period.Window.Start {
			bits |= 1 << schemas.FaultBit(f.Fault)
		}
	}
	return reasons(bits, false)
}

// tally counts a probe's readings; times are all that have a value.
func (w *work) tally(probe int, s *State, times []int64, excluded []Exclusion) {
	p, window := &w.in.Probes[probe], w.in.Period.Window
	inWindow := []detect.Span{window}
	s.Received = countIn(times, inWindow)
	var out, both []detect.Span
	for i := range excluded {
		out = append(out, excluded[i].Span)
	}
	both = common(nil, out, inWindow)
	s.Usable = s.Received - countIn(times, both)
	if probe < len(w.in.Rejected) {
		s.Rejected = w.in.Rejected[probe]
	}
	if n, _ := slices.BinarySearch(times, window.End); n > 0 {
		s.Last = detect.Some(times[n-1])
	}
	if c := w.in.Reports[probe].Summary.Cadence; c > 0 {
		s.Expected = detect.Some(int(math.Round(float64(present(p, window)) / float64(c))))
	}
	if at, ok := wiringAt(p, window.End-1); ok {
		s.Logger, s.Port = at.Logger, at.Port
	} else if n := len(p.Wirings); n > 0 {
		s.Logger, s.Port = p.Wirings[n-1].Logger, p.Wirings[n-1].Port
	}
}

// usableNow says whether the newest reading may be used: it is near the window's
// end, not excluded, and of a probe that is fit or doubtful, or a person accepts it.
func (w *work) usableNow(probe int, s *State, excluded []Exclusion) bool {
	if !s.InGround || !w.fresh(probe, s) {
		return false
	}
	for i := range excluded {
		if excluded[i].Holds(s.Last.V) {
			return false
		}
	}
	for _, span := range w.spansOf(probe, Accept) {
		if span.Holds(s.Last.V) {
			return true
		}
	}
	return s.Verdict == schemas.Fit || s.Verdict == schemas.Doubtful
}
