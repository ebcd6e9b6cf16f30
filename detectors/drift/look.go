package drift

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/detectors/soil"
)

// look is one look at a zone.
type look struct {
	p       *detect.GroupPass
	members []member
}

// member is a probe of the zone.
type member struct {
	*detect.Summary
	move move
}

// move is how far the level after waterings has moved.
type move struct {
	ok      bool
	answers int
	was, is float64 // level after waterings, in wetness: median of the first half, mean of the newest two
	scatter float64 // robust deviation of the first half
	before  float64 // move of the level before waterings
	since   int64   // the first watering after the first half
}

func newLook(p *detect.GroupPass) *look {
	l := &look{p: p}
	all := p.Members()
	for i := range all {
		m := member{Summary: &all[i]}
		m.move = m.moved(int(p.Param("answers")))
		l.members = append(l.members, m)
	}
	return l
}

// moved compares the waterings that it answered early with the newest two.
func (m *member) moved(least int) (v move) {
	var after, before []float64
	var at []int64
	for i := range m.Waterings.At {
		w := &m.Waterings.At[i]
		if !w.Blind && w.Begin.OK && w.Rise > m.Waterings.Unit {
			after, before, at = append(after, w.Level+w.Rise), append(before, w.Level), append(at, w.Start)
		}
	}
	n := len(after)
	if v.answers = n; n < least {
		return v
	}
	h := n / 2
	scratch := make([]float64, n)
	median, mad := robust.MAD(after[:h], scratch)
	v.was, v.scatter = median, robust.Consistency*mad
	v.is = (after[n-1] + after[n-2]) / 2
	v.before = (before[n-1]+before[n-2])/2 - robust.Median(before[:h], scratch)
	v.since, v.ok = at[h], true
	return v
}

// judge looks at one probe in the two ways that there are. The reason is there where
// neither can tell.
func (l *look) judge(m *member) (*detect.Finding, detect.Why) {
	if m.Probe.Quantity != detect.WaterContent {
		return nil, detect.Why{Cause: detect.NoChance, Text: "in ohms and kPa a drift lies within what healthy places do as they dry; compare it with a second sensor"}
	}
	if f, ok := l.belowResidual(m); ok {
		return f, detect.Why{}
	}
	f, told := l.wandered(m)
	if f != nil || told {
		return f, detect.Why{}
	}
	return nil, detect.Why{Cause: detect.NoChance,
		Text: fmt.Sprintf("needs %.0f waterings that it and %.0f siblings at its depth answered, to see whether the level after them moves; it had %d", l.p.Param("answers"), l.p.Param("siblings"), m.move.answers)}
}

// belowResidual says whether a probe came down, day by day, to where no soil of its
// texture is.
func (l *look) belowResidual(m *member) (*detect.Finding, bool) {
	p := l.p
	residual := p.Param("residual")
	if t, ok := soil.TextureNamed(m.Probe.Texture); ok {
		residual = t.ThetaR
	}
	limit := residual - p.Param("below")
	days := m.Daily
	n := len(days)
	from := n
	for from > 0 && days[from-1].Readings > 0 && days[from-1].Max < limit {
		from--
	}
	if n-from < int(p.Param("stay_days")) || from == 0 {
		return nil, false
	}
	// It came down slowly, and no jump brought it there.
	highest, start := days[from].Median, from
	for i := from - 1; i >= 0 && days[i].Median >= days[i+1].Median-p.Param("below")/3; i-- {
		if days[i].Median > highest {
			highest, start = days[i].Median, i
		}
	}
	last := days[n-1]
	if highest-last.Median < p.Param("sunk") || from-start < int(p.Param("stay_days")) || m.jumped(days[start].Start) {
		return nil, false
	}
	// Soil dries ever more slowly as it nears its residual water; a drift goes on.
	half := (start + n - 1) / 2
	if early, late := highest-days[half].Median, days[half].Median-last.Median; late < p.Param("steady")*early {
		return nil, false
	}
	f := l.finding(m, days[from].Start, last.Median, limit)
	f.ExcludeFrom = days[from].Start
	f.Confidence = 0.75
	f.Evidence = fmt.Sprintf("came down from %.3f m3/m3 on %s to %.3f without a jump, and since %s it has been below %.3f all day long: %.3f under the residual water of its soil (%.3f)",
		highest, detect.Stamp(days[start].Start), last.Median, detect.Stamp(days[from].Start), limit, p.Param("below"), residual)
	return f, true
}

// jumped says whether the probe ever dried by a jump since an instant.
func (m *member) jumped(since int64) bool {
	for _, j := range m.Waterings.Jumps {
		if j.Time >= since && j.Size < 0 {
			return true
		}
	}
	return false
}

// wandered says whether the level to which waterings bring the probe has moved, its
// dry end with it, and not that of its siblings. told is false where it cannot be told.
func (l *look) wandered(m *member) (f *detect.Finding, told bool) {
	p := l.p
	v := m.move
	if !v.ok {
		return nil, false
	}
	size := v.is - v.was
	asked, agree := 0, 0
	for i := range l.members {
		o := &l.members[i]
		if o.Probe.Index == m.Probe.Index || !o.move.ok || o.Probe.Kind != m.Probe.Kind || o.Probe.Quantity != m.Probe.Quantity ||
			o.Probe.DepthCM != m.Probe.DepthCM {
			continue
		}
		asked++
		if other := o.move.is - o.move.was; other*size > 0 && math.Abs(other) > p.Param("sibling_share")*math.Abs(size) {
			agree++
		}
	}
	if asked < int(p.Param("siblings")) {
		return nil, false
	}
	// Where waterings do not fill the soil up, they bring it to any level.
	t, known := soil.TextureNamed(m.Probe.Texture)
	if !known {
		return nil, false
	}
	if v.was < t.WaterContent(p.Param("capacity_kpa"))-p.Param("moved") {
		return nil, true
	}
	const noise = 0.003 // m3/m3: less scatter than this is luck (common practice, no source)
	if math.Abs(size) < p.Param("moved") || math.Abs(size) < p.Param("scatters")*(v.scatter+noise) ||
		v.before*size < 0 || math.Abs(v.before) < p.Param("dry_end")*math.Abs(size) || agree > 0 || m.steps(v.since) {
		return nil, true
	}
	f = l.finding(m, v.since, v.is-v.was, p.Param("moved"))
	f.Confidence = 0.6
	f.Evidence = fmt.Sprintf("waterings used to bring it to %.3f m3/m3 (give or take %.3f), the newest two to %.3f, and the level before them moved by %.3f; none of %d siblings at its depth moved that way by half as much",
		v.was, v.scatter, v.is, v.before, asked)
	return f, true
}

// steps says whether it dried by a jump since an instant: what goes by steps
// is no drift.
func (m *member) steps(since int64) bool {
	for _, j := range m.Waterings.Jumps {
		if j.Time >= since && j.Size < 0 {
			return true
		}
	}
	return len(m.Excursions) > 0 && m.Excursions[len(m.Excursions)-1].End >= since
}

func (l *look) finding(m *member, start int64, measured, threshold float64) *detect.Finding {
	f := &detect.Finding{Start: start, End: l.p.Period().Window.End, Open: true,
		Measured: measured, Threshold: threshold, Unit: "m3/m3", Probes: []int{m.Probe.Index}}
	for _, d := range m.Daily {
		if d.Start >= start {
			f.Readings += d.Readings
		}
	}
	return f
}
