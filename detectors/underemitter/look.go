package underemitter

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

// member is a moisture probe of the zone, by its days.
type member struct {
	*detect.Summary
	starts  []int64
	driest  []float64 // kPa, of each day
	low     []float64 // of each day, in the standard unit
	high    []float64
	median  []float64 // kPa, of each day
	changes int
}

const leastReadings = 4 // of a day

func newLook(p *detect.GroupPass) *look {
	l := &look{p: p}
	all := p.Members()
	for i := range all {
		s := &all[i]
		if !s.Probe.TellsWater() || !s.Probe.DepthCM.OK {
			continue
		}
		m := member{Summary: s}
		for _, d := range s.Daily {
			if d.Readings < leastReadings {
				continue
			}
			dry := d.Max
			if s.Probe.Quantity == detect.WaterContent {
				dry = d.Min
			}
			driest, ok1 := tension(&s.Probe, dry)
			median, ok2 := tension(&s.Probe, d.Median)
			if !ok1 || !ok2 {
				continue
			}
			m.starts = append(m.starts, d.Start)
			m.driest, m.median = append(m.driest, driest), append(m.median, median)
			m.low, m.high = append(m.low, d.Min), append(m.high, d.Max)
			m.changes += d.Changes
		}
		if len(m.starts) > 0 {
			l.members = append(l.members, m)
		}
	}
	return l
}

// tension in kPa of a standard value of a probe, as far as a published form or curve
// gives one; an end of the scale counts as the driest or the wettest.
func tension(p *detect.Probe, v float64) (kPa float64, ok bool) {
	switch p.Quantity {
	case detect.Tension:
		return v, true
	case detect.Ohms:
		if v < soil.ShortOhms {
			return 0, false
		}
		kPa, ok = soil.GranularTension(math.Min(v, soil.OpenOhms-1), soil.ReferenceTempC)
		return kPa, ok
	case detect.WaterContent:
		t, known := soil.TextureNamed(p.Texture)
		if !known {
			return 0, false
		}
		if kPa, ok = t.Tension(v); ok {
			return kPa, true
		}
		if v >= t.WaterContent(0) {
			return 0, true
		}
		return math.Inf(1), true // drier than the curve goes
	}
	return 0, false
}

// waterings counts those of the zone that began in the look-back or the window.
func (l *look) waterings() int {
	n, whole := 0, l.p.Period().Whole()
	for _, w := range detect.Spells(l.p.Irrigation(), 6*detect.Hour) {
		if whole.Holds(w.Start) {
			n++
		}
	}
	return n
}

// judge asks whether a probe was wet all along while its neighbours dried. The reason
// is there where that cannot be said.
func (l *look) judge(m *member) (*detect.Finding, detect.Why) {
	p := l.p
	days := int(p.Param("days"))
	if len(m.starts) < days {
		return nil, detect.Why{Cause: detect.TooShort, Text: fmt.Sprintf("needs %d days with readings, had %d", days, len(m.starts))}
	}
	limit := l.limit(m)
	wet := 0
	for _, d := range m.driest {
		if d <= limit {
			wet++
		}
	}
	last := len(m.driest) - 1
	if float64(wet) < p.Param("wet_share")*float64(len(m.driest)) || m.driest[last] > limit || !l.stays(m) {
		return nil, detect.Why{}
	}
	if m.Probe.Kind == detect.Tensiometer && m.answers() < int(p.Param("waterings")) {
		return nil, detect.Why{Cause: detect.NoChance, Text: "a tensiometer near zero that answers no water may be empty: look at lost_suction, or wait"}
	}
	dry, alike, levels := l.neighbours(m)
	asked := len(levels)
	if asked < int(p.Param("neighbours")) {
		return nil, detect.Why{Cause: detect.Absent, Text: fmt.Sprintf("it is always wet, and fewer than %.0f neighbours at its depth in the zone say whether all is", p.Param("neighbours"))}
	}
	if alike > 0 || float64(dry) <= p.Param("dry_share")*float64(asked) || dry < int(p.Param("neighbours")) {
		return nil, detect.Why{}
	}
	scratch := make([]float64, max(len(m.driest), len(levels)))
	own, theirs := robust.Quantile(m.driest, scratch, p.Param("wet_share")), robust.Median(levels, scratch)
	f := detect.Finding{
		Start: max(m.starts[0], m.Period.Lookback), End: p.Period().Window.End, Open: true, Readings: m.Values,
		Confidence: 0.8, Measured: own, Threshold: limit, Unit: "kPa", Probes: []int{m.Probe.Index},
	}
	f.Evidence = fmt.Sprintf("was wetter than %.0f kPa all day long on %d of %d days, while %d of %d neighbours at its depth were drier than %.0f kPa in the newest %.0f days or are never as wet (median %.0f kPa)",
		limit, wet, len(m.driest), dry, asked, p.Param("dry_kpa"), p.Param("recent_days"), theirs)
	return &f, detect.Why{}
}

// limit is the tension up to which a probe counts as wet.
func (l *look) limit(m *member) float64 {
	if m.Probe.Kind == detect.GranularMatrix {
		return l.p.Param("dead_kpa")
	}
	return l.p.Param("wet_kpa")
}

// stays says whether a probe is wet beyond what soil that drains and is drunk from
// gives. In water content it must be wetter than at wet_kpa even if the probe reads by
// its usual offset too wet; in tension it must stay at one level.
func (l *look) stays(m *member) bool {
	p := l.p
	share := p.Param("wet_share")
	low, high := m.low, m.high
	scratch := make([]float64, len(low))
	q := m.Probe.Quantity
	if q == detect.WaterContent {
		t, _ := soil.TextureNamed(m.Probe.Texture)
		return robust.Quantile(low, scratch, 1-share) >= t.WaterContent(p.Param("wet_kpa"))+p.Param("offset")
	}
	return q.Wetness(robust.Quantile(low, scratch, 1-share))-q.Wetness(robust.Quantile(high, scratch, share)) <= p.Param("spread")
}

func (m *member) answers() int {
	n := 0
	for i := range m.Waterings.At {
		if w := &m.Waterings.At[i]; !w.Blind && w.Begin.OK && w.Rise > m.Waterings.Unit {
			n++
		}
	}
	return n
}

// neighbours counts those at the depth of a probe that were dry lately, and those that
// are as wet as it on most days, and gives the levels of all, in kPa. Probes that are
// not of its post are meant, and those of it that stand in another hole.
func (l *look) neighbours(m *member) (dry, alike int, levels []float64) {
	from := l.p.Period().Window.End - int64(l.p.Param("recent_days")*float64(detect.Day))
	for i := range l.members {
		o := &l.members[i]
		if o.Probe.Index == m.Probe.Index || math.Abs(o.Probe.DepthCM.V-m.Probe.DepthCM.V) > l.p.Param("near_cm") {
			continue
		}
		var lately []float64
		wet := 0
		for k, t := range o.starts {
			if t >= from {
				lately = append(lately, o.median[k])
			}
			if o.driest[k] <= l.limit(o) {
				wet++
			}
		}
		if len(lately) < int(l.p.Param("recent_days"))/2 || o.changes == 0 {
			continue
		}
		if 2*wet > len(o.starts) {
			alike++
		}
		level := robust.Median(lately, make([]float64, len(lately)))
		levels = append(levels, level)
		if level > l.p.Param("dry_kpa") || l.below(o, m) {
			dry++
		}
	}
	return dry, alike, levels
}

// below says whether a neighbour in water content is drier at its wettest, but for one
// day in ten, than the probe at its driest: no curve is needed for that.
func (l *look) below(o, m *member) bool {
	if o.Probe.Quantity != detect.WaterContent || m.Probe.Quantity != detect.WaterContent || o.Probe.Texture != m.Probe.Texture {
		return false
	}
	scratch := make([]float64, max(len(o.high), len(m.low)))
	share := l.p.Param("wet_share")
	return robust.Quantile(o.high, scratch, share) < robust.Quantile(m.low, scratch, 1-share)-l.p.Param("offset")
}
