package simulate

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"probeward/schemas"
)

// Purposes of the random streams that only a season draws from.
const (
	forSeason purpose = iota + 101
	forCrew
	forReplacement
)

// event is a fault that is to begin. Whether it does is settled then: a place
// that is still at fault, or new, is passed over.
type event struct {
	order
	start time.Time
	place int // of a probe's fault
	post  int // of a logger's
	zone  int // of a zone's
	index int // of its random stream
}

// restWeeks is how long a subject is left alone after a fault began there.
const restWeeks = 8

// probeOrders are what befalls probes: the common faults and the rarer ones of a
// single farm, but for settling, which comes with every replacement, and for what a
// probe stands under from its first day on.
func probeOrders() (common []order, rare [][]order) {
	begins := func(o order) bool {
		row, _ := schemas.FaultNamed(o.fault)
		return row.Subject == schemas.SubjectProbe && !oneOf(o.fault, "settling", "under_emitter")
	}
	for _, o := range musts() {
		if begins(o) {
			common = append(common, o)
		}
	}
	place := map[string]int{}
	for _, o := range slices.Concat(extras(), grounded()) {
		if !begins(o) {
			continue
		}
		k, ok := place[o.fault]
		if !ok {
			k = len(rare)
			place[o.fault], rare = k, append(rare, nil)
		}
		rare[k] = append(rare[k], o)
	}
	return common, rare
}

// plan draws what goes wrong: two weeks' worth that stands when the first scan is
// made, then a Poisson number a week. One in nine is a logger's and one in twelve a
// zone's.
func (s *Season) plan() []event {
	r := stream(s.options.Seed, forSeason, 0)
	common, rare := probeOrders()
	loggers, waters := loggerOrders(), waterOrders()
	rested := map[[2]int]time.Time{} // by kind of subject and index: when it may fail again
	var out []event
	for week := range s.options.Weeks {
		first := s.monday(History + week)
		rate, days := s.options.PerWeek, 7.0
		if week == 0 {
			rate, days, first = 3*rate, 24, first.AddDate(0, 0, -17)
		}
		for range poisson(r, rate) {
			e := event{start: first.Add(time.Duration(days*24*60*r.Float64()) * time.Minute).Truncate(columnStep),
				place: -1, post: -1, zone: -1, index: len(out)}
			ok := false
			switch x := r.Float64(); {
			case x < 1.0/9:
				e.order = loggers[r.IntN(len(loggers))]
				ok = s.planLogger(r, &e, rested)
			case x < 1.0/9+1.0/12:
				e.order = waters[r.IntN(len(waters))]
				if e.fault == "irrigation_failure" {
					e.lasts = [2]float64{3, 18}
				}
				ok = s.planZone(r, &e, rested)
			default:
				list := common
				if r.IntN(2) == 0 { // of the rarer ones each fault alike, whatever its forms
					list = rare[r.IntN(len(rare))]
				}
				e.order = list[r.IntN(len(list))]
				ok = s.planProbe(r, &e, rested)
			}
			if ok {
				out = append(out, e)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b event) int { return cmp.Or(a.start.Compare(b.start), cmp.Compare(a.index, b.index)) })
	return out
}

func poisson(r *rand.Rand, mean float64) int {
	n := 0
	for p := r.Float64(); p > math.Exp(-mean); p *= r.Float64() {
		n++
	}
	return n
}

func (s *Season) planProbe(r *rand.Rand, e *event, rested map[[2]int]time.Time) bool {
	then := *s.v // the orders ask what the probe gets in the weeks before the end
	then.Until = e.start.AddDate(0, 0, 17)
	for _, k := range r.Perm(len(s.v.Probes)) {
		p := &s.v.Probes[k]
		key := [2]int{0, k}
		if rested[key].After(e.start) || !then.takes(k, e.order) {
			continue
		}
		e.place = k
		for j := range s.v.Probes {
			if j == k || (e.fault == "wrong_zone" || pairs(e.fault)) && s.v.Probes[j].Position == p.Position {
				rested[[2]int{0, j}] = e.start.AddDate(0, 0, 7*restWeeks)
			}
		}
		return true
	}
	return false
}

func (s *Season) planLogger(r *rand.Rand, e *event, rested map[[2]int]time.Time) bool {
	for _, post := range r.Perm(len(s.v.Posts)) {
		key := [2]int{1, post}
		if rested[key].After(e.start) || s.v.Posts[post].Look != "" {
			continue
		}
		e.post = post
		rested[key] = e.start.AddDate(0, 0, 7*restWeeks)
		return true
	}
	return false
}

// planZone moves the start to a watering that is not to arrive, or to halfway
// between two of them.
func (s *Season) planZone(r *rand.Rand, e *event, rested map[[2]int]time.Time) bool {
	for _, zone := range r.Perm(len(s.v.Zones)) {
		z := &s.v.Zones[zone]
		key := [2]int{2, zone}
		if rested[key].After(e.start) || z.Look != "" {
			continue
		}
		for k := 1; k < len(z.Waterings); k++ {
			before, w := z.Waterings[k-1], z.Waterings[k]
			if w.Start.After(e.start.AddDate(0, 0, 10)) {
				break
			}
			at := w.Start
			if e.fault == "unlogged_water" {
				at = before.End.Add(w.Start.Sub(before.End) / 2).Truncate(columnStep)
				if w.Start.Sub(before.End) < 60*time.Hour {
					continue
				}
			}
			if at.Before(e.start) {
				continue
			}
			e.start, e.zone = at, zone
			rested[key] = at.AddDate(0, 0, 7*restWeeks)
			return true
		}
	}
	return false
}
