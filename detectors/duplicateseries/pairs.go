package duplicateseries

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"probeward/detectors/detect"
)

// key of a day's readings: two probes with the same one said the same.
type key struct {
	start  int64
	digest uint64
}

// pair of members, by place, the lower first.
type pair struct{ a, b int }

// how a series came to be that of another probe.
type how uint8

const (
	exact   how = iota
	late        // by its fingerprints: later, or with records lost
	rounded     // at a coarser resolution
)

// match is what two members have in common.
type match struct {
	pair
	how         how
	days        int
	changes     int
	distinct    int // the most of a day
	first, last int64
	lag         int64   // of the second behind the first
	step        float64 // to which the coarser of them is rounded, in the standard unit
}

// copies lists the pairs of members that are one series, each once: by the plainest way
// to see it, or by the one that holds for far longer.
func copies(p *detect.GroupPass) []match {
	var out []match
	for _, m := range slices.Concat(exactCopies(p), lateCopies(p), roundedCopies(p)) {
		switch k := slices.IndexFunc(out, func(o match) bool { return o.pair == m.pair }); {
		case k < 0:
			out = append(out, m)
		case m.how == rounded && m.days >= 2*out[k].days:
			out[k] = m // on calm days nothing is left to round
		}
	}
	slices.SortFunc(out, func(x, y match) int { return cmp.Or(x.a-y.a, x.b-y.b) })
	return out
}

// exactCopies lists the pairs that said the same at the same stamps, day after day.
func exactCopies(p *detect.GroupPass) []match {
	members := p.Members()
	least := int(p.Param("day_changes"))
	same := map[key][]int{}
	for i := range members {
		for _, d := range members[i].Daily {
			if d.Changes >= least {
				k := key{d.Start, d.Digest}
				same[k] = append(same[k], i)
			}
		}
	}
	found := map[pair]bool{}
	for _, who := range same {
		for i, a := range who {
			for _, b := range who[i+1:] {
				found[pair{a, b}] = true
			}
		}
	}
	var out []match
	for q := range found {
		if m, ok := compare(p, members, q); ok {
			out = append(out, m)
		}
	}
	return out
}

// compare counts the equal days of a pair, and those that could have been.
func compare(p *detect.GroupPass, members []detect.Summary, q pair) (match, bool) {
	least := int(p.Param("day_changes"))
	m := match{pair: q}
	a, b := members[q.a].Daily, members[q.b].Daily
	comparable, since := 0, 0 // since the last equal day
	for i, j := 0, 0; i < len(a) && j < len(b); {
		switch {
		case a[i].Start < b[j].Start:
			i++
			continue
		case a[i].Start > b[j].Start:
			j++
			continue
		}
		x, y := a[i], b[j]
		i, j = i+1, j+1
		if x.Values != y.Values || x.Changes < least || y.Changes < least {
			continue
		}
		if x.Digest != y.Digest {
			if m.days > 0 {
				since++
			}
			continue
		}
		if m.days == 0 {
			m.first = x.Start
		}
		m.last = x.Start
		m.days++
		m.changes += x.Changes
		m.distinct = max(m.distinct, x.Distinct)
		comparable, since = comparable+since+1, 0
	}
	ok := m.days >= int(p.Param("equal_days")) && m.changes >= int(p.Param("changes")) &&
		m.distinct >= int(p.Param("distinct")) && float64(m.days) >= p.Param("equal_share")*float64(comparable)
	return m, ok
}

// findings joins pairs that share a probe, and words them.
func findings(p *detect.GroupPass, all []match) []detect.Finding {
	members := p.Members()
	cluster := map[int]int{} // by member: the lowest member of its cluster
	root := func(i int) int {
		for {
			r, ok := cluster[i]
			if !ok || r == i {
				return i
			}
			i = r
		}
	}
	for _, m := range all {
		a, b := root(m.a), root(m.b)
		cluster[max(a, b)] = min(a, b)
	}
	var out []detect.Finding
	for _, m := range all { // sorted: the first of a cluster has its lowest member
		if root(m.a) != m.a || slices.ContainsFunc(out, func(f detect.Finding) bool { return slices.Contains(f.Probes, members[m.a].Probe.Index) }) {
			continue
		}
		var of []match
		for _, o := range all {
			if root(o.a) == m.a {
				of = append(of, o)
			}
		}
		out = append(out, finding(p, members, of))
	}
	return out
}

func finding(p *detect.GroupPass, members []detect.Summary, of []match) detect.Finding {
	period := p.Period()
	best := of[0]
	first, last := best.first, best.last
	var who []int
	for _, m := range of {
		first, last = min(first, m.first), max(last, m.last)
		if m.changes > best.changes {
			best = m
		}
		who = append(who, m.a, m.b)
	}
	slices.Sort(who)
	who = slices.Compact(who)
	f := detect.Finding{
		Start: max(first, period.Lookback), End: min(last+detect.Day, period.Window.End),
		Confidence: 0.97, Measured: float64(best.changes), Threshold: p.Param("changes"), Unit: "equal changes of value",
	}
	f.Open = true // unless the last of them went on and was no longer equal
	for _, i := range who {
		m := &members[i]
		f.Probes = append(f.Probes, m.Probe.Index)
		for _, d := range m.Daily {
			if d.Start >= first && d.Start <= last {
				f.Readings += d.Values
			}
			if d.Start > last+detect.Day && float64(d.Changes) >= p.Param("day_changes") {
				f.Open = false
			}
		}
	}
	slices.Sort(f.Probes)
	names := make([]string, 0, len(who))
	for _, i := range who {
		name := members[i].Probe.Name
		if at := seat(&members[i].Probe, f.Start); at != "" {
			name += " (" + at + ")"
		}
		names = append(names, name)
	}
	f.Evidence = fmt.Sprintf("%s are one series: %s, through %d changes of value", strings.Join(names, ", "), best.words(members, f.Start), best.changes)
	if best.how == rounded {
		f.Threshold, f.Unit = p.Param("rounded_changes"), "equal changes of a day's ends"
		f.Confidence = 0.9
	}
	return f
}

// seat is where the register puts a probe at an instant or first after it.
func seat(p *detect.Probe, t int64) string {
	for _, w := range p.Wirings {
		if w.End > t && w.Logger != "" {
			return fmt.Sprintf("logger %s port %s", w.Logger, w.Port)
		}
	}
	return ""
}

// words say in what two members are alike.
func (m match) words(members []detect.Summary, start int64) string {
	a, b := members[m.a].Probe.Name, members[m.b].Probe.Name
	switch {
	case m.how == rounded:
		return fmt.Sprintf("the least and the greatest value of %d days from %s on are the same when they are rounded to %.3g %s",
			m.days, detect.Stamp(start), m.step, members[m.a].Probe.Quantity.Unit())
	case m.how == late && m.lag > 0:
		return fmt.Sprintf("from %s on %s repeats %s to the last digit %.0f min later, for %d days", detect.Stamp(start), b, a, minutes(m.lag), m.days)
	case m.how == late && m.lag < 0:
		return fmt.Sprintf("from %s on %s repeats %s to the last digit %.0f min later, for %d days", detect.Stamp(start), a, b, minutes(-m.lag), m.days)
	case m.how == late:
		return fmt.Sprintf("from %s on they go through the same values for as many readings each, for %d days", detect.Stamp(start), m.days)
	}
	return fmt.Sprintf("%d days from %s on are equal to the last digit at every stamp", m.days, detect.Stamp(start))
}

func minutes(t int64) float64 { return float64(t) / float64(detect.Minute) }
