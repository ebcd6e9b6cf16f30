package outofrange

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// mostParts bounds the parts of one finding; nearer stretches then become one part.
const mostParts = 200

// findings joins stretches that come back within the rejoin time.
func findings(p *detect.Pass, all []stretch) []detect.Finding {
	rejoin := p.ParamHours("rejoin")
	var out []detect.Finding
	for i := 0; i < len(all); {
		j := i + 1
		for j < len(all) && all[j].Start-all[j-1].End <= rejoin {
			j++
		}
		out = append(out, finding(p, all[i:j]))
		i = j
	}
	return out
}

func finding(p *detect.Pass, all []stretch) detect.Finding {
	first, last := all[0], all[len(all)-1]
	f := detect.Finding{Start: first.Start, End: last.End, Parts: parts(all)}
	// Where nothing was heard since, a few readings out of range do not still stand.
	f.Open = last.open && p.Period().Window.End-last.End <= p.ParamHours("rejoin")
	worst, hard := first, 0
	for _, s := range all {
		f.Readings += s.readings
		if s.hard {
			hard += s.readings
		}
		if s.hard && !worst.hard || s.hard == worst.hard && s.scales > worst.scales {
			worst = s
		}
	}
	f.Confidence = confidence(worst, hard, f.Readings)
	f.Measured, f.Threshold, f.Unit = worst.farthest, worst.limit, p.Quantity().Unit()
	f.Evidence = words(f, worst, hard)
	return f
}

// confidence grows with how far out the worst reading lies and with how many there
// are: from 0.45 for one just past the limit, and 0.75 for one far out, to 0.99 for a day of far ones. What
// only a texture speaks against stays at half of that. Judged, not measured.
func confidence(worst stretch, hard, all int) float64 {
	n := hard
	if !worst.hard {
		n = all
	}
	far := math.Min(1, worst.scales/10)
	many := math.Min(1, math.Log2(1+float64(n))/math.Log2(25))
	c := 0.40 + 0.28*far + 0.31*many
	if !worst.hard {
		return c / 2
	}
	return c
}

// parts are the readings out of range themselves: fail beyond the limits, suspect
// beyond a texture's range.
func parts(all []stretch) []detect.Part {
	out := make([]detect.Part, len(all))
	for i, s := range all {
		out[i] = detect.Part{Span: s.Span, Flag: schemas.FlagSuspect}
		if s.hard {
			out[i].Flag = schemas.FlagFail
		}
	}
	return detect.Bounded(out, mostParts)
}

func words(f detect.Finding, worst stretch, hard int) string {
	span := fmt.Sprintf("since %s", detect.Stamp(f.Start))
	if !f.Open {
		span = fmt.Sprintf("%s to %s", detect.Stamp(f.Start), detect.Stamp(f.End))
	}
	side := "below the least"
	if worst.high {
		side = "above the most"
	}
	if !worst.hard {
		return fmt.Sprintf("%s %s outside what the registered texture can be, as far as %.4g %s; the limit is %.4g %s", counted(f.Readings), span, worst.farthest, f.Unit, worst.limit, f.Unit)
	}
	return fmt.Sprintf("%s %s outside what the sensor or soil can be, as far as %.4g %s, %s of %.4g %s", counted(hard), span, worst.farthest, f.Unit, side, worst.limit, f.Unit)
}

func counted(n int) string {
	if n == 1 {
		return "1 reading"
	}
	return fmt.Sprintf("%d readings", n)
}
