package shortcircuit

import (
	"fmt"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// mostParts bounds the parts of one finding; nearer spells then become one part.
const mostParts = 200

// findings joins spells that come back within the rejoin time, and words them.
func findings(p *detect.Pass, spells []spell) []detect.Finding {
	rejoin := p.ParamHours("rejoin")
	var out []detect.Finding
	for i := 0; i < len(spells); {
		end, j := spells[i].End, i+1
		for j < len(spells) && spells[j].Start-end <= rejoin {
			end = max(end, spells[j].End)
			j++
		}
		out = append(out, finding(p, spells[i:j], end))
		i = j
	}
	return out
}

func finding(p *detect.Pass, spells []spell, end int64) detect.Finding {
	best := spells[0]
	f := detect.Finding{Start: spells[0].Start, End: end}
	for _, s := range spells {
		f.Readings += s.readings
		f.Open = f.Open || s.open
		if s.confidence > best.confidence {
			best = s
		}
	}
	if len(spells) > 1 {
		f.Parts = parts(spells)
	}
	f.Confidence = best.confidence
	f.Measured, f.Threshold, f.Unit = best.value, best.limit, p.Quantity().Unit()
	if best.unit != "" {
		f.Unit = best.unit
	}
	f.Evidence = words(p, best, f, len(spells))
	return f
}

// parts are the spells themselves: what lies between them is not this fault's.
func parts(spells []spell) []detect.Part {
	out := make([]detect.Part, len(spells))
	for i, s := range spells {
		out[i] = detect.Part{Span: s.Span, Flag: schemas.FlagFail}
	}
	return detect.Bounded(out, mostParts)
}

func words(p *detect.Pass, s spell, f detect.Finding, spells int) string {
	unit := p.Quantity().Unit()
	span := fmt.Sprintf("since %s", detect.Stamp(f.Start))
	if !f.Open {
		span = fmt.Sprintf("%s to %s", detect.Stamp(f.Start), detect.Stamp(f.End))
	}
	if spells > 1 {
		span += fmt.Sprintf(" in %d spells", spells)
	}
	switch s.how {
	case word:
		return fmt.Sprintf("the logger wrote its code for a short circuit %d times %s; %.0f in a row are enough", f.Readings, span, s.limit)
	case standing:
		return fmt.Sprintf("%d readings of exactly %.4g %s %s, %s; a wet probe flickers or dries there", f.Readings, s.value, unit, span, s.why)
	case follows:
		return fmt.Sprintf("%d readings near %.4g %s %s are %s", f.Readings, s.value, unit, span, s.why)
	}
	side := "under"
	if p.Quantity() == detect.WaterContent {
		side = "over"
	}
	return fmt.Sprintf("%d readings near %.4g %s %s, %s the limit of %.4g %s", f.Readings, s.value, unit, span, side, s.limit, unit)
}
