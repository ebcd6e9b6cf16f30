package shift

import (
	"cmp"
	"math"
	"slices"
)

// Rounds is how many better plans the tearing up may find before it ends.
const Rounds = 40

// gain is what counts as less time, in minutes: below it, rounding would never end.
const gain = 1e-7

// mostSeeds is from how many single stops, the most valuable, a plan is grown.
const mostSeeds = 24

// weights of value against added minutes in the insertion: the greedy for minutes,
// the even, and the greedy for value.
var weights = []float64{0.5, 1, 2}

// planner holds what all plans are weighed against. Nodes are the usable stops in
// the order given; node n is the start.
type planner struct {
	stop    []int // place of a node among the stops given
	value   []float64
	minutes []float64 // of work
	way     [][]float64
	crews   int
	length  float64
	worth   []float64 // value to the insertion's weight
}

// plan is each crew's way as nodes, start and end left out.
type plan struct {
	ways [][]int
	time []float64 // of each way, work and drive
	in   []bool
	// barred nodes may not be inserted.
	barred []bool
	value  float64
}

func newPlanner(stops []Stop, crews int, length float64, start Point, opts Options) *planner {
	p := &planner{crews: crews, length: length}
	var at []Point
	if onEarth(start) {
		for i, s := range stops {
			if usable(s) {
				p.stop = append(p.stop, i)
				p.value = append(p.value, s.Value)
				p.minutes = append(p.minutes, s.Minutes)
				at = append(at, s.At)
			}
		}
	}
	n := len(at)
	at = append(at, start)
	p.way = make([][]float64, n+1)
	for i := range p.way {
		p.way[i] = make([]float64, n+1)
		for j := range p.way[i] {
			if i != j {
				p.way[i][j] = opts.drive(at[i], at[j], j != n)
			}
		}
	}
	return p
}

func (p *planner) start() int { return len(p.stop) }

// timeOf is the time of a way, work and drive, in minutes.
func (p *planner) timeOf(way []int) float64 {
	if len(way) == 0 {
		return 0
	}
	t, from := 0.0, p.start()
	for _, n := range way {
		t += p.way[from][n] + p.minutes[n]
		from = n
	}
	return t + p.way[from][p.start()]
}

// at is the node at a place of a way; before its first and after its last stands
// the start.
func (p *planner) at(way []int, k int) int {
	if k < 0 || k >= len(way) {
		return p.start()
	}
	return way[k]
}

// added is the time that a node adds when it is put before place k.
func (p *planner) added(way []int, k, node int) float64 {
	a, b := p.at(way, k-1), p.at(way, k)
	return p.way[a][node] + p.minutes[node] + p.way[node][b] - p.way[a][b]
}

func (p *planner) empty() *plan {
	return &plan{ways: make([][]int, p.crews), time: make([]float64, p.crews), in: make([]bool, len(p.stop)), barred: make([]bool, len(p.stop))}
}

func (a *plan) copy() *plan {
	b := &plan{ways: make([][]int, len(a.ways)), time: slices.Clone(a.time), in: slices.Clone(a.in), barred: slices.Clone(a.barred), value: a.value}
	for i, w := range a.ways {
		b.ways[i] = slices.Clone(w)
	}
	return b
}

func (a *plan) total() float64 {
	t := 0.0
	for _, x := range a.time {
		t += x
	}
	return t
}

// better says whether a is worth more than b, or as much in less time.
func better(a, b *plan) bool {
	const same = 1e-12
	if d := a.value - b.value; d > same*(a.value+b.value) {
		return true
	} else if d < -same*(a.value+b.value) {
		return false
	}
	return a.total() < b.total()-gain
}

// set puts a way in place of a crew's and counts anew.
func (p *planner) set(a *plan, crew int, way []int) {
	for _, n := range a.ways[crew] {
		a.in[n] = false
	}
	a.ways[crew] = way
	a.time[crew] = p.timeOf(way)
	for _, n := range way {
		a.in[n] = true
	}
	a.value = 0
	for n, in := range a.in {
		if in {
			a.value += p.value[n]
		}
	}
}

// solve builds and betters; see the package comment.
func (p *planner) solve() *plan {
	best := p.empty()
	for _, w := range weights {
		p.weigh(w)
		for _, seed := range p.seeds() {
			if a := p.grown(seed); a != nil && better(a, best) {
				best = a
			}
		}
	}
	p.weigh(1)
	for range Rounds {
		next := p.tearUp(best)
		if next == nil {
			break
		}
		best = next
	}
	for i, w := range best.ways {
		p.set(best, i, p.early(w))
	}
	return best
}

// seeds are what the insertion may begin with: nothing, each of the most valuable
// stops, and of a few stops every two, since the best plan may go where no single
// step leads.
func (p *planner) seeds() [][]int {
	nodes := make([]int, len(p.stop))
	for i := range nodes {
		nodes[i] = i
	}
	slices.SortStableFunc(nodes, func(a, b int) int { return cmp.Compare(p.value[b], p.value[a]) })
	out := [][]int{nil}
	for i, n := range nodes[:min(len(nodes), mostSeeds)] {
		out = append(out, []int{n})
		if len(nodes) <= smallPlan {
			for _, m := range nodes[i+1:] {
				out = append(out, []int{n, m})
			}
		}
	}
	return out
}

// grown is the plan that grows from a seed in the first crew's way; nil when that
// alone is longer than the shift.
func (p *planner) grown(seed []int) *plan {
	a := p.empty()
	p.set(a, 0, seed)
	if a.time[0] > p.length {
		return nil
	}
	p.improve(a)
	return a
}

// weigh sets what an insertion takes for value.
func (p *planner) weigh(weight float64) {
	p.worth = p.worth[:0]
	for _, v := range p.value {
		p.worth = append(p.worth, math.Pow(v, weight))
	}
}

// improve fills, shortens and swaps until nothing helps.
func (p *planner) improve(a *plan) {
	p.fill(a)
	for p.shorten(a) || p.swap(a) {
		p.fill(a)
	}
}

// early turns a way round when the value then comes sooner.
func (p *planner) early(way []int) []int {
	turned := slices.Clone(way)
	slices.Reverse(turned)
	if p.timeOf(turned) <= min(p.length, p.timeOf(way)+gain) && p.wait(turned) < p.wait(way)-gain {
		return turned
	}
	return way
}

// wait is value times the minute at which it is reached.
func (p *planner) wait(way []int) float64 {
	t, w, from := 0.0, 0.0, p.start()
	for _, n := range way {
		t += p.way[from][n] + p.minutes[n]
		w += t * p.value[n]
		from = n
	}
	return w
}

// crew writes a way with its minutes.
func (p *planner) crew(stops []Stop, way []int) Crew {
	var c Crew
	t, from := 0.0, p.start()
	for _, n := range way {
		call := Call{Stop: p.stop[n], Name: stops[p.stop[n]].Name, Drive: p.way[from][n]}
		call.Arrive = t + call.Drive
		call.Leave = call.Arrive + p.minutes[n]
		t, from = call.Leave, n
		c.Calls = append(c.Calls, call)
		c.Value += p.value[n]
	}
	c.Home = p.way[from][p.start()]
	c.Back = t + c.Home
	return c
}
