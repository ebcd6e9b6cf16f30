package flatline

import (
	_ "embed" // the manual
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector finds probes that stand still.
var Detector = &detect.Detector{
	Name:         "flat_line",
	Doc:          doc,
	Needs:        detect.NeedWetness,
	Uses:         detect.NeedIrrigation | detect.NeedDemand | detect.NeedScaleEnd,
	MinReadings:  24,
	MinSpanHours: 72,
	Since:        "0.1",
	Params: []detect.Param{
		{Name: "stand_hours", Default: 12, Unit: "h",
			Why: "shorter stands are common at night and do no harm", Source: "Dorigo et al. (2013), flags D09 and D10 (from memory)"},
		{Name: "evidence_nats", Default: 7, Unit: "nat",
			Why: "one in 1,100 for each stand that is judged; a healthy probe has a few in a season, and the habit is taken at its calmest", Source: "derived from two false alarms in a thousand probe-weeks"},
		{Name: "dead_kpa", Default: 12, Unit: "kPa",
			Why: "wetter than this a granular block hardly responds", Source: "published for fine sand, 11.5 kPa, and loamy sand, 10 kPa (checked); rounded up"},
		{Name: "calm_share", Default: 0.1, Unit: "1",
			Why: "the calmest tenth of its days is how calm it can be", Source: "common practice, no source"},
		{Name: "history_days", Default: 3, Unit: "d",
			Why: "fewer days give no habit", Source: "common practice, no source"},
		{Name: "turn_weight", Default: 0.5, Unit: "nat",
			Why: "a nat for each independent turn; half, because turns come in bunches", Source: "derived from the Poisson chance of none, halved"},
		{Name: "flicker_share", Default: 0.25, Unit: "1",
			Why: "turns a reading below which the noise is smaller than a count, and hides in the middle of one", Source: "derived: a normal noise of 0.38 of a count turns so often in the middle of a count"},
		{Name: "count_weight", Default: 1, Unit: "nat",
			Why: "a nat for each count that it would have moved", Source: "derived from the Poisson chance of none"},
		{Name: "record_weight", Default: 2, Unit: "nat",
			Why: "stands of a coarse export have an exponential tail: each length of the longest other one is a few nats more", Source: "derived, with a margin"},
		{Name: "record_most", Default: 6, Unit: "nat",
			Why: "a soil that comes to rest stands as long as it likes: its record alone is never enough", Source: "common practice, no source"},
		{Name: "answer_hours", Default: 24, Unit: "h",
			Why: "a front needs up to a day to a deep probe", Source: "common practice, no source"},
		{Name: "move_counts", Default: 2, Unit: "1",
			Why: "rounding alone moves a reading by one count", Source: "derived"},
		{Name: "move_noise", Default: 4, Unit: "1",
			Why: "four deviations of the noise are no accident", Source: "derived from the normal distribution"},
		{Name: "wilson_z", Default: 1.28, Unit: "1",
			Why: "the lower bound at 90 %, one-sided", Source: "Wilson (1927)"},
		{Name: "rail_stands", Default: 2, Unit: "1",
			Why: "an extreme in which it stood more than once is where its export is clipped", Source: "common practice, no source"},
		{Name: "asleep", Default: 4, Unit: "waterings",
			Why: "slept through so many at the scale's end, where it moved at half of the others or more, nobody can tell whether it stands or its soil is too dry", Source: "common practice, no source"},
		{Name: "never_days", Default: 28, Unit: "d",
			Why: "four weeks hold a drying of many counts in any season with leaves", Source: "common practice, no source"},
		{Name: "never_dry_kpa", Default: 100, Unit: "kPa",
			Why: "drier, a constant may be the end of a scale", Source: "common practice, no source"},
		{Name: "most_share", Default: 0.5, Unit: "1",
			Why: "a window of which most is one stand shows nothing else", Source: "common practice, no source"},
	},
	Run: run,
}

// stand is a stretch of equal values.
type stand struct {
	from, to int // readings, half-open
	nats     float64
	waters   int     // waterings that it slept through
	record   float64 // its length over that of the longest other one, where that weighs most
	expected float64 // turns, or counts, that its habit would have brought
	turns    bool    // counted in turns
}

func run(p *detect.Pass) detect.Outcome {
	stands := findStands(p.Time(), p.Value(), p.ParamHours("stand_hours"))
	if len(stands) == 0 {
		return detect.Healthy()
	}
	h := newHabit(p, stands)
	// The longest first: it is the least like the others, and once found it is no
	// longer part of the habit.
	order := make([]int, len(stands))
	for i := range order {
		order[i] = i
	}
	length := func(i int) int64 { return h.t[stands[i].to-1] - h.t[stands[i].from] }
	slices.SortStableFunc(order, func(a, b int) int { return int((length(b) - length(a)) / detect.Second) })
	var findings []detect.Finding
	unclear, atEnd, asleep := -1, -1, -1
	judged := make([]bool, len(stands))
	// Once more after each finding: two hangs hide each other's habit.
	for again := true; again; {
		again, unclear, atEnd = false, -1, -1
		for _, i := range order {
			s := &stands[i]
			if judged[i] || h.limits.Outside(h.v[s.from]) {
				continue
			}
			if h.explained(s) {
				if h.atScaleEnd(s) && h.fillsWindow(s) && (h.sleep(s) >= p.Param("evidence_nats") || s.waters >= int(p.Param("asleep")) && h.moved > 0 && 2*h.moved >= h.events) {
					asleep = i
				}
				continue
			}
			if s.to-s.from == len(h.v) {
				return h.neverMoved(s)
			}
			if h.ownEnd(s) {
				if atEnd < 0 && h.fillsWindow(s) {
					atEnd = i
				}
				continue
			}
			h.weigh(s)
			if s.nats >= p.Param("evidence_nats") {
				findings = append(findings, h.finding(s))
				h.found = append(h.found, *s)
				judged[i], again = true, true
			} else if unclear < 0 && h.fillsWindow(s) {
				unclear = i
			}
		}
	}
	if len(findings) == 0 && atEnd >= 0 {
		s := &stands[atEnd]
		return detect.Unable(detect.NoChance, "stands at %s %s for %s, the driest that it has ever shown: where a scale ends, a probe that works shows no more",
			number(h.v[s.from]), h.q.Unit(), detect.Length(h.t[s.to-1]-h.t[s.from]))
	}
	if len(findings) == 0 && asleep >= 0 {
		s := &stands[asleep]
		return detect.Unable(detect.NoChance, "stands at the scale's end, %s %s, for %s, and slept through %d waterings there, where it moved at %d of %d others: stuck, or soil that is drier than the scale; a reading in ohms, or water at the dripper, would tell",
			number(h.v[s.from]), h.q.Unit(), detect.Length(h.t[s.to-1]-h.t[s.from]), s.waters, h.moved, h.events)
	}
	if len(findings) == 0 && unclear >= 0 {
		s := &stands[unclear]
		return detect.Unable(detect.NoChance, "stands at %s %s for %s, and a count of %s is too coarse to tell: on its calmest days it would have moved %.0f times or counts, and it slept through %d waterings",
			number(h.v[s.from]), h.q.Unit(), detect.Length(h.t[s.to-1]-h.t[s.from]), number(p.Quantum()), s.expected, s.waters)
	}
	slices.SortFunc(findings, func(a, b detect.Finding) int { return int(math.Copysign(1, float64(a.Start-b.Start))) })
	return detect.Faulty(findings...)
}

// findStands lists the runs of equal values that last.
func findStands(t []int64, v []float64, least int64) []stand {
	var out []stand
	from := 0
	for i := 1; i <= len(v); i++ {
		if i < len(v) && v[i] == v[from] {
			continue
		}
		if t[i-1]-t[from] >= least {
			out = append(out, stand{from: from, to: i})
		}
		from = i
	}
	return out
}

// mostSure is the highest confidence: see the manual.
const mostSure = 0.96

func (h *habit) finding(s *stand) detect.Finding {
	p := h.p
	end, open := p.EndOf(s.to)
	what := fmt.Sprintf("in which its calmest days would have brought %.0f counts of drying and swing", s.expected)
	switch {
	case s.record > 0:
		what = fmt.Sprintf("%.1f times as long as it ever stood otherwise", s.record)
	case s.turns:
		what = fmt.Sprintf("in which its calmest days would have brought %.0f turns to and fro", s.expected)
	}
	water := ""
	if s.waters > 0 {
		water = fmt.Sprintf(", and slept through %d waterings (it moved at %d of %d others)", s.waters, h.moved, h.events)
	}
	return detect.Finding{
		Start: h.t[s.from], End: end, Open: open, Readings: s.to - s.from,
		Confidence: min(mostSure, 0.6+0.03*s.nats),
		Measured:   s.nats, Threshold: p.Param("evidence_nats"), Unit: "nat",
		Evidence: fmt.Sprintf("exactly %s %s for %s (%d readings), %s%s",
			number(h.v[s.from]), h.q.Unit(), detect.Length(h.t[s.to-1]-h.t[s.from]), s.to-s.from, what, water),
	}
}

// neverMoved judges a series of one value, which has no habit.
func (h *habit) neverMoved(s *stand) detect.Outcome {
	p, v := h.p, h.v[s.from]
	days, least := detect.Days(h.t[s.to-1]-h.t[s.from]), p.Param("never_days")
	if h.q != detect.WaterContent && (h.dead(v) || h.q.Wetness(v) <= h.q.Wetness(h.ofTension(p.Param("never_dry_kpa")))) {
		return detect.Unable(detect.NoChance, "%s %s in all of %.1f d: it may stand at an end of its scale", number(v), h.q.Unit(), days)
	}
	if days < least {
		return detect.Unable(detect.TooShort, "%s %s in all of %.1f d: needs %.0f d of readings to call a probe stuck that never moved", number(v), h.q.Unit(), days, least)
	}
	end, open := p.EndOf(s.to)
	return detect.Faulty(detect.Finding{
		Start: h.t[0], End: end, Open: open, Readings: len(h.v), Confidence: 0.6,
		Measured: days, Threshold: least, Unit: "d",
		Evidence: fmt.Sprintf("exactly %s %s in all of its %d readings over %.1f d", number(v), h.q.Unit(), len(h.v), days),
	})
}

// number prints a value with the digits that it has.
func number(v float64) string { return fmt.Sprintf("%.6g", v) }
