package stamp

import "time"

// Clock turns readings of the zone's wall clock into instants. One goroutine at a time.
type Clock struct {
	zone     *time.Location
	from, to int64 // wall readings, between which offset holds and no change is near
	offset   int64
}

// NewClock gives the clock of a zone.
func NewClock(zone *time.Location) *Clock { return &Clock{zone: zone} }

// Zone whose clock it is.
func (c *Clock) Zone() *time.Location { return c.zone }

// Turn is what must be remembered of one series of stamps, in the order written, to
// tell the two passes of the hour that a night in autumn has twice.
type Turn struct {
	last, step int64 // wall readings
	at         int64 // instant of last
	seen       bool
	second     bool
	inside     bool  // a stamp stood in the hour left out since last
	over       int64 // see Over; 0: the clocks were not changed
	shown      int64
}

// Over gives, of the stamp resolved last and the one before, the time between them
// and the same as the wall's readings have it. ok: they differ, since the clocks
// were changed between, and no stamp stood in an hour left out. A logger whose
// cadence is the former was changed with the clocks.
func (t *Turn) Over() (step, wall int64, ok bool) { return t.over, t.shown, t.over != 0 }

// near is how far from a change of the clocks Plain declines, so that a Turn has
// seen the stamps before the change.
const near = 25 * hour

// Plain gives the instant of a wall reading far from any change of the clocks; not
// ok when Resolve must be asked.
func (c *Clock) Plain(wall int64) (int64, bool) {
	if wall >= c.from && wall < c.to {
		return wall - c.offset, true
	}
	return c.look(wall)
}

func (c *Clock) look(wall int64) (int64, bool) {
	before, after := c.offsetAt(wall-near), c.offsetAt(wall+near)
	if before != after {
		return 0, false
	}
	start, end := time.UnixMicro(wall - before).In(c.zone).ZoneBounds()
	from, to := wall, wall+1
	if start.IsZero() {
		from = wall - 365*day
	} else if v := start.UnixMicro() + before + near; v < wall {
		from = v
	}
	if end.IsZero() {
		to = wall + 365*day
	} else if v := end.UnixMicro() + before - near; v > wall {
		to = v
	}
	if from == wall {
		return 0, false
	}
	c.from, c.to, c.offset = from, to, before
	return wall - before, true
}

// offsetAt is the zone's offset at an instant given roughly, by a wall reading.
func (c *Clock) offsetAt(instant int64) int64 {
	_, o := time.UnixMicro(instant).In(c.zone).Zone()
	return int64(o) * second
}

// Instants gives the instants at which the wall reads so: n of them, 0 in the hour
// that is left out in spring, 2 in the one that comes twice in autumn.
func (c *Clock) Instants(wall int64) (first, second int64, n int) {
	a, b := c.offsetAt(wall-near), c.offsetAt(wall+near)
	for _, o := range []int64{max(a, b), min(a, b)} {
		if t := wall - o; c.offsetAt(t) == o {
			switch {
			case n == 0:
				first, n = t, 1
			case t != first:
				second, n = t, 2
			}
		}
	}
	return first, second, n
}

// Resolve gives the instant of a wall reading that follows those the turn has seen.
// In the hour that comes twice, a stamp that steps back by no more than that hour
// starts the second pass; so does the same stamp once more where stamps are an hour
// apart. Not ok: no such hour on that day.
func (c *Clock) Resolve(wall int64, turn *Turn) (int64, bool) {
	first, second, n := c.Instants(wall)
	turn.over = 0
	switch {
	case n == 0:
		turn.inside = true
		return 0, false
	case n == 1:
		turn.second = false
	default:
		twice := second - first
		back := turn.last - wall
		switch {
		case !turn.seen || back > twice || back < -twice:
			turn.second = false
		case back > 0, back == 0 && turn.step >= twice:
			turn.second = true
		}
	}
	if turn.seen && wall > turn.last {
		turn.step = wall - turn.last
	}
	t := first
	if n == 2 && turn.second {
		t = second
	}
	shown := wall - turn.last
	if step := t - turn.at; turn.seen && !turn.inside && step > 0 && step < near && step != shown {
		turn.over, turn.shown = step, shown
	}
	turn.last, turn.at, turn.seen, turn.inside = wall, t, true, false
	return t, true
}

// Before is the offset in force before a change of the clocks near the wall reading.
func (c *Clock) Before(wall int64) int64 { return c.offsetAt(wall - near) }
