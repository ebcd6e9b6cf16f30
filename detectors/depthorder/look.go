package depthorder

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"probeward/detectors/detect"
)

// look is one look at a zone.
type look struct {
	p       *detect.GroupPass
	members []member
	calms   map[int64]bool // by day
	hole    []string       // by member: a name for what it shares with the other depths; empty: not known
}

// member is a moisture probe of the zone with a depth.
type member struct {
	*detect.Summary
	days []detect.DayLevel // with enough readings
}

const leastReadings = 8 // of a day, for its median and its swing

func newLook(p *detect.GroupPass) *look {
	l := &look{p: p, calms: map[int64]bool{}}
	all := p.Members()
	for i := range all {
		s := &all[i]
		if !s.Probe.TellsWater() || !s.Probe.DepthCM.OK || s.Probe.Post == "" {
			continue
		}
		m := member{Summary: s}
		for _, d := range s.Daily {
			if d.Readings >= leastReadings {
				m.days = append(m.days, d)
			}
		}
		l.members = append(l.members, m)
	}
	l.holes()
	return l
}

// holes tells apart the holes of a post. Where each depth stands there once, it is one
// hole. Else the names must tell: those that are the same but for the depth in them go
// together, if each depth then stands once.
func (l *look) holes() {
	l.hole = make([]string, len(l.members))
	for _, name := range []func(*detect.Probe) string{
		func(p *detect.Probe) string { return p.Post },
		func(p *detect.Probe) string {
			return p.Post + "\x00" + strings.ReplaceAll(p.Name, strconv.FormatFloat(p.DepthCM.V, 'f', -1, 64), "\x00")
		},
	} {
		depths := map[string]bool{}
		twice := map[string]bool{}
		for i := range l.members {
			p := &l.members[i].Probe
			if l.past(&l.members[i]) {
				continue
			}
			key := fmt.Sprintf("%s\x00%s\x00%g", name(p), p.Kind, p.DepthCM.V)
			twice[name(p)] = twice[name(p)] || depths[key]
			depths[key] = true
		}
		for i := range l.members {
			if hole := name(&l.members[i].Probe); l.hole[i] == "" && !twice[hole] && !l.past(&l.members[i]) {
				l.hole[i] = hole
			}
		}
	}
}

// past says whether a probe was silent in all of the window: one that was replaced.
func (l *look) past(m *member) bool { return !m.Last.OK || m.Last.V < m.Period.Window.Start }

func (m *member) answered(w *detect.Watered) bool { return w.Begin.OK && w.Rise > m.Waterings.Unit }

// votes are what the waterings of a span say about a pair.
type votes struct {
	events   int // that voted
	inverted int // the deeper one answered alone, or larger and not later
	regular  int // the other way about
}

// vote lets every watering of a span vote. Where the upper probe is too wet to respond
// or stands at its dry end, its silence is no vote, if that matters: two that took each
// other's place did not both stop answering by that.
func (l *look) vote(u, d *member, in detect.Span, matters bool) (v votes) {
	larger := l.p.Param("larger")
	soon := l.p.ParamHours("soon_hours")
	for i, j := 0, 0; i < len(u.Waterings.At) && j < len(d.Waterings.At); {
		x, y := &u.Waterings.At[i], &d.Waterings.At[j]
		switch {
		case x.Start < y.Start:
			i++
			continue
		case y.Start < x.Start:
			j++
			continue
		}
		i, j = i+1, j+1
		if x.Blind || y.Blind || !in.Holds(x.Start) {
			continue
		}
		upper, lower := u.answered(x), d.answered(y)
		blunt := matters && (x.AtEnd || x.Level > u.Waterings.Dead)
		bluntToo := matters && (y.AtEnd || y.Level > d.Waterings.Dead)
		switch {
		case lower && !upper && !blunt:
			v.inverted++
		case upper && !lower && !bluntToo:
			v.regular++
		case upper && lower:
			later := y.Begin.V > x.Begin.V+soon
			switch {
			case y.Rise >= larger*x.Rise && !later && !blunt:
				v.inverted++
			case x.Rise >= larger*y.Rise || later && x.Rise >= y.Rise:
				v.regular++
			default:
				continue // larger and later, or alike: no vote
			}
		default:
			continue
		}
		v.events++
	}
	return v
}

// pair of members of one post, the one that is registered as shallower first.
type pair struct{ u, d *member }

// pairs lists the probes of one post that can be held against each other.
func (l *look) pairs() (out []pair) {
	for i := range l.members {
		for j := range l.members {
			u, d := &l.members[i], &l.members[j]
			if l.hole[i] != "" && l.hole[i] == l.hole[j] && u.Probe.Kind == d.Probe.Kind && u.Probe.Quantity == d.Probe.Quantity &&
				d.Probe.DepthCM.V >= u.Probe.DepthCM.V+l.p.Param("apart_cm") {
				out = append(out, pair{u, d})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b pair) int {
		return cmp.Or(cmp.Compare(a.u.Probe.Name, b.u.Probe.Name), cmp.Compare(a.d.Probe.Name, b.d.Probe.Name))
	})
	return out
}
