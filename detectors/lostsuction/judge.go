package lostsuction

import (
	"fmt"
	"math"
	"strings"

	"probeward/detectors/detect"
)

// why a fall is or is no lost column.
type why uint8

const (
	water     why = iota // water explains it
	noWitness            // nothing says whether water came
	proven
)

// judge asks whether water explains a fall.
func (z *zone) judge(m *member, f fall) (detect.Finding, why) {
	p := z.p
	high, low := m.days[f.high], m.days[f.low]
	fell := detect.Span{Start: high.Start, End: low.Start + detect.Day}

	w := z.ask(m, f, fell)
	if w.water {
		return detect.Finding{}, water
	}
	logged := len(p.Irrigation()) > 0
	dry := logged && (p.HasRain() || w.asked > 0) && !z.watered(detect.Span{Start: fell.Start - int64(p.Param("dry_days")*float64(detect.Day)), End: fell.End})
	largest, days := m.largestFall(f.high, low.Start-high.Start)
	sudden := z.sudden(m, f)
	novel := sudden && days >= int(p.Param("history_days")) && f.size > p.Param("novelty")*largest
	if w.asked == 0 && !logged {
		return detect.Finding{}, noWitness
	}
	confidence := 0.0
	switch {
	case w.asked > 0 && dry && w.apart >= p.Param("apart"):
		confidence = 0.95
	case w.asked > 0 && novel && w.apart >= p.Param("apart"):
		confidence = 0.9
	case w.asked > 0 && dry:
		confidence = 0.85
	case w.asked > 0 && novel:
		confidence = 0.8
	case dry && novel:
		confidence = 0.75
	default:
		return detect.Finding{}, water
	}
	start := z.onset(m, f)
	out := detect.Finding{
		Start: start, End: p.Period().Window.End, Open: true, Confidence: confidence,
		Measured: f.now, Threshold: f.limit, Unit: "kPa", Probes: []int{m.Probe.Index},
	}
	for _, d := range m.days[f.low:] {
		out.Readings += d.Readings
	}
	last := m.days[len(m.days)-1]
	text := []string{fmt.Sprintf("read %.1f kPa, fell from %s on and has stood at %.1f kPa (%.1f to %.1f) for %.0f days; near zero is up to %.1f kPa here",
		f.before, detect.Stamp(start), f.now, z.least(m, f.low), z.most(m, f.low), detect.Days(last.Start-low.Start)+1, f.limit)}
	if dry {
		text = append(text, fmt.Sprintf("no watering and no rain of %.0f mm within %.0f days before", p.Param("rain_mm"), p.Param("dry_days")))
	}
	if w.asked > 0 {
		text = append(text, fmt.Sprintf("%d neighbours as deep or shallower saw no such water: those at its depth wetted by %.0f %% as much at most", w.asked, 100*w.most))
	}
	if novel {
		text = append(text, fmt.Sprintf("its largest fall before was %.0f %% of this one", 100*largest/f.size))
	}
	if w.apart >= p.Param("apart") {
		text = append(text, fmt.Sprintf("%s at its depth has become %.1f times drier beside it", w.twin, math.Exp(w.apart)))
	}
	out.Evidence = strings.Join(text, "; ")
	return out, proven
}

// sudden says whether a fall took hours: where a day lies between the working level
// and the first near zero, it is the day of the fall, and what follows is at the level
// that stays. A front goes on falling.
func (z *zone) sudden(m *member, f fall) bool {
	took := m.days[f.low].Start - m.days[f.high].Start
	limit := int64(z.p.Param("sudden_days") * float64(detect.Day))
	return took <= limit ||
		took <= limit+detect.Day && m.days[f.low].Median <= z.p.Param("settled")*f.now+gauge
}

// watered says whether a watering or rain touched a span.
func (z *zone) watered(s detect.Span) bool {
	for _, w := range z.p.Irrigation() {
		if w.Overlap(s).Length() > 0 {
			return true
		}
	}
	rain := 0.0
	for _, w := range z.p.Rain() {
		if w.Overlap(s).Length() > 0 {
			rain += w.MM.V
		}
	}
	return rain >= z.p.Param("rain_mm")
}

// onset is when a fall began: the last low before the last wetting that carried
// the most of it, or the day after the last at a working level.
func (z *zone) onset(m *member, f fall) int64 {
	at := m.days[f.high].Start + detect.Day
	from, to := m.days[f.high].Start, m.days[f.low].Start+detect.Day
	most := 0.0
	for _, w := range m.Wettings {
		if w.Onset >= from && w.Onset < to && w.Rise > most {
			most, at = w.Rise, w.Onset
		}
	}
	return min(at, m.days[f.low].Start)
}

func (z *zone) least(m *member, from int) float64 {
	v := math.Inf(1)
	for _, d := range m.days[from:] {
		v = min(v, d.Median)
	}
	return v
}

func (z *zone) most(m *member, from int) float64 {
	v := math.Inf(-1)
	for _, d := range m.days[from:] {
		v = max(v, d.Median)
	}
	return v
}
