package noise

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// noisy finds the run of noisy days that begins at i: its last day, and whether it
// has as many as needed. One calm day within it is let pass once the run is proven.
// Its bends must turn to and fro as those of scatter do: a day's melt or watering
// bends as far, and one way for hours.
func noisy(days []day, i, least int, share float64) (last int, ok bool) {
	if !days[i].noisy {
		return i, false
	}
	count, calm := 0, 0
	last = i
	shown := math.Inf(1) // the least scatter of a noisy day
	for j := i; j < len(days); j++ {
		switch {
		case days[j].noisy:
			count, calm, last = count+1, 0, j
			if !days[j].byHours {
				shown = math.Min(shown, days[j].scatter)
			}
		case !days[j].known || days[j].resolution >= shown/2:
			// Where a count reaches so far, so much scatter does not show.
		default:
			calm++
		}
		if calm > 1 || calm == 1 && count < least {
			break
		}
	}
	turns, pairs := 0, 0
	for _, d := range days[i : last+1] {
		switch {
		case d.byHours:
			turns, pairs = turns+d.peakTurns, pairs+d.peakPairs
		case d.noisy:
			turns, pairs = turns+d.turns, pairs+d.pairs
		}
	}
	return last, count >= least && float64(turns) >= share*float64(pairs)
}

func finding(p *detect.Pass, days []day, i, j int) detect.Finding {
	f := detect.Finding{Start: days[i].start}
	var over []float64
	most, hours := days[i], 0
	for _, d := range days[i : j+1] {
		f.Readings += d.to - d.from
		if !d.noisy {
			continue
		}
		over = append(over, d.over())
		if d.byHours {
			hours++
		}
		if d.over() > most.over() {
			most = d
		}
	}
	f.End, f.Open = p.EndOf(days[j].to)
	if !f.Open && j == len(days)-1 { // what came after could not be judged
		f.Open = days[j].end > p.Period().Window.End-2*detect.Day
	}
	ratio := robust.Median(over, make([]float64, len(over)))
	f.Confidence = 0.8
	if ratio > 2*p.Param("ratio") {
		f.Confidence = 0.9
	}
	f.Measured, f.Threshold, f.Unit = ratio, p.Param("ratio"), "usual days"
	scatter, usual, when := most.scatter, most.usual, ""
	if most.byHours {
		scatter, usual = most.peak, most.peakUsual
	}
	if 2*hours > len(over) {
		when = " in some hours of the day"
	}
	f.Evidence = fmt.Sprintf("from one reading to the next it scatters by %s%s since %s, %.1f times its usual day (%s); %d days in a row, at a step of %s",
		size(p, scatter), when, detect.Stamp(f.Start), ratio, size(p, usual), len(over), detect.Length(most.step))
	if !f.Open {
		f.Evidence += ", until " + detect.Stamp(f.End)
	}
	return f
}

// size words a scatter.
func size(p *detect.Pass, s float64) string {
	switch {
	case p.Kind() == detect.Tensiometer && p.Quantity() == detect.Tension:
		return fmt.Sprintf("%.2g kPa", s/middleOfSigma)
	case p.Quantity() == detect.WaterContent:
		return fmt.Sprintf("%.2g m3/m3", s/middleOfSigma)
	default:
		return fmt.Sprintf("%.2g %% in %s", 100*math.Expm1(s/middleOfSigma), p.Quantity().Unit())
	}
}
