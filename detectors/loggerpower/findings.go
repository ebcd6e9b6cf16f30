package loggerpower

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// judge says whether a set of ports fails together, and words it.
func (l *look) judge(set []int) (detect.Finding, bool) {
	p := l.p
	pair := len(set) == 2
	whole := len(set) == len(l.ports)
	if float64(len(set)) < p.Param("set_size") && !whole && !pair {
		return detect.Finding{}, false
	}
	least := max(2, (len(set)+1)/2)
	episodes := l.of(set, least)
	if len(episodes) == 0 {
		return detect.Finding{}, false
	}
	onsets, unshared := l.middle(set, episodes)
	most := p.Param("most_unshared")
	if pair {
		most /= 2
		if float64(len(episodes)) < p.Param("pair_episodes") && !(whole && lasting(episodes)) {
			return detect.Finding{}, false
		}
	}
	if unshared > most || l.byChance(set, shared(set, episodes), onsets) >= p.Param("chance") {
		return detect.Finding{}, false
	}
	if l.visits(episodes) {
		return detect.Finding{}, false
	}
	f := detect.Finding{
		Start: episodes[0].Start, Measured: float64(len(episodes)), Unit: "joint episodes",
		Threshold: l.needed(set, shared(set, episodes), onsets),
	}
	longest := episodes[0]
	for _, e := range episodes {
		f.End = max(f.End, e.End)
		f.Readings += e.readings
		if e.Length() > longest.Length() {
			longest = e
		}
	}
	f.End = min(f.End, l.whole.End)
	f.Open = l.still(episodes)
	f.Parts = parts(episodes, l.whole.End)
	for _, i := range set {
		f.Probes = append(f.Probes, l.ports[i].member.Probe.Index)
	}
	slices.Sort(f.Probes)
	switch {
	case pair && !whole:
		f.Confidence = 0.75
	case pair:
		f.Confidence = 0.8
	case len(episodes) >= 3:
		f.Confidence = 0.95
	default:
		f.Confidence = 0.85
	}
	f.Confidence -= unshared / 4
	f.Evidence = l.words(set, episodes, longest, unshared)
	return f, true
}

// visits says whether a crew may have made all of the episodes: each is short, and
// they are few or far between.
func (l *look) visits(episodes []episode) bool {
	short := l.p.ParamHours("visit_hours")
	for _, e := range episodes {
		if e.lasts >= short || e.open && e.lasts >= l.tolerance {
			return false
		}
	}
	between := intervals(episodes)
	return len(between) < 2 || float64(between[len(between)/2]) >= l.p.Param("visit_days")*float64(detect.Day)
}

// intervals from one episode's start to the next, sorted.
func intervals(episodes []episode) []int64 {
	var out []int64
	for i := 1; i < len(episodes); i++ {
		out = append(out, episodes[i].Start-episodes[i-1].Start)
	}
	slices.Sort(out)
	return out
}

// lasting says whether ports went out together and stayed out.
func lasting(episodes []episode) bool { return episodes[len(episodes)-1].open }

// middle counts at the set's median port by unshared share: its excursions, and the
// share of them that is in no joint episode.
func (l *look) middle(set []int, episodes []episode) (onsets int, unshared float64) {
	type count struct{ joint, onsets int }
	var counts []count
	for _, i := range set {
		c := count{onsets: len(l.ports[i].excursions)}
		for _, e := range episodes {
			if slices.Contains(e.ports, i) {
				c.joint++
			}
		}
		counts = append(counts, c)
	}
	alone := func(c count) float64 { return 1 - float64(c.joint)/float64(max(1, c.onsets)) }
	slices.SortStableFunc(counts, func(a, b count) int {
		switch x, y := alone(a), alone(b); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return b.onsets - a.onsets
	})
	c := counts[len(counts)/2]
	return c.onsets, math.Max(0, alone(c))
}

// needed is the number of joint episodes, shared by as many ports as the most are,
// from which chance is no explanation.
func (l *look) needed(set []int, joint []int, onsets int) float64 {
	for k := 1; k < onsets; k++ {
		fewer := make([]int, len(joint))
		for q := range joint {
			fewer[q] = min(k, joint[q])
		}
		if l.byChance(set, fewer, onsets) < l.p.Param("chance") {
			return float64(k)
		}
	}
	return float64(max(1, onsets))
}

// still says whether the fault stands at the end of the window: it is out, or has
// kept away no longer than it does between episodes.
func (l *look) still(episodes []episode) bool {
	last := episodes[len(episodes)-1]
	away := l.whole.End - last.End
	if last.open || away <= l.p.ParamHours("still_hours") {
		return true
	}
	between := intervals(episodes)
	if len(between) < 2 {
		return false
	}
	return float64(away) <= l.p.Param("still_intervals")*float64(between[len(between)/2])
}

// parts are the episodes: between them the ports read the soil.
func parts(episodes []episode, end int64) []detect.Part {
	var out []detect.Part
	for _, e := range episodes {
		s := detect.Span{Start: e.Start, End: min(e.End, end)}
		if n := len(out); n > 0 && s.Start <= out[n-1].End {
			out[n-1].End = max(out[n-1].End, s.End)
			continue
		}
		out = append(out, detect.Part{Span: s, Flag: schemas.FlagFail})
	}
	return out
}

func (l *look) words(set []int, episodes []episode, longest episode, unshared float64) string {
	var names []string
	for _, i := range set {
		m := l.ports[i].member
		names = append(names, fmt.Sprintf("%s (to %.3g %s)", m.Probe.Name, l.dead(i, episodes), m.Probe.Quantity.Unit()))
	}
	times := fmt.Sprintf("%d times", len(episodes))
	if len(episodes) == 1 {
		times = "once"
	}
	text := fmt.Sprintf("%s, %d of %d ports, fail together %s, first %s, longest %s to %s", strings.Join(names, ", "), len(set), len(l.ports), times,
		detect.Stamp(episodes[0].Start), detect.Stamp(longest.Start), detect.Stamp(longest.End))
	if longest.open {
		text += " and still so"
	}
	text += fmt.Sprintf("; %.0f %% of their excursions are not shared", 100*unshared)
	return text + l.hour(episodes) + l.battery(episodes)
}

// dead is the value that a port falls to: of its longest excursion in the episodes.
func (l *look) dead(port int, episodes []episode) float64 {
	best := detect.Excursion{}
	for _, x := range l.ports[port].excursions {
		for _, e := range episodes {
			if e.Overlap(x.Span).Length() > 0 && x.Length() > best.Length() {
				best = x
			}
		}
	}
	return best.Value
}

// hour tells at what time of the day the episodes begin, where they have one.
func (l *look) hour(episodes []episode) string {
	if len(episodes) < 5 {
		return ""
	}
	var c, s float64
	for _, e := range episodes {
		a := 2 * math.Pi * float64(((e.Start%detect.Day)+detect.Day)%detect.Day) / float64(detect.Day)
		c += math.Cos(a)
		s += math.Sin(a)
	}
	n := float64(len(episodes))
	// Rayleigh: directions without a preference give n R² above 3 in 1 of 20.
	if r := math.Hypot(c, s) / n; n*float64(r*r) < 3 {
		return ""
	}
	minutes := int(math.Round(math.Atan2(s, c) / (2 * math.Pi) * 24 * 60))
	minutes = (minutes + 24*60) % (24 * 60)
	return fmt.Sprintf("; they begin mostly about %02d:%02d UTC", minutes/60, minutes%60)
}

// battery tells the lowest level on the days of the episodes, against the others.
func (l *look) battery(episodes []episode) string {
	if !l.p.HasBattery() {
		return ""
	}
	var out, in []float64
	for i := range l.ports {
		for _, v := range l.ports[i].member.Battery {
			on := slices.ContainsFunc(episodes, func(e episode) bool {
				return v.Time >= e.Start-detect.Day/2 && v.Time < e.End+detect.Day/2
			})
			if on {
				out = append(out, v.Volts)
			} else {
				in = append(in, v.Volts)
			}
		}
	}
	if len(out) == 0 {
		return ""
	}
	text := fmt.Sprintf("; battery down to %.2f V around the episodes", slices.Min(out))
	if len(in) > 0 {
		slices.Sort(in)
		text += fmt.Sprintf(", daily low of %.2f V on other days", in[len(in)/2])
	}
	return text
}
