package drill

import (
	"cmp"
	"hash/fnv"
	"math/rand/v2"
	"slices"

	"probeward/detectors/detect"
)

// Trial is one fault in one place.
type Trial struct {
	Form        *Form
	Depth, Kind string // the class
	Name        string // of the probe, post, logger or zone
	Places      []int  // of the probes that it touches
	Strength    int    // 0 mild, 1 middle, 2 gross
	AgeDays     float64
	zones       []string
	loggers     []string
	alone       bool // shares a variant with no other
}

// Ages are drawn so that a new fault has begun between half a day and a week before the
// window's end (shortly after the window's start, if that is later), and an older one
// up to four weeks before (or half of the look-back and window, if that is less). Days.
const (
	youngest = 0.5
	week     = 7.0
	oldest   = 28.0
)

// newest is how old a new fault may be, in days.
func (d *drill) newest() float64 {
	return min(week, detect.Days(d.in.Examine.Period.Window.Length()))
}

// source gives the random numbers of one thing: the same whatever else is drilled.
func source(seed uint64, words ...string) *rand.Rand {
	h := fnv.New64a()
	for _, w := range words {
		h.Write([]byte(w))
		h.Write([]byte{0})
	}
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// place is somewhere to put a fault into.
type place struct {
	depth, kind, name string
	places            []int
}

// plan draws the trials.
func (d *drill) plan() {
	d.barred = map[string]string{}
	sites := [4][]place{oneProbe: d.probes(), onePost: d.posts(), oneLogger: d.loggers(), oneZone: d.zones()}
	for _, f := range d.forms {
		classes := map[[2]string][]place{}
		var keys [][2]string
		for _, p := range sites[f.Target] {
			k := [2]string{p.kind, p.depth}
			if classes[k] == nil {
				keys = append(keys, k)
			}
			classes[k] = append(classes[k], p)
		}
		slices.SortFunc(keys, func(a, b [2]string) int {
			return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(depthOrder(a[1]), depthOrder(b[1])))
		})
		for _, k := range keys {
			d.draw(f, classes[k], source(d.o.Seed, f.key(), k[0], k[1]))
		}
		if len(keys) == 0 {
			d.barred[f.Name] = "the farm has no " + f.Target.String() + " with enough fit probes"
		}
	}
}

func depthOrder(class string) int {
	return slices.Index([]string{"shallow", "middle", "deep", "no depth", "all"}, class)
}

// draw takes the places of a class in a drawn order, each with the next strength. Where
// there are fewer than trials, places come again with the strengths they have not had.
func (d *drill) draw(f *Form, from []place, r *rand.Rand) {
	from = slices.Clone(from)
	r.Shuffle(len(from), func(i, j int) { from[i], from[j] = from[j], from[i] })
	period := d.in.Examine.Period
	newest := d.newest()
	times := len(strengths)
	if f.Even {
		times = 1
	}
	for k := range min(d.o.Probes, times*len(from)) {
		p := from[k%len(from)]
		t := &Trial{Form: f, Depth: p.depth, Kind: p.kind, Name: p.name, Places: p.places, Strength: (k%len(from) + k/len(from)) % times, alone: f.Fault == "wrong_zone"}
		t.AgeDays = youngest + (0.95*newest-youngest)*r.Float64()
		if f.Slow && k/3%2 == 1 {
			most := min(oldest, detect.Days(period.Window.End-period.Lookback)/2)
			t.AgeDays = min(newest, most) + max(0, most-newest)*r.Float64()
		}
		for _, i := range t.Places {
			probe := &d.in.Examine.Probes[i]
			t.zones = append(t.zones, probe.Zone)
			for _, w := range probe.Wirings {
				t.loggers = append(t.loggers, w.Logger)
			}
		}
		d.trials = append(d.trials, t)
	}
}

func (d *drill) probes() (out []place) {
	for _, i := range d.fit {
		p := &d.in.Examine.Probes[i]
		out = append(out, place{depthClass(p), kindClass(p), p.Name, []int{i}})
	}
	return out
}

// posts, loggers and zones are drilled where enough of their probes are fit, and then
// touched as a whole.
func (d *drill) posts() []place {
	return d.sets(onePost, 2, func(p *detect.Probe) string { return p.Post })
}

func (d *drill) loggers() []place {
	end := d.in.Examine.Period.Window.End - 1
	return d.sets(oneLogger, 2, func(p *detect.Probe) string {
		for _, w := range p.Wirings {
			if w.Holds(end) {
				return w.Logger
			}
		}
		return ""
	})
}

func (d *drill) zones() []place {
	return d.sets(oneZone, 3, func(p *detect.Probe) string { return p.Zone })
}

func (d *drill) sets(t target, fit int, name func(*detect.Probe) string) (out []place) {
	members, sound := map[string][]int{}, map[string]int{}
	var names []string
	for i := range d.in.Examine.Probes {
		n := name(&d.in.Examine.Probes[i])
		if n == "" {
			continue
		}
		if members[n] == nil {
			names = append(names, n)
		}
		members[n] = append(members[n], i)
		if _, ok := slices.BinarySearch(d.fit, i); ok {
			sound[n]++
		}
	}
	slices.Sort(names)
	for _, n := range names {
		if sound[n] >= fit {
			out = append(out, place{"all", t.String(), n, members[n]})
		}
	}
	return out
}

// pack puts trials into variants, in the order in which they come. No two share a
// logger, or a zone at one class of depth, so that siblings stay healthy; with whole,
// no two share a zone at all.
func pack(trials []*Trial, whole bool) [][]int {
	type load struct {
		trials         []int
		zones, loggers map[string]bool
		full           bool
	}
	depths := func(t *Trial) []string {
		if whole || t.Form.Target != oneProbe {
			return []string{"shallow", "middle", "deep", "no depth"}
		}
		return []string{t.Depth}
	}
	var loads []*load
	for i, t := range trials {
		fits := func(l *load) bool {
			taken := l.full || t.alone
			for _, z := range t.zones {
				for _, depth := range depths(t) {
					taken = taken || l.zones[z+"\x00"+depth]
				}
			}
			for _, g := range t.loggers {
				taken = taken || l.loggers[g]
			}
			return !taken
		}
		at := slices.IndexFunc(loads, fits)
		if at < 0 {
			at = len(loads)
			loads = append(loads, &load{zones: map[string]bool{}, loggers: map[string]bool{}})
		}
		l := loads[at]
		l.trials, l.full = append(l.trials, i), t.alone
		for _, z := range t.zones {
			for _, depth := range depths(t) {
				l.zones[z+"\x00"+depth] = true
			}
		}
		for _, g := range t.loggers {
			l.loggers[g] = true
		}
	}
	out := make([][]int, len(loads))
	for i, l := range loads {
		out[i] = l.trials
	}
	return out
}
