package duplicateseries

import (
	"cmp"
	"slices"

	"probeward/detectors/detect"
)

// sighting is a fingerprint that two members share, and how much later the second
// of them had it.
type sighting struct{ time, lag int64 }

// lateCopies lists the pairs that share fingerprints at one lag: copies that come
// later, and copies of which records were lost. A fingerprint that more members have
// than could be copies of each other is a habit of the scale and no print.
func lateCopies(p *detect.GroupPass) []match {
	members := p.Members()
	const crowd = 8
	longest := p.ParamHours("lag_hours")
	type seen struct {
		member int
		time   int64
	}
	by := map[uint64][]seen{}
	for i := range members {
		for _, f := range members[i].Prints {
			by[f.Hash] = append(by[f.Hash], seen{i, f.Time})
		}
	}
	shared := map[pair][]sighting{}
	for _, who := range by {
		if len(who) > crowd {
			continue
		}
		for i, a := range who {
			for _, b := range who[i+1:] {
				if lag := b.time - a.time; a.member != b.member && lag <= longest && lag >= -longest {
					q := pair{a.member, b.member}
					shared[q] = append(shared[q], sighting{a.time, lag})
				}
			}
		}
	}
	var out []match
	for q, all := range shared {
		if m, ok := atOneLag(p, members, q, all); ok {
			out = append(out, m)
		}
	}
	return out
}

// atOneLag finds the lag at which most of the shared fingerprints stand, and asks
// whether they are most of what either had in that time.
func atOneLag(p *detect.GroupPass, members []detect.Summary, q pair, all []sighting) (match, bool) {
	slices.SortFunc(all, func(x, y sighting) int { return cmp.Or(cmp.Compare(x.lag, y.lag), cmp.Compare(x.time, y.time)) })
	width := max(1, members[q.a].Cadence, members[q.b].Cadence)
	from, to := 0, 0
	for i, j := 0, 0; i < len(all); i++ {
		for j < len(all) && all[j].lag-all[i].lag < width {
			j++
		}
		if j-i > to-from {
			from, to = i, j
		}
	}
	n := to - from
	if n < int(p.Param("prints")) {
		return match{}, false
	}
	lag := all[from+n/2].lag
	first, last := all[from].time, all[from].time
	for _, s := range all[from:to] {
		first, last = min(first, s.time), max(last, s.time)
	}
	least := min(within(members[q.a].Prints, first, last), within(members[q.b].Prints, first+lag, last+lag))
	if float64(n) < p.Param("print_share")*float64(least) {
		return match{}, false
	}
	m := match{pair: q, changes: 8 * n, first: first, last: last, lag: lag, how: late}
	if lag > -width/2 && lag < width/2 {
		m.lag = 0
	}
	m.days = int((last-first)/detect.Day) + 1
	return m, true
}

// within counts the fingerprints from an instant to another.
func within(prints []detect.Print, first, last int64) int {
	n := 0
	for _, f := range prints {
		if f.Time >= first && f.Time <= last {
			n++
		}
	}
	return n
}
