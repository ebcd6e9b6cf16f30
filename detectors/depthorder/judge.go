package depthorder

import (
	"cmp"
	"fmt"
	"slices"

	"probeward/detectors/detect"
)

// candidate is what was made of a pair.
type candidate struct {
	pair
	seen       bool // enough happened to judge it
	found      bool
	since      int64
	until      int64 // 0: it still stands
	swap       *swap
	votes      votes
	confidence float64
}

// judge asks whether a pair is the wrong way round, all along or since a day on which
// the two took each other's place.
func (l *look) judge(q pair) (c candidate) {
	c.pair = q
	whole := q.u.Period.Whole()
	all := l.vote(q.u, q.d, whole, true)
	c.seen = all.events >= int(l.p.Param("events"))
	s, ok := l.swapped(q.u, q.d)
	if !ok {
		s, ok = l.swappedByDays(q.u, q.d)
	}
	if ok {
		if c := l.since(c, s); c.found {
			return c
		}
	}
	if !c.seen || !l.inverted(all) {
		return c
	}
	// In both halves: if only in one, the upper probe stopped answering, or water found a
	// short way down to the deeper one.
	middle := l.middle(q)
	for _, half := range []detect.Span{{Start: whole.Start, End: middle}, {Start: middle, End: whole.End}} {
		if v := l.vote(q.u, q.d, half, true); v.inverted < v.regular || v.inverted == 0 {
			return c
		}
	}
	if !l.early(q.u, q.d) {
		return c
	}
	c.pair = l.widest(q)
	c.found, c.votes, c.confidence = true, all, 0.9
	c.since = max(whole.Start, c.u.First.V, c.d.First.V)
	return c
}

// widest is the exchange that explains a pair: a probe that answers before two that are
// registered above it changed places with the upper one of them, and one that answers
// after two that are registered below it with the lower one.
func (l *look) widest(q pair) pair {
	whole := q.u.Period.Whole()
	wide := q
	for _, o := range l.pairs() {
		switch {
		case o.d == q.d && o.u.Probe.DepthCM.V < wide.u.Probe.DepthCM.V && l.inverted(l.vote(o.u, o.d, whole, true)):
			wide.u = o.u
		case o.u == q.u && o.d.Probe.DepthCM.V > wide.d.Probe.DepthCM.V && l.inverted(l.vote(o.u, o.d, whole, true)):
			wide.d = o.d
		}
	}
	return wide
}

func (l *look) inverted(v votes) bool {
	return v.inverted >= int(l.p.Param("events")) && float64(v.inverted) >= l.p.Param("inverted_share")*float64(v.events)
}

// middle is the watering that half of those which both were heard at come before.
func (l *look) middle(q pair) int64 {
	at := q.u.Waterings.At
	var both []int64
	for i := range at {
		if !at[i].Blind {
			both = append(both, at[i].Start)
		}
	}
	if len(both) == 0 {
		return q.u.Period.Window.Start
	}
	return both[len(both)/2]
}

// since judges a pair that took each other's place: wrong since then, or until then.
// The sensor that sits higher answers more over the whole record, before and after.
func (l *look) since(c candidate, s swap) candidate {
	whole := c.u.Period.Whole()
	before, after := detect.Span{Start: whole.Start, End: s.time}, detect.Span{Start: s.time, End: whole.End}
	a, b := l.vote(c.u, c.d, before, false), l.vote(c.u, c.d, after, false)
	score := a.regular - a.inverted + b.inverted - b.regular
	if score < 0 {
		a, b, score = b, a, -score
		c.since, c.until = max(whole.Start, c.u.First.V, c.d.First.V), s.time
	} else {
		c.since = s.time
	}
	if score < 2 {
		return c
	}
	c.seen, c.found, c.swap, c.votes, c.confidence = true, true, &s, b, 0.9
	return c
}

// findings keeps for every probe the pair that shows most, and words them.
func (l *look) findings(all []candidate) (out []detect.Finding) {
	slices.SortStableFunc(all, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(weight(b), weight(a)), cmp.Compare(a.u.Probe.Name, b.u.Probe.Name), cmp.Compare(a.d.Probe.Name, b.d.Probe.Name))
	})
	taken := map[int]bool{}
	for _, c := range all {
		u, d := &c.u.Probe, &c.d.Probe
		if taken[u.Index] || taken[d.Index] {
			continue
		}
		taken[u.Index], taken[d.Index] = true, true
		out = append(out, l.finding(c))
	}
	slices.SortFunc(out, func(a, b detect.Finding) int { return cmp.Or(a.Probes[0]-b.Probes[0], a.Probes[1]-b.Probes[1]) })
	return out
}

// weight orders candidates: a swap that was seen first, then by votes.
func weight(c candidate) float64 {
	w := float64(c.votes.inverted - c.votes.regular)
	if c.swap != nil {
		w += 1000 + 100*c.swap.gap
	}
	return w
}

func (l *look) finding(c candidate) detect.Finding {
	u, d := &c.u.Probe, &c.d.Probe
	f := detect.Finding{
		Start: c.since, End: l.p.Period().Window.End, Open: c.until == 0, Confidence: c.confidence,
		Measured: float64(c.votes.inverted), Threshold: l.p.Param("events"), Unit: "waterings",
		Probes: []int{min(u.Index, d.Index), max(u.Index, d.Index)},
	}
	if c.until != 0 {
		f.End = c.until
	} else {
		f.Amends = []detect.Amend{
			{Probe: u.Index, Column: "depth_cm", Value: fmt.Sprintf("%g", d.DepthCM.V)},
			{Probe: d.Index, Column: "depth_cm", Value: fmt.Sprintf("%g", u.DepthCM.V)},
		}
	}
	for _, m := range []*member{c.u, c.d} {
		for _, day := range m.days {
			if day.Start >= f.Start && day.Start < f.End {
				f.Readings += day.Readings
			}
		}
	}
	names := fmt.Sprintf("%s, registered at %g cm, and %s, at %g cm,", u.Name, u.DepthCM.V, d.Name, d.DepthCM.V)
	answers := fmt.Sprintf("of %d waterings that either answered, the one registered deeper answered %d alone, or larger and no later, and the other one %d", c.votes.events, c.votes.inverted, c.votes.regular)
	switch {
	case c.swap == nil:
		f.Evidence = fmt.Sprintf("%s answer in the wrong order: %s; and on days without water the deeper one swings within the day before the other does, or alone", names, answers)
	case c.until == 0:
		f.Evidence = fmt.Sprintf("%s took each other's place on %s: each went on at the level of the other; since then %s", names, detect.Stamp(c.swap.time), answers)
	default:
		f.Evidence = fmt.Sprintf("%s took each other's place on %s, and stand right since; before, %s", names, detect.Stamp(c.swap.time), answers)
	}
	return f
}
