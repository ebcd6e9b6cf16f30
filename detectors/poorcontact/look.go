package poorcontact

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// probe is one member.
type probe struct {
	*detect.Summary
	heard int     // waterings without rain
	usual float64 // median of its answers; 0: it has none
}

type zone struct {
	p      *detect.GroupPass
	whole  detect.Span
	probes []probe
}

func newZone(p *detect.GroupPass) *zone {
	z := &zone{p: p, whole: p.Period().Whole()}
	members := p.Members()
	for i := range members {
		m := &members[i]
		if !m.Probe.TellsWater() {
			continue
		}
		one := probe{Summary: m}
		var rises []float64
		for _, w := range m.Waterings.At {
			if w.Blind {
				continue
			}
			one.heard++
			if w.Rise >= p.Param("answer_units")*m.Waterings.Unit {
				rises = append(rises, w.Rise)
			}
		}
		if len(rises) > 0 {
			one.usual = robust.Median(rises, make([]float64, len(rises)))
		}
		z.probes = append(z.probes, one)
	}
	return z
}

// look judges one probe. A reason says that it could not be judged.
func (z *zone) look(i int) (f detect.Finding, found bool, why detect.Why) {
	me, p := &z.probes[i], z.p
	days := 0.0
	if me.First.OK {
		days = detect.Hours(me.Last.V-me.First.V) / 24
	}
	switch least := int(p.Param("min_waterings")); {
	case days < p.Param("min_days"):
		return f, false, detect.Why{Cause: detect.TooShort, Text: fmt.Sprintf("needs readings over %.0f d, had %.1f d", p.Param("min_days"), days)}
	case me.heard < least:
		return f, false, detect.Why{Cause: detect.TooShort, Text: fmt.Sprintf("needs %d waterings without rain, had %d: give more look-back, or wait", least, me.heard)}
	case me.usual == 0:
		return f, false, detect.Why{Cause: detect.NoChance, Text: "answered none of its waterings, so that nothing tells how large a jump would matter"}
	case me.Cadence > 2*detect.Hour:
		return f, false, detect.Why{Cause: detect.Absent, Text: "needs readings every two hours or more often to tell a jump from a slope"}
	}
	if f, ok := z.jumpy(me); ok {
		return f, true, why
	}
	return f, false, why
}

// jumpy finds a level that steps up and down and stays where it stepped to.
func (z *zone) jumpy(me *probe) (detect.Finding, bool) {
	p := z.p
	least := p.Param("jump_share") * me.usual
	var at []int64
	days := map[int64]bool{}
	down, up, first, most := 0, 0, int64(0), 0.0
	for _, j := range me.Waterings.Jumps {
		// What wets in one step while water is about may be the front.
		if math.Abs(j.Size) < least || j.Size > 0 && z.watered(me, j.Time) || me.Stood(detect.Span{Start: j.Time - detect.Hour, End: j.Time + detect.Hour}) {
			continue
		}
		if len(at) > 0 && j.Time-at[len(at)-1] > 2*int64(p.Param("clean_days"))*detect.Day {
			at, down, up, days, most = nil, 0, 0, map[int64]bool{}, 0
		}
		if len(at) == 0 {
			first = j.Time
		}
		at = append(at, j.Time)
		days[(j.Time-z.whole.Start)/detect.Day] = true
		most = max(most, math.Abs(j.Size))
		if j.Size < 0 {
			down++
		} else {
			up++
		}
	}
	n := len(at)
	if n < int(p.Param("min_jumps")) || down < int(p.Param("drying_jumps")) || up < int(p.Param("wetting_jumps")) || len(days) < int(p.Param("jump_days")) {
		return detect.Finding{}, false
	}
	f := detect.Finding{
		Start: first, End: min(z.whole.End, at[n-1]+1), Open: z.whole.End-at[n-1] < int64(p.Param("clean_days"))*detect.Day,
		Readings: n, Probes: []int{me.Probe.Index}, Measured: float64(n), Threshold: p.Param("min_jumps"), Unit: "jumps",
		Confidence: min(0.92, 1-0.3*math.Pow(0.75, float64(n-4))),
		Evidence: fmt.Sprintf("its level jumped %d times on %d days since %s, %d times towards dry and %d times towards wet, by up to %.2f of its usual answer, and stayed there: soil does not dry in one step, and no water had come",
			n, len(days), detect.Stamp(first), down, up, most/me.usual),
	}
	if f.Open {
		f.End = z.whole.End
	}
	return f, true
}

// watered says whether an instant lies in the window of a watering or of its answer.
func (z *zone) watered(me *probe, t int64) bool {
	for i := range me.Waterings.At {
		if w := &me.Waterings.At[i]; t >= w.Start-detect.Hour && t < w.Until {
			return true
		}
	}
	return false
}
