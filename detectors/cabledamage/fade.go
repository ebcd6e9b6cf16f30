package cabledamage

import (
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/schemas"
)

// confidenceFade is judged, not measured.
const confidenceFade = 0.70

// fadeTriples is how many second differences a stretch must have for its scatter: the
// mean of so many is sure to a twelfth (derived from the normal distribution).
const fadeTriples = 100

// fadeDay is one UTC day of the series.
type fadeDay struct {
	from, to int
	level    float64 // median
}

// faded finds a plug of a dielectric probe that corrodes: a growing share of the signal
// is lost in it, so that the level sinks below all that it was, while the zone is still
// watered; and because a bad contact is never still, the readings scatter more as they
// sink. Soil that dries and a sensor that loses gain both sink, but the one scatters as
// before, and the other less.
func faded(p *detect.Pass) (f detect.Finding, ok bool) {
	if p.Quantity() != detect.WaterContent || !p.Has(detect.NeedIrrigation) || p.Cadence() <= 0 {
		return f, false
	}
	t, v := p.Time(), p.Value()
	days := fadeDays(p)
	end := p.Period().Window.End
	recent := end - int64(p.Param("fade_recent")*float64(detect.Day))
	old := end - int64(p.Param("fade_old")*float64(detect.Day))
	least, before := math.Inf(1), 0
	for _, d := range days {
		if t[d.from] < old {
			least = math.Min(least, d.level)
			before++
		}
	}
	n := len(days)
	if before < int(p.Param("fade_days")) || n-before < int(p.Param("fade_recent")) || least <= 0 {
		return f, false
	}
	now := (days[n-1].level + days[n-2].level) / 2
	if lost := 1 - now/least; lost < p.Param("fade_share") || !watered(p, recent) {
		return f, false
	}
	// It still sinks, and no step brought it there.
	from := n - 1
	for from > before && days[from-1].level < least {
		from--
	}
	highest := days[from].level
	for i := max(1, from); i < n; i++ {
		if days[i-1].level-days[i].level > (least-now)/2 && days[i].level < least {
			return f, false
		}
	}
	if days[n-1-int(p.Param("fade_recent"))].level <= now {
		return f, false
	}
	scatter, triples := scatterOf(p, p.From(recent), len(t))
	past, pastTriples := scatterOf(p, 0, p.From(old))
	quantum := p.Quantum()
	if triples < fadeTriples || pastTriples < fadeTriples || past <= quantum/2 || scatter < p.Param("fade_scatter")*past {
		return f, false
	}
	// A scatter that is a large part of the fall is noise over a soil that dries.
	if fall := highest - now; fall < 3*scatter && least-now < 3*scatter {
		return f, false
	}
	// It began no later than the scatter did; the sinking may be the soil's for longer.
	at := n - 1
	for at > from {
		x, _ := scatterOf(p, days[max(0, at-2)].from, days[at-1].to)
		if x < p.Param("fade_scatter")*past {
			break
		}
		at--
	}
	start := t[days[at].from]
	f = detect.Finding{
		Start: start, End: end, Open: true, Readings: len(v) - days[at].from,
		Confidence: confidenceFade,
		Measured:   scatter / past, Threshold: p.Param("fade_scatter"), Unit: "1",
		Evidence: fmt.Sprintf("sank to %.3f m3/m3, %.0f %% below the lowest day up to %s (%.3f), though its zone was watered, and meanwhile its readings scatter %.1f times as much as before: soil that dries scatters no more than before, a contact that corrodes does",
			now, 100*(1-now/least), detect.Stamp(old), least, scatter/past),
	}
	f.Parts = []detect.Part{{Span: detect.Span{Start: start, End: end}, Flag: schemas.FlagSuspect}}
	return f, true
}

// watered says whether water came to the zone since an instant.
func watered(p *detect.Pass, since int64) bool {
	for _, w := range p.Irrigation() {
		if w.Start >= since {
			return true
		}
	}
	return false
}

// fadeDays lists the days with half a day of readings or more.
func fadeDays(p *detect.Pass) []fadeDay {
	t, v := p.Time(), p.Value()
	var out []fadeDay
	var x, scratch []float64
	for i := 0; i < len(t); {
		day := t[i] - ((t[i]%detect.Day)+detect.Day)%detect.Day
		j := i + 1
		for j < len(t) && t[j] < day+detect.Day {
			j++
		}
		if 2*int64(j-i)*p.Cadence() >= detect.Day {
			x = append(x[:0], v[i:j]...)
			scratch = append(scratch[:0], x...)
			out = append(out, fadeDay{from: i, to: j, level: robust.Median(x, scratch)})
		}
		i = j
	}
	return out
}

// scatterOf is the scatter of the readings [from, to), by the mean of the lower nine
// tenths of their second differences at the probe's cadence, as a standard deviation.
func scatterOf(p *detect.Pass, from, to int) (sigma float64, triples int) {
	t, v := p.Time(), p.Value()
	limits := p.Limits()
	var x []float64
	for i := max(from, 2); i < to; i++ {
		if 2*(t[i]-t[i-2]) <= 5*p.Cadence() && !limits.Outside(v[i]) && !limits.Outside(v[i-1]) && !limits.Outside(v[i-2]) {
			x = append(x, math.Abs(v[i]-2*v[i-1]+v[i-2]))
		}
	}
	n := len(x) * 9 / 10
	if n == 0 {
		return 0, 0
	}
	slices.Sort(x)
	sum := 0.0
	for _, d := range x[:n] {
		sum += d
	}
	// Of a normal of deviation sqrt(6), cut at 1.645 deviations, the mean is 0.657 of that.
	return sum / float64(n) / (0.657 * math.Sqrt(6)), len(x)
}
