package missingresponse

import (
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// event is one watering and what the probe did.
type event struct {
	detect.Watered
	strong bool
	at     int     // place in the zone's waterings
	came   float64 // what the siblings did, as a share of their usual; NaN: nobody tells
}

// probe is one member and its waterings.
type probe struct {
	*detect.Summary

	all     []event
	counted []event // those that tell something
	answers int
	without int     // unanswered ones that had no room to answer
	usual   float64 // median of the strong rises
}

// zone is one look at one zone.
type zone struct {
	p      *detect.GroupPass
	whole  detect.Span
	starts map[int64]int // place of a watering by its start
	probes []probe
}

func newZone(p *detect.GroupPass) *zone {
	z := &zone{p: p, whole: p.Period().Whole(), starts: map[int64]int{}}
	members := p.Members()
	for i := range members {
		m := &members[i]
		if !m.Probe.TellsWater() {
			continue
		}
		one := probe{Summary: m}
		for _, w := range m.Waterings.At {
			at, ok := z.starts[w.Start]
			if !ok {
				at = len(z.starts)
				z.starts[w.Start] = at
			}
			one.all = append(one.all, event{Watered: w, at: at, came: math.NaN()})
		}
		one.count(p.Param("answer_units")*m.Waterings.Unit, p.Param("weak_share"))
		z.probes = append(z.probes, one)
	}
	for i := range z.probes {
		z.siblings(i)
	}
	return z
}

// count leaves out the waterings that tell nothing, and marks those that were
// answered: by a rise of at least so much. At the end of the scale even a watering
// that is answered shows only in part.
func (p *probe) count(least, weak float64) {
	var rises []float64
	for i := range p.all {
		e := &p.all[i]
		if e.strong = !e.Blind && e.Rise >= least; e.strong {
			p.answers++
			rises = append(rises, e.Rise)
		}
	}
	if p.answers > 0 {
		p.usual = robust.Median(rises, make([]float64, len(rises)))
	}
	wet := max(p.Waterings.Dead, secondPeak(p.all)-least) // wetter leaves no room for an answer
	for _, e := range p.all {
		switch {
		case e.Blind:
		case !e.strong && p.answers > 0 && e.Level > wet || e.AtEnd && p.answers > 0 && e.Rise < weak*p.usual:
			p.without++
		default:
			p.counted = append(p.counted, e)
		}
	}
}

// siblings fills in, for each counted watering of a probe, what the others did with
// it: the median of their rises as shares of their own usual ones. Those of the same
// depth at other posts speak, if there are enough of them, else all at other posts.
func (z *zone) siblings(i int) {
	me := &z.probes[i]
	for _, near := range []bool{true, false} {
		shares := make([][]float64, len(z.starts))
		for j := range z.probes {
			one := &z.probes[j]
			if j == i || samePost(me.Summary, one.Summary) || near && !z.alike(me, one) || !z.steady(one) {
				continue
			}
			for _, e := range one.counted {
				shares[e.at] = append(shares[e.at], e.Rise/one.usual)
			}
		}
		for k := range me.counted {
			e := &me.counted[k]
			if s := shares[e.at]; e.came != e.came && len(s) >= int(z.p.Param("min_siblings")) {
				e.came = robust.Median(s, make([]float64, len(s)))
			}
		}
	}
}

// silentAtEnd counts the newest waterings in a row at which a probe stood at the
// scale's end and did nothing, while the siblings at its depth answered most of them;
// 0 where these did not, or are too few to speak.
func (z *zone) silentAtEnd(me *probe) int {
	n, told := 0, 0
	for k := len(me.all) - 1; k >= 0; k-- {
		e := &me.all[k]
		if e.Blind {
			continue
		}
		if !e.AtEnd || e.Rise >= z.p.Param("answer_units")*me.Waterings.Unit {
			break
		}
		n++
		asked, answered := 0, 0
		for j := range z.probes {
			one := &z.probes[j]
			if samePost(me.Summary, one.Summary) || !z.alike(me, one) || !z.steady(one) {
				continue
			}
			for _, o := range one.counted {
				if o.at == e.at {
					asked++
					if o.strong {
						answered++
					}
				}
			}
		}
		if asked >= int(z.p.Param("min_siblings")) && 2*answered > asked {
			told++
		}
	}
	if 2*told <= n {
		return 0
	}
	return n
}

// steady says whether a probe answers most of its waterings, so that its silence
// tells of the water.
func (z *zone) steady(p *probe) bool {
	return p.answers >= int(z.p.Param("sibling_answers")) && 2*p.answers > len(p.counted)
}

func (z *zone) alike(a, b *probe) bool {
	x, y := a.Probe.DepthCM, b.Probe.DepthCM
	return x.OK && y.OK && math.Abs(x.V-y.V) <= z.p.Param("depth_class_cm")
}

// samePost says whether two probes share what one dripper wets. A register without
// posts has each probe's logger for it.
func samePost(a, b *detect.Summary) bool {
	if a.Probe.Post == "" && b.Probe.Post == "" && len(a.Probe.Wirings) > 0 && len(b.Probe.Wirings) > 0 {
		return a.Probe.Wirings[0].Logger == b.Probe.Wirings[0].Logger
	}
	return a.Probe.Post == b.Probe.Post
}

// secondPeak is the second wettest state that an answer led to: one may have been a
// storm's that nobody logged.
func secondPeak(events []event) float64 {
	wettest, second := math.Inf(-1), math.Inf(-1)
	for _, e := range events {
		if e.strong {
			peak := e.Level + e.Rise
			second = max(second, min(wettest, peak))
			wettest = max(wettest, peak)
		}
	}
	return second
}

// secondSmallest is the depth in mm of the second smallest watering with a full
// answer; 0 where the depths of fewer than two are known.
func secondSmallest(before []event, limit float64) float64 {
	smallest, second := math.Inf(1), math.Inf(1)
	for _, e := range before {
		if e.Rise > limit && e.MM.OK {
			second = min(second, max(smallest, e.MM.V))
			smallest = min(smallest, e.MM.V)
		}
	}
	if math.IsInf(second, 1) {
		return 0
	}
	return second
}

// large keeps the waterings of at least a depth in mm, and those of unknown depth.
func large(since []event, mm float64) []event {
	out := make([]event, 0, len(since))
	for _, e := range since {
		if !e.MM.OK || e.MM.V >= mm {
			out = append(out, e)
		}
	}
	return out
}
