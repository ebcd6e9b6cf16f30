package cabledamage

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/schemas"
)

// confidenceSag is for two waters with a history before them; judged, not measured.
const confidenceSag = 0.75

// sagging finds a wet plug of a dielectric probe: water across its contacts takes part
// of the signal, so that the reading falls towards dry within minutes of the water,
// and rises as the plug dries. No soil dries because water comes. It must have shown
// at two waters or more and at most of those since the first; at three where fewer
// than own_waterings before them did not show it.
func sagging(p *detect.Pass) (l leaking, ok bool) {
	t, w, v := p.Time(), p.Wetness(), p.Value()
	cadence := p.Cadence()
	if cadence <= 0 {
		return l, false
	}
	soon := max(int64(p.Param("leak_minutes")*float64(detect.Minute)), 2*cadence)
	drain := p.ParamHours("leak_drain")
	late := p.ParamHours("leak_hours")
	var scratch []float64
	first, last, before, earlier := -1, int64(0), 0, 0
	l.lowest = math.Inf(1)
	for _, spell := range waters(p, drain) {
		i, e := p.From(spell.Start), p.From(spell.End+cadence)
		if i == 0 || e <= i || e == len(t) || t[i]-t[i-1] > 2*cadence {
			continue
		}
		last = spell.Start
		// How the readings of the hours before scatter: a noisy probe falls at any time.
		restless, lead := 0.0, p.From(spell.Start-max(3*detect.Hour, 3*cadence))
		scratch = append(scratch[:0], w[lead:i]...)
		middle := robust.Median(w[lead:i], scratch)
		for _, x := range w[lead:i] {
			restless = math.Max(restless, math.Abs(x-middle))
		}
		// The steepest fall within minutes, while water comes.
		fall, at, from := 0.0, -1, 0.0
		a := max(0, p.From(spell.Start-soon))
		for k := i; k < e; k++ {
			for a < k && t[k]-t[a] > soon {
				a++
			}
			for j := a; j < k && !p.Limits().Outside(v[k]); j++ {
				if d := w[j] - w[k]; d > fall && !p.Limits().Outside(v[j]) {
					fall, at, from = d, k, w[j]
				}
			}
		}
		sags := false
		if at >= 0 {
			step := math.Max(2*restless, math.Max(p.Param("sag_step"), math.Max(8*p.Scale(v[at]), p.Param("sag_share")*math.Abs(from))))
			// It lasts, or it is a spike or a flip.
			next := p.From(t[at] + soon)
			sags = fall >= step && next < len(t) && next > at+1 && from-w[next] >= fall/2 && !p.Limits().Outside(v[next])
			// While the valve is open the plug stays wet; a spike slides back. Later the
			// soil may have answered.
			hold := min(e, p.From(t[at]+max(3*detect.Hour, 4*cadence)))
			for k := next; sags && !spell.rained && k < hold; k++ {
				sags = from-w[k] >= fall/4
			}
		}
		if !sags {
			if first < 0 {
				earlier++
			} else {
				l.tried++
			}
			continue
		}
		if first < 0 {
			first = i
			before = earlier
		}
		l.tried++
		end := at
		for end < len(t) && t[end]-spell.End <= late && from-w[end] > fall/10 {
			end++
		}
		l.readings += end - at
		for _, x := range v[at:end] {
			l.lowest = math.Min(l.lowest, x)
		}
		until, _ := p.EndOf(end)
		l.events = append(l.events, detect.Part{Span: detect.Span{Start: t[at], End: until}, Flag: schemas.FlagFail})
	}
	n := len(l.events)
	if n < int(p.Param("leak_events")) || 2*n < l.tried || before < int(p.Param("own_waterings")) && n <= int(p.Param("leak_events")) {
		return l, false
	}
	l.last = last
	l.confidence = confidenceSag + 0.05*(float64(n)-p.Param("leak_events"))
	l.what = "fell towards dry"
	l.then = fmt.Sprintf("stayed there for more than %s; at the %d waters before those it did not", detect.Length(soon), before)
	return l, true
}
