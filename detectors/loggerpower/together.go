package loggerpower

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// look is one look at one logger.
type look struct {
	p         *detect.GroupPass
	ports     []port
	whole     detect.Span
	step      int64 // of the fastest port
	slowest   int64
	tolerance int64
	records   int // that the logger wrote
	episodes  []episode
}

// episode is a stretch in which several ports were out together.
type episode struct {
	detect.Span
	ports    []int // places in look.ports, sorted
	readings int
	lasts    int64 // of its longest excursion, by readings
	open     bool
}

// meet gathers excursions that begin together, and of those the ones that also end
// together.
func (l *look) meet() {
	type onset struct {
		port int
		detect.Excursion
	}
	var all []onset
	for i, p := range l.ports {
		for _, e := range p.excursions {
			all = append(all, onset{i, e})
		}
	}
	slices.SortFunc(all, func(a, b onset) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.port, b.port))
	})
	for i := 0; i < len(all); {
		j := i + 1
		for j < len(all) && all[j].Start-all[i].Start <= l.tolerance {
			j++
		}
		rest := slices.Clone(all[i:j])
		i = j
		for len(rest) > 1 {
			// The end that most of them share; the earliest of equals.
			best, most := 0, 0
			for k := range rest {
				n := 0
				for _, o := range rest {
					if l.sameEnd(rest[k].Excursion, o.Excursion) {
						n++
					}
				}
				if n > most {
					best, most = k, n
				}
			}
			if most < 2 {
				break
			}
			e := episode{Span: rest[best].Span}
			var others []onset
			like := rest[best].Excursion
			for _, o := range rest {
				if !l.sameEnd(like, o.Excursion) {
					others = append(others, o)
					continue
				}
				e.Start, e.End = min(e.Start, o.Start), max(e.End, o.End)
				e.readings += o.Readings
				e.lasts = max(e.lasts, int64(o.Readings)*l.ports[o.port].member.Cadence)
				e.open = e.open || o.Open
				e.ports = append(e.ports, o.port)
			}
			slices.Sort(e.ports)
			e.ports = slices.Compact(e.ports)
			if len(e.ports) > 1 {
				l.episodes = append(l.episodes, e)
			}
			rest = others
		}
	}
}

func (l *look) sameEnd(a, b detect.Excursion) bool {
	return a.Open && b.Open || a.End-b.End <= l.tolerance && b.End-a.End <= l.tolerance
}

// sets groups the ports that share most of their excursions.
func (l *look) sets() [][]int {
	n := len(l.ports)
	shared := make([][]int, n)
	for i := range shared {
		shared[i] = make([]int, n)
	}
	for _, e := range l.episodes {
		for _, i := range e.ports {
			for _, j := range e.ports {
				shared[i][j]++
			}
		}
	}
	share := l.p.Param("link_share")
	set := make([]int, n)
	for i := range set {
		set[i] = -1
	}
	var out [][]int
	for i := range n {
		if set[i] >= 0 {
			continue
		}
		group := []int{i}
		set[i] = i
		for k := 0; k < len(group); k++ {
			a := group[k]
			for b := range n {
				rarer := min(len(l.ports[a].excursions), len(l.ports[b].excursions))
				if set[b] < 0 && shared[a][b] > 0 && float64(shared[a][b]) >= share*float64(rarer) {
					set[b] = i
					group = append(group, b)
				}
			}
		}
		if len(group) > 1 {
			slices.Sort(group)
			out = append(out, group)
		}
	}
	return out
}

// of keeps the episodes in which at least so many ports of a set take part.
func (l *look) of(set []int, least int) []episode {
	var out []episode
	for _, e := range l.episodes {
		n := 0
		for _, i := range e.ports {
			if slices.Contains(set, i) {
				n++
			}
		}
		if n >= least {
			out = append(out, e)
		}
	}
	return out
}

// byChance is how often ports that fail on their own would give episodes that so
// many of a set share so often, counted at the set's middle port: each of its onsets
// meets those of others with the chance that theirs cover the records, and any set
// of so many ports would have been found as well. How many ports an episode needs is
// tried from two to all of the set, and each trial costs.
func (l *look) byChance(set []int, joint []int, onsets int) float64 {
	cover := 0.0
	width := 2*float64(l.tolerance)/float64(l.step) + 1
	for _, i := range set {
		cover += math.Min(1, float64(len(l.ports[i].excursions))*width/math.Max(1, float64(l.records)))
	}
	cover /= float64(len(set))
	best := 1.0
	for q := 2; q <= len(set); q++ {
		if k := joint[q]; k > 0 {
			meets := robust.BinomialTail(q-1, len(set)-1, cover)
			best = min(best, robust.BinomialTail(k, max(k, onsets), meets))
		}
	}
	return min(1, ways(len(l.ports), len(set))*float64(len(set)-1)*best)
}

// shared counts the episodes that at least q ports of a set share, by q.
func shared(set []int, episodes []episode) []int {
	joint := make([]int, len(set)+1)
	for _, e := range episodes {
		n := 0
		for _, i := range e.ports {
			if slices.Contains(set, i) {
				n++
			}
		}
		for q := 0; q <= n; q++ {
			joint[q]++
		}
	}
	return joint
}

// ways is the number of sets of k ports among n.
func ways(n, k int) float64 {
	w := 1.0
	for i := range k {
		w *= float64(n-i) / float64(i+1)
	}
	return w
}
