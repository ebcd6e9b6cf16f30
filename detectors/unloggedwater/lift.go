package unloggedwater

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// lifted is one probe of the zone in the look at levels: unlike an onset, a rise on
// top of one that is still under way shows there.
type lifted struct {
	*detect.Summary
	post  string
	upper bool    // the shallowest of its post
	least float64 // the least lift that its quiet time does not bring
	rate  float64 // how often it brings one all the same, a look
	usual float64 // its usual answer to water of the log; 0: it has none
}

// lifts looks for water where most probes rise at once above what they were doing: it
// finds water that came while earlier water was still rising, or so slowly that it
// makes no answer of the usual size.
func (l *look) lifts() []cluster {
	span := l.p.ParamHours("lift_hours")
	wet := l.wet()
	var looks []int64 // quiet blocks from which a look does not reach the next water
	step := int64(detect.LevelStep)
	first := l.whole.Start - ((l.whole.Start%step)+step)%step + step
	for t := first; t+span <= l.whole.End; t += step {
		if !slices.ContainsFunc(wet, func(s detect.Span) bool { return s.Start < t+span && t < s.End }) {
			looks = append(looks, t)
		}
	}
	if len(looks) < int(l.p.Param("lift_looks")) {
		return nil
	}
	probes := l.lifting(looks, span)
	best := make([]cluster, 0, len(looks))
	for _, t := range looks {
		if c, ok := l.weigh(probes, looks, t, span); ok {
			best = append(best, c)
		}
	}
	// Looks overlap: the least chance of each stretch stands for it.
	slices.SortStableFunc(best, func(a, b cluster) int { return cmp.Compare(a.chance, b.chance) })
	var out []cluster
	for _, c := range best {
		if !slices.ContainsFunc(out, func(o cluster) bool { return abs(o.onsets[0].water-c.onsets[0].water) < 2*span }) {
			out = append(out, c)
		}
	}
	slices.SortFunc(out, func(a, b cluster) int { return cmp.Compare(a.onsets[0].water, b.onsets[0].water) })
	return out
}

func abs(t int64) int64 { return max(t, -t) }

// wet lists the time in which water of the log or rain may lift probes.
func (l *look) wet() []detect.Span {
	away := l.p.ParamHours("away_hours")
	var late []float64
	for i := range l.probes {
		late = append(late, float64(l.probes[i].habit.Latest))
	}
	latest := int64(0)
	if len(late) > 0 {
		latest = int64(robust.Quantile(late, make([]float64, len(late)), 0.9))
	}
	var out []detect.Span
	for _, w := range detect.Spells(l.p.Irrigation(), l.rule.Merge) {
		out = append(out, detect.Span{Start: w.Start - l.rule.Early, End: max(w.End, w.Start+latest) + away})
	}
	for _, r := range l.rain {
		out = append(out, detect.Span{Start: r.Start - l.rule.Early, End: r.End + detect.Day})
	}
	return out
}

// lifting are the zone's probes with what their quiet time brings.
func (l *look) lifting(looks []int64, span int64) []lifted {
	members := l.p.Members()
	shallow := map[string]float64{}
	for i := range members {
		if m := &members[i]; m.Probe.Moisture() && m.Values > 0 && m.Probe.DepthCM.OK {
			if d, ok := shallow[postOf(m)]; !ok || m.Probe.DepthCM.V < d {
				shallow[postOf(m)] = m.Probe.DepthCM.V
			}
		}
	}
	var out []lifted
	for i := range members {
		m := &members[i]
		if !m.Probe.Moisture() || m.Values == 0 || len(m.Waterings.Steps.At) == 0 {
			continue
		}
		p := lifted{Summary: m, post: postOf(m)}
		p.upper = !m.Probe.DepthCM.OK || m.Probe.DepthCM.V <= shallow[p.post]
		var all []float64
		for _, t := range looks {
			if x, ok := m.Waterings.Steps.Lift(t, t+span); ok {
				all = append(all, x)
			}
		}
		if len(all) < int(l.p.Param("lift_looks")) {
			continue
		}
		scratch := make([]float64, len(all))
		p.least = max(m.Waterings.Unit, l.rule.Separate*robust.Quantile(all, scratch, 0.9))
		hits := 0
		for _, x := range all {
			if x >= p.least {
				hits++
			}
		}
		p.rate = (float64(hits) + 0.5) / (float64(len(all)) + 1)
		var sizes []float64
		for _, w := range m.Waterings.At {
			if !w.Blind && w.Rise >= l.rule.Separate*m.Waterings.Unit {
				sizes = append(sizes, w.Rise)
			}
		}
		if len(sizes) >= 2 {
			p.usual = robust.Median(sizes, make([]float64, len(sizes)))
		}
		out = append(out, p)
	}
	return out
}

// weigh holds one look against chance and against all the other looks.
func (l *look) weigh(probes []lifted, looks []int64, t, span int64) (cluster, bool) {
	c := cluster{lift: true}
	posts, all := map[string]bool{}, map[string]bool{}
	uppers, risen, rates := 0, 0, 0.0
	var shares []float64
	for i := range probes {
		p := &probes[i]
		x, ok := p.Waterings.Steps.Lift(t, t+span)
		if !ok || p.Stood(detect.Span{Start: t - detect.Day, End: t + span}) {
			continue
		}
		c.able++
		all[p.post] = true
		rates += p.rate
		if p.upper {
			uppers++
		}
		if x < p.least {
			continue
		}
		if p.upper {
			risen++
		}
		posts[p.post] = true
		if p.usual > 0 {
			shares = append(shares, x/p.usual)
		}
		c.onsets = append(c.onsets, onset{probe: i, Wetting: detect.Wetting{Onset: t, Peak: t + span, Rise: x}, water: t})
	}
	c.posts = len(posts)
	n := len(c.onsets)
	if n <= int(l.p.Param("min_probes")) || c.posts < int(l.p.Param("min_posts")) || 2*c.posts < len(all) ||
		float64(risen) < l.p.Param("lift_upper")*float64(uppers) ||
		len(shares) == 0 {
		return c, false
	}
	if c.middle = robust.Median(shares, make([]float64, len(shares))); c.middle < l.p.Param("lift_share") {
		return c, false
	}
	windows := math.Max(1, float64(len(looks))*float64(detect.LevelStep)/float64(span))
	c.chance = math.Min(1, windows*robust.BinomialTail(n, c.able, rates/float64(c.able)))
	// What the zone does together in quiet time, by weather or by heat, has no such water.
	most := 0
	for _, o := range looks {
		if abs(o-t) < 2*span {
			continue
		}
		k := 0
		for i := range probes {
			if x, ok := probes[i].Waterings.Steps.Lift(o, o+span); ok && x >= probes[i].least {
				k++
			}
		}
		most = max(most, k)
	}
	return c, c.chance <= l.p.Param("lift_chance") && float64(most) <= l.p.Param("lift_others")*float64(n) && !l.otherDay(probes, c, span)
}

// otherDay says whether a watering of the log stands near that the probes which now
// rose did not answer: its row has the wrong day.
func (l *look) otherDay(probes []lifted, c cluster, span int64) bool {
	near, when := l.p.ParamHours("misdated_hours"), c.onsets[0].water
	for k := range l.occasions {
		o := &l.occasions[k]
		if when-o.End > near || o.Start-when > near || o.Rained || o.End+l.rule.Response > l.whole.End && o.Start > when {
			continue
		}
		own, asked := 0, 0
		for _, x := range c.onsets {
			p := &probes[x.probe]
			from := o.Start - o.Start%int64(detect.LevelStep)
			until := when - 2*int64(detect.LevelStep)
			if o.Start > when {
				until = min(o.Start+l.rule.Response, l.whole.End)
			}
			if rise, ok := p.Waterings.Steps.Climb(from, until); ok {
				asked++
				if rise >= p.least {
					own++
				}
			}
		}
		if asked >= int(l.p.Param("min_posts")) && 2*own < asked {
			return true
		}
	}
	return false
}
