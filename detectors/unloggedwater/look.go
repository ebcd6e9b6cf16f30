package unloggedwater

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// look is one look at one zone.
type look struct {
	p         *detect.GroupPass
	whole     detect.Span
	rule      detect.AnswerRule
	rain      []detect.Water // spells that wet probes
	occasions []detect.Occasion
	members   []int   // places of all of the zone's probes
	probes    []probe // those that normally answer
	onsets    []onset // of all probes, by the time of the water that they tell of
	eligible  int64   // how long the probes could have had such onsets, all together
}

// probe is one that normally answers.
type probe struct {
	*detect.Summary
	habit detect.Habit
	post  string
	dark  []detect.Span // when an onset would prove nothing, sorted
}

// onset is a wetting that no water of the log and no rain explains.
type onset struct {
	probe int
	detect.Wetting
	water int64 // when the water came, by the probe's usual lag
}

func newLook(p *detect.GroupPass) *look {
	l := &look{p: p, whole: p.Period().Whole()}
	l.rule = detect.AnswerRule{
		Merge: p.ParamHours("merge_hours"), Response: p.ParamHours("response_hours"),
		Early: p.ParamHours("early_hours"), Plateau: p.ParamHours("plateau_hours"),
		RainMemo: p.ParamHours("rain_hours"), Separate: p.Param("quiet_times"),
		Share: p.Param("answer_share"), Covered: p.Param("covered_share"),
	}
	l.rain = detect.Heavy(detect.Spells(p.Rain(), l.rule.Merge), p.Param("rain_mm"))
	l.occasions = l.rule.Occasions(p.Irrigation(), l.rain, l.whole)
	large := l.large()
	members := p.Members()
	for i := range members {
		m := &members[i]
		l.members = append(l.members, m.Probe.Index)
		if !m.Probe.Moisture() || m.Values == 0 {
			continue
		}
		h := l.rule.Habit(m, l.occasions, l.rain)
		given, n := 0, 0
		for k, a := range h.At {
			if a.Seen && (a.Given || l.size(k) >= large) {
				n++
				if a.Given {
					given++
				}
			}
		}
		least, _ := robust.Wilson(given, n, p.Param("wilson_z"))
		if n == 0 || least < p.Param("normal_share") || h.Days < int(p.Param("quiet_days")) {
			continue
		}
		l.probes = append(l.probes, probe{Summary: m, habit: h, post: postOf(m), dark: l.dark(m, &h)})
	}
	slices.Sort(l.members)
	l.collect()
	return l
}

// size of a watering: its depth, or where any has none, its length.
func (l *look) size(k int) float64 {
	for _, o := range l.occasions {
		if !o.MM.OK {
			return float64(l.occasions[k].Length())
		}
	}
	return l.occasions[k].MM.V
}

// large is the size of the middle watering. A smaller one that a probe misses says
// nothing of it.
func (l *look) large() float64 {
	var all []float64
	for k := range l.occasions {
		all = append(all, l.size(k))
	}
	if len(all) == 0 {
		return 0
	}
	return robust.Median(all, make([]float64, len(all)))
}

// postOf is where a probe stands; a register without posts has each probe's logger
// for it.
func postOf(s *detect.Summary) string {
	if s.Probe.Post != "" || len(s.Probe.Wirings) == 0 {
		return s.Probe.Post
	}
	return s.Probe.Wirings[0].Logger
}

// dark is when an onset of a probe may be an answer to water of the log or to rain.
// What came before its first reading may still be answered after it.
func (l *look) dark(s *detect.Summary, h *detect.Habit) []detect.Span {
	away := l.p.ParamHours("away_hours")
	late := func(start, end int64) int64 { return max(end, start+h.Latest) + away }
	out := []detect.Span{{Start: math.MinInt64, End: s.First.V + l.rule.Response}}
	for _, w := range detect.Spells(l.p.Irrigation(), l.rule.Merge) {
		out = append(out, detect.Span{Start: w.Start - l.rule.Early, End: late(w.Start, w.End)})
	}
	for _, r := range l.rain {
		out = append(out, detect.Span{Start: r.Start - l.rule.Early, End: max(r.End+l.rule.RainMemo, late(r.Start, r.End))})
	}
	slices.SortFunc(out, func(a, b detect.Span) int { return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End)) })
	joined := out[:0]
	for _, s := range out {
		if n := len(joined); n > 0 && s.Start <= joined[n-1].End {
			joined[n-1].End = max(joined[n-1].End, s.End)
		} else {
			joined = append(joined, s)
		}
	}
	return joined
}

// collect gathers the onsets that nothing explains, and how long there could have
// been any.
func (l *look) collect() {
	for i := range l.probes {
		p := &l.probes[i]
		l.eligible += l.whole.Length()
		for _, d := range p.dark {
			l.eligible -= d.Overlap(l.whole).Length()
		}
		for _, w := range p.Wettings {
			if w.Rise < p.habit.Least || p.Stood(detect.Span{Start: w.Onset, End: w.Peak}) || p.explained(w, l.rule.Plateau) {
				continue
			}
			l.onsets = append(l.onsets, onset{i, w, w.Onset - p.habit.Lag})
		}
	}
	slices.SortFunc(l.onsets, func(a, b onset) int {
		return cmp.Or(cmp.Compare(a.water, b.water), cmp.Compare(a.probe, b.probe))
	})
}

// explained says that a wetting began where water may have been answered, or so
// shortly before more came, and still rising then, that its onset may be older than
// its rise.
func (p *probe) explained(w detect.Wetting, plateau int64) bool {
	for _, d := range p.dark {
		if d.Start <= min(w.Peak, w.Onset+plateau) && w.Onset < d.End {
			return true
		}
	}
	return false
}

// able says whether the probe would have shown water that came at t: it was heard,
// waited for no other water, and was not rising already.
func (l *look) able(p *probe, t int64) bool {
	at := t + p.habit.Lag
	for _, d := range p.dark {
		if d.Holds(at) {
			return false
		}
	}
	for _, w := range p.Wettings {
		if w.Onset < t && t+p.habit.Latest < w.Peak {
			return false
		}
	}
	window := detect.Span{Start: t, End: t + max(p.habit.Latest, detect.Day)}
	return window.End <= l.whole.End && p.Heard(window) >= l.rule.Covered && !p.Stood(window)
}

// cluster is onsets that tell of one water.
type cluster struct {
	onsets []onset
	able   int
	posts  int
	chance float64
	lift   bool    // seen by levels, not by onsets
	middle float64 // then: the median lift as a share of the usual answer
}

func (l *look) findings() []detect.Finding {
	together := l.p.ParamHours("together_hours")
	var found []cluster
	for a := 0; a < len(l.onsets); {
		// The window from each onset on; the fullest of those that overlap it counts.
		best, from, to := 0, a, a
		for s := a; s < len(l.onsets) && l.onsets[s].water <= l.onsets[a].water+together; s++ {
			e := s
			for e < len(l.onsets) && l.onsets[e].water <= l.onsets[s].water+together {
				e++
			}
			if n := distinct(l.onsets[s:e]); n > best {
				best, from, to = n, s, e
			}
		}
		if c, ok := l.judge(l.onsets[from:to]); ok {
			found = append(found, c)
			a = to
		} else {
			a++
		}
	}
	// What the onsets have told already is not told again.
	for _, c := range l.lifts() {
		if !slices.ContainsFunc(found, func(o cluster) bool {
			return abs(o.onsets[0].water-c.onsets[0].water) < 2*l.p.ParamHours("response_hours")
		}) {
			found = append(found, c)
		}
	}
	found = slices.DeleteFunc(found, func(c cluster) bool { return l.running(c.onsets[len(c.onsets)/2].water) })
	slices.SortStableFunc(found, func(a, b cluster) int { return cmp.Compare(a.onsets[0].water, b.onsets[0].water) })
	return l.join(found)
}

// running says whether a watering that began then could still go on at the window's
// end: a log has its row when the valve shuts.
func (l *look) running(t int64) bool {
	longest := int64(0)
	for _, o := range l.occasions {
		longest = max(longest, o.Length())
	}
	return t+longest+l.rule.Early >= l.whole.End
}

func distinct(onsets []onset) int {
	seen := map[int]bool{}
	for _, o := range onsets {
		seen[o.probe] = true
	}
	return len(seen)
}

// judge holds onsets that fall together against what the zone normally shows and
// against chance.
func (l *look) judge(onsets []onset) (cluster, bool) {
	c := cluster{onsets: onsets}
	shows, posts := map[int]bool{}, map[string]bool{}
	for _, o := range onsets {
		shows[o.probe] = true
		posts[l.probes[o.probe].post] = true
	}
	c.posts = len(posts)
	when := onsets[len(onsets)/2].water
	for i := range l.probes {
		if shows[i] || l.able(&l.probes[i], when) {
			c.able++
		}
	}
	n := len(shows)
	if n < int(l.p.Param("min_probes")) || c.posts < int(l.p.Param("min_posts")) || float64(n) < l.p.Param("most_share")*float64(c.able) {
		return c, false
	}
	// Each probe has onsets of its own at the rate of those that are not in here,
	// half an onset added for what a short record does not show.
	together := float64(l.p.ParamHours("together_hours"))
	rate := (float64(len(l.onsets)-len(onsets)) + 0.5) / math.Max(together, float64(l.eligible))
	windows := math.Max(1, float64(l.eligible)/float64(len(l.probes))/together)
	one := 1 - math.Exp(-2*rate*together)
	c.chance = math.Min(1, windows*robust.BinomialTail(n, c.able, one))
	return c, c.chance <= l.p.Param("max_chance") && !l.misdated(onsets)
}

// misdated says whether a watering of the log stands near with no answer of its own:
// then its row has the wrong day, or the valve opened later than planned, and the
// water is in the log.
func (l *look) misdated(onsets []onset) bool {
	near := l.p.ParamHours("misdated_hours")
	first := onsets[0].Onset
	for _, o := range onsets {
		first = min(first, o.Onset)
	}
	when := onsets[len(onsets)/2].water
	for k := range l.occasions {
		o := &l.occasions[k]
		if when-o.Start > near || o.Start-when > near || o.Rained {
			continue
		}
		own, asked := 0, 0
		for i := range l.probes {
			p := &l.probes[i]
			if p.Heard(o.Window) < l.rule.Covered || !p.heavy(l, k) {
				continue
			}
			asked++
			for _, w := range l.rule.Rising(p.Summary, o.Window) {
				if before := o.Start > when || w.Onset < first-l.rule.Early; before && w.Rise >= p.habit.Least {
					own++
					break
				}
			}
		}
		if asked >= int(l.p.Param("min_posts")) && 2*own < asked {
			return true
		}
	}
	return false
}

// heavy says whether a probe may be held to an occasion: it is of at least half of
// the middle size.
func (p *probe) heavy(l *look, k int) bool { return 2*l.size(k) >= l.large() }

// join makes one finding of clusters that lie near.
func (l *look) join(found []cluster) []detect.Finding {
	near := l.p.ParamHours("join_hours")
	var joined []cluster
	for _, c := range found {
		if n := len(joined); n > 0 && c.onsets[0].water-joined[n-1].onsets[len(joined[n-1].onsets)-1].water <= near {
			last := &joined[n-1]
			last.onsets = append(slices.Clip(last.onsets), c.onsets...)
			last.able, last.posts = max(last.able, c.able), max(last.posts, c.posts)
			last.chance = min(last.chance, c.chance)
			continue
		}
		joined = append(joined, c)
	}
	var out []detect.Finding
	for _, c := range joined {
		out = append(out, l.finding(c))
	}
	return out
}

func (l *look) finding(c cluster) detect.Finding {
	first, last, peak := c.onsets[0].Onset, c.onsets[0].Onset, c.onsets[0].Peak
	var water []float64
	for _, o := range c.onsets {
		first, last = min(first, o.Onset), max(last, o.Onset)
		peak = max(peak, o.Peak)
		water = append(water, float64(o.water))
	}
	came := int64(robust.Median(water, make([]float64, len(water))))
	end := max(last+1, min(peak, first+l.rule.Response))
	n := distinct(c.onsets)
	f := detect.Finding{
		Start: first, End: min(end, l.whole.End), Open: end >= l.whole.End,
		Readings: n, Probes: l.members,
		Measured: float64(n) / float64(c.able), Threshold: l.p.Param("most_share"), Unit: "share of the probes that normally answer",
		Confidence: math.Min(0.95, 1-math.Sqrt(c.chance)),
	}
	if c.lift {
		f.Measured, f.Threshold, f.Unit = float64(n), l.p.Param("min_probes"), "probes"
		f.Evidence = fmt.Sprintf("%d of the zone's %d probes, at %d posts, rose from about %s on above what they were doing a day before, by %.2f of their usual answer (median), as none of their quiet time brings; %s, %s; lifts of their own fall together so with a chance of %.1g a period",
			n, c.able, c.posts, detect.Stamp(came), c.middle, l.around(came), l.rained(came), math.Max(c.chance, 1e-12))
		return f
	}
	f.Evidence = fmt.Sprintf("%d of %d probes that normally answer, at %d posts, wetted from %s on as they do after a watering, by their usual lags one of about %s; %s, %s; onsets of their own fall together so with a chance of %.1g a period",
		n, c.able, c.posts, detect.Stamp(first), detect.Stamp(came), l.around(came), l.rained(came), math.Max(c.chance, 1e-12))
	return f
}

// around says how far the waterings of the log are.
func (l *look) around(t int64) string {
	before, after := "none in the log before it", ""
	for _, o := range l.occasions {
		if o.Start <= t {
			before = fmt.Sprintf("the log's last watering before it ended %s earlier", detect.Length(max(0, t-o.End)))
		} else if after == "" {
			after = fmt.Sprintf(" and the next began %s later", detect.Length(o.Start-t))
		}
	}
	if after == "" {
		after = " and has none after it"
	}
	return before + after
}

func (l *look) rained(t int64) string {
	text := "and it had not rained in the period before"
	for _, r := range l.rain {
		if r.Start <= t {
			text = fmt.Sprintf("and the last rain ended %s earlier", detect.Length(max(0, t-r.End)))
		}
	}
	return text
}
