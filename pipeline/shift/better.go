package shift

import (
	"math"
	"slices"
)

// fill inserts, as long as something fits, the stop of the greatest value for what it
// adds. Equal ones go to the earlier stop, crew and place.
func (p *planner) fill(a *plan) {
	for {
		best, crew, place, node := -1.0, -1, -1, -1
		for n := range p.stop {
			if a.in[n] || a.barred[n] {
				continue
			}
			worth := p.worth[n]
			for c, w := range a.ways {
				for k := 0; k <= len(w); k++ {
					more := p.added(w, k, n)
					if a.time[c]+more > p.length {
						continue
					}
					if score := worth / max(more, gain); score > best {
						best, crew, place, node = score, c, k, n
					}
				}
				if len(w) == 0 {
					break // another crew at the start is no different
				}
			}
		}
		if crew < 0 {
			return
		}
		p.set(a, crew, slices.Insert(slices.Clone(a.ways[crew]), place, node))
	}
}

// shorten takes the first change that saves time and says whether there was one.
func (p *planner) shorten(a *plan) bool {
	for c, w := range a.ways {
		for i := range w {
			for j := i + 1; j < len(w); j++ {
				// Within a stretch the way is as long in both directions.
				before, after := p.at(w, i-1), p.at(w, j+1)
				if p.way[before][w[j]]+p.way[w[i]][after] < p.way[before][w[i]]+p.way[w[j]][after]-gain {
					turned := slices.Clone(w)
					slices.Reverse(turned[i : j+1])
					p.set(a, c, turned)
					return true
				}
			}
		}
		for long := 1; long <= 3; long++ {
			for i := 0; i+long <= len(w); i++ {
				if p.move(a, c, i, long) {
					return true
				}
			}
		}
	}
	return p.exchange(a)
}

// move puts a stretch elsewhere, in its crew's way or another's, either way round.
func (p *planner) move(a *plan, c, i, long int) bool {
	from := a.ways[c]
	stretch := slices.Clone(from[i : i+long])
	rest := slices.Concat(from[:i], from[i+long:])
	restTime := p.timeOf(rest)
	saved := a.time[c] - restTime
	inside := p.minutes[stretch[0]]
	for k, n := range stretch[1:] {
		inside += p.way[stretch[k]][n] + p.minutes[n]
	}
	for range 2 {
		first, last := stretch[0], stretch[long-1]
		for d := range a.ways {
			into, had := a.ways[d], a.time[d]
			if d == c {
				into, had = rest, restTime
			}
			for k := 0; k <= len(into); k++ {
				before, after := p.at(into, k-1), p.at(into, k)
				more := p.way[before][first] + inside + p.way[last][after] - p.way[before][after]
				if more >= saved-gain || had+more > p.length {
					continue
				}
				if d != c {
					p.set(a, c, rest)
				}
				p.set(a, d, slices.Insert(slices.Clone(into), k, stretch...))
				return true
			}
		}
		slices.Reverse(stretch)
	}
	return false
}

// exchange gives two crews each a stop of the other, at the other's place in its way.
func (p *planner) exchange(a *plan) bool {
	for c := range a.ways {
		for d := c + 1; d < len(a.ways); d++ {
			for i := range a.ways[c] {
				for j := range a.ways[d] {
					x, y := p.replaced(a.ways[c], i, a.ways[d][j]), p.replaced(a.ways[d], j, a.ways[c][i])
					if x+y >= -gain || a.time[c]+x > p.length || a.time[d]+y > p.length {
						continue
					}
					one, other := slices.Clone(a.ways[c]), slices.Clone(a.ways[d])
					one[i], other[j] = other[j], one[i]
					p.set(a, c, nil)
					p.set(a, d, other)
					p.set(a, c, one)
					return true
				}
			}
		}
	}
	return false
}

// replaced is the time that a way takes more when another node stands at its place i.
func (p *planner) replaced(way []int, i, node int) float64 {
	before, after, was := p.at(way, i-1), p.at(way, i+1), way[i]
	return p.way[before][node] + p.minutes[node] + p.way[node][after] - p.way[before][was] - p.minutes[was] - p.way[was][after]
}

// swap lets one stop give way to a better one from outside, at its best place in the
// same way.
func (p *planner) swap(a *plan) bool {
	for c, w := range a.ways {
		for i, out := range w {
			rest := slices.Concat(w[:i], w[i+1:])
			restTime := p.timeOf(rest)
			for n := range p.stop {
				if a.in[n] || a.barred[n] || p.value[n] < p.value[out] {
					continue
				}
				best, place := math.Inf(1), 0
				for k := 0; k <= len(rest); k++ {
					if more := p.added(rest, k, n); more < best {
						best, place = more, k
					}
				}
				t := restTime + best
				if t <= p.length && (p.value[n] > p.value[out] || t < a.time[c]-gain) {
					p.set(a, c, slices.Insert(rest, place, n))
					return true
				}
			}
		}
	}
	return false
}

// smallPlan is up to how many stops every two of a plan are torn out, and not only
// neighbours.
const smallPlan = 12

// tearUp looks for a better plan near a: the first that it finds, or nil.
func (p *planner) tearUp(a *plan) *plan {
	for c, w := range a.ways {
		for long := 1; long <= 3; long++ {
			for i := 0; i+long <= len(w); i++ {
				if b := p.torn(a, w[i:i+long]); better(b, a) {
					return b
				}
			}
		}
		for d := c; d < len(a.ways); d++ {
			if len(w)+len(a.ways[d]) > smallPlan {
				continue
			}
			for _, n := range w {
				for _, m := range a.ways[d] {
					if n == m {
						continue
					}
					if b := p.torn(a, []int{n, m}); better(b, a) {
						return b
					}
				}
			}
		}
	}
	return nil
}

// torn is a plan without the nodes, filled with others first and then bettered.
func (p *planner) torn(a *plan, nodes []int) *plan {
	b := a.copy()
	for c, w := range b.ways {
		rest := slices.DeleteFunc(slices.Clone(w), func(n int) bool { return slices.Contains(nodes, n) })
		if len(rest) < len(w) {
			p.set(b, c, rest)
		}
	}
	for _, n := range nodes {
		b.barred[n] = true
	}
	p.improve(b)
	clear(b.barred)
	p.improve(b)
	return b
}
