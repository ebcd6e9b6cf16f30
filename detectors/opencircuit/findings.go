package opencircuit

import (
	"fmt"
	"math"

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
		j := i + 1
		for j < len(spells) && spells[j].Start-spells[j-1].End <= rejoin {
			j++
		}
		out = append(out, finding(p, spells[i:j]))
		i = j
	}
	return out
}

func finding(p *detect.Pass, spells []spell) detect.Finding {
	first, last := spells[0], spells[len(spells)-1]
	best := first
	f := detect.Finding{Start: first.Start, End: last.End, Open: last.open}
	for _, s := range spells {
		f.Readings += s.readings
		if s.confidence > best.confidence {
			best = s
		}
	}
	if len(spells) > 1 {
		f.Parts = parts(spells)
	}
	f.Confidence = best.confidence
	f.Measured, f.Threshold, f.Unit = best.value, best.limit, p.Quantity().Unit()
	if best.how == word {
		f.Unit = "readings"
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
	came := ""
	if !math.IsNaN(s.before) {
		came = fmt.Sprintf(", from %.4g %s the reading before", s.before, unit)
	}
	switch s.how {
	case word:
		return fmt.Sprintf("the logger wrote its code for an open circuit %d times %s; %.0f in a row are enough", f.Readings, span, s.limit)
	case signal:
		return fmt.Sprintf("%d readings stand still at %.4g %s %s%s; the least that a tensiometer there can give is %.4g %s", f.Readings, s.value, unit, span, came, s.limit, unit)
	case resting:
		return fmt.Sprintf("%d readings of exactly %.4g %s %s; air itself reads %.4g %s, and no soil stands still there", f.Readings, s.value, unit, span, detect.AirWaterContent, unit)
	case landed:
		return fmt.Sprintf("%d readings at %.4g %s %s, reached in one leap%s; no soil dries so fast, and the dry end is %.4g %s", f.Readings, s.value, unit, span, came, s.limit, unit)
	}
	side := "or more"
	if p.Quantity() == detect.WaterContent {
		side = "or less"
	}
	return fmt.Sprintf("%d readings near %.4g %s %s%s; the limit is %.4g %s %s", f.Readings, s.value, unit, span, came, s.limit, unit, side)
}
