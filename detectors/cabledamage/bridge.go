package cabledamage

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/detectors/soil"
	"probeward/schemas"
)

// confidenceBridge is for the least number of waterings with a history before them;
// judged, not measured.
const confidenceBridge = 0.80

// watering is what a probe did around one watering of its zone. Differences are in
// wetness.
type watering struct {
	detect.Span         // of the valve, or of the rain
	rained      bool    // rain is part of it
	from, to    int     // readings from the valve to the end of the leak
	before      float64 // wetness in the hours before
	calm        bool    // it stood there
	quick       float64 // risen within leak_minutes of the valve
	step        float64 // of that, the most from one reading to the next
	restless    float64 // how far a reading of the hours before lay from their median, at most
	stay        float64 // and from then on, while the valve was open: the median
	top         float64 // wettest while the valve was open
	back        float64 // dried again within leak_drain of the valve's end
	faster      bool    // by a factor faster than the soil's roots and sun can
	returned    bool    // most of it was gone within leak_hours of the valve's end
}

// bridged finds a splice that water bridges by what it does beside the soil's own
// answer: within minutes of the valve the reading falls by a factor, stays there
// while water drips on the splice, and most of the fall is gone within half a day
// of the valve's end. Before the damage the probe did neither; or it always did
// both, and dries faster than its soil can. Coarse soil does the same, so texture
// must be known and not be coarse.
func bridged(p *detect.Pass) (l leaking, ok bool) {
	texture, fine := notCoarse(p)
	if !fine {
		return l, false
	}
	all := waterings(p)
	step := math.Log(p.Param("leak_step"))
	if p.Kind() == detect.Tensiometer {
		step = math.Log(p.Param("leak_gauge"))
	}
	var shown []int
	for k, w := range all {
		// Of the way back half is enough: the soil answers meanwhile. Where it answers
		// more, the way back that is left must be a step of its own.
		back := w.back >= p.Param("leak_back")*w.quick || w.back >= math.Log(p.Param("leak_dried"))
		if w.calm && back && w.quick >= p.Param("leak_clear")*w.restless && math.Min(w.quick, math.Min(w.stay, 2*w.back)) >= math.Max(step, 6*p.Scale(p.Quantity().Dryness(w.top))) {
			shown = append(shown, k)
		}
	}
	if len(shown) < int(p.Param("leak_events")) {
		return l, false
	}
	var quick, back, top []float64
	for _, k := range shown {
		quick = append(quick, all[k].quick)
		back = append(back, all[k].back)
		top = append(top, all[k].top)
		all[k].judge(p, texture)
	}
	scratch := make([]float64, len(shown))
	usualQuick, usualBack := robust.Median(quick, scratch), robust.Median(back, scratch)
	dry := robust.Median(top, scratch) - step // what is wetter than this has no room to show it
	if p.Kind() == detect.Tensiometer {
		dry = p.Quantity().Wetness(detect.TensionFloor) // a share of the signal is lost at any level
	}
	onlyValves := true
	for _, k := range shown {
		onlyValves = onlyValves && !all[k].rained
	}

	for _, w := range all[shown[0]:] {
		if w.before <= dry {
			l.tried++
		}
	}
	if float64(len(shown)) < p.Param("leak_share")*float64(l.tried) {
		return l, false
	}
	earlier, own, ownBack := 0, p.Param("own_factor"), p.Param("own_back")
	alike := false
	for k, w := range all[:shown[0]] {
		switch {
		case w.before > dry, onlyValves && w.rained:
			continue // the fall within a rain is the largest of many hours
		case k == shown[0]-1 && own*w.quick <= usualQuick && ownBack*w.back > usualBack:
			continue // the damage was done while the valve was open
		}
		earlier++
		alike = alike || own*w.quick > usualQuick || ownBack*w.back > usualBack
	}
	either, both := 0, 0
	for _, k := range shown {
		w := &all[k]
		if w.faster || w.returned {
			either++
		}
		if w.faster && w.returned {
			both++
		}
	}
	since := earlier >= int(p.Param("own_waterings")) && !alike && (2*either >= len(shown) || circuitSteps(all, shown) >= p.Param("leak_sudden"))
	// Without a history only what no soil does counts, at one watering more, and
	// only where readings come close enough to see the minutes, and of blocks: a gauge
	// follows water down the hole as fast.
	always := p.Kind() == detect.GranularMatrix && earlier == 0 && both == len(shown) && len(shown) > int(p.Param("leak_events")) &&
		2*p.Cadence() <= int64(p.Param("leak_minutes")*float64(detect.Minute))
	circuit, how := electrical(p, all, shown)
	if !since && !always || !circuit {
		return l, false
	}
	v := p.Value()
	l.lowest = math.Inf(1)
	for _, k := range shown {
		w := all[k]
		for _, x := range v[w.from:w.to] {
			l.lowest = math.Min(l.lowest, x)
		}
		l.readings += w.to - w.from
		// It drips and dries for longer than it takes to show that.
		end, _ := p.EndOf(max(w.to, p.From(w.End+p.ParamHours("leak_hours"))))
		l.events = append(l.events, detect.Part{Span: detect.Span{Start: p.Time()[w.from], End: end}, Flag: schemas.FlagFail})
	}
	l.last = all[len(all)-1].Start
	l.confidence = confidenceBridge + 0.05*(float64(len(shown))-p.Param("leak_events"))
	l.what = fmt.Sprintf("fell by a factor of %.1f", math.Exp(usualQuick))
	if since {
		l.then = fmt.Sprintf("dried by a factor of %.1f within %.0f h of its end; at the %d waterings before those it did neither", math.Exp(usualBack), p.Param("leak_drain"), earlier)
	} else {
		l.then = fmt.Sprintf("was back within %.0f h of its end, faster than %s dries", p.Param("leak_hours"), texture.Name)
	}
	l.then += how
	return l, true
}

// notCoarse gives the texture, where the register has it and it is not one that
// drains within hours.
func notCoarse(p *detect.Pass) (t soil.Texture, ok bool) {
	if !p.Has(detect.NeedTexture) {
		return t, false
	}
	t, ok = soil.TextureNamed(p.Texture())
	return t, ok && t.Name != "sand" && t.Name != "loamy sand"
}

// waterings measures the series around each watering that enough was heard of.
// Pulses that come within leak_drain of each other are one.
// Rain long enough measured to say when it fell counts with them.
func waterings(p *detect.Pass) []watering {
	w, t := p.Wetness(), p.Time()
	cadence := p.Cadence()
	if cadence <= 0 {
		return nil
	}
	soon := max(int64(p.Param("leak_minutes")*float64(detect.Minute)), 2*cadence)
	drain := p.ParamHours("leak_drain")
	lead := max(3*detect.Hour, 3*cadence)
	calm := math.Log(p.Param("leak_calm"))
	limits := p.Limits()
	var scratch []float64
	median := func(x []float64) float64 {
		if cap(scratch) < len(x) {
			scratch = make([]float64, 2*len(x))
		}
		return robust.Median(x, scratch[:len(x)])
	}
	var out []watering
	for _, spell := range waters(p, drain) {
		a, i := p.From(spell.Start-lead), p.From(spell.Start)
		e, d := p.From(spell.End+cadence), p.From(spell.End+drain)
		s := min(p.From(spell.Start+soon+1), e)
		heard := float64(d-i) * float64(cadence)
		if i-a < 2 || s-i < 1 || e-s < 1 || d-e < 2 || heard < 0.75*float64(spell.Length()+drain) {
			continue
		}
		one := watering{Span: spell.Span, rained: spell.rained, from: i, to: d, before: median(w[a:i]), calm: true, stay: median(w[s:e]), top: math.Inf(-1)}
		if one.rained {
			s = e // whenever in it the rain was heavy
		}
		low := i
		for k := a; k < d; k++ {
			switch x := w[k]; {
			case p.Value()[k] > limits.High || p.Quantity() == detect.Tension && p.Value()[k] < limits.Low:
				one.calm = false
			case k < i:
				one.restless = math.Max(one.restless, math.Abs(x-one.before))
				one.calm = one.calm && math.Abs(x-one.before) < calm/2
			case k < s:
				from := one.before
				if one.rained {
					for low < k && t[k]-t[low] > soon {
						low++
					}
					from = w[low]
					for _, y := range w[low:k] {
						from = math.Min(from, y)
					}
				}
				one.quick = math.Max(one.quick, x-from)
				one.step = math.Max(one.step, x-w[k-1])
				one.top = math.Max(one.top, x)
			case k < e:
				one.top = math.Max(one.top, x)
			default:
				one.back = math.Max(one.back, one.top-x)
			}
		}
		one.stay -= one.before
		if one.rained {
			one.stay = one.quick
		}
		out = append(out, one)
	}
	return out
}

// water is a watering or a rain.
type water struct {
	detect.Span
	rained bool
	mm     float64 // of rain
}

// waters joins the waterings and the rain that come within a time of each other, and
// leaves out what is rain of less than leak_rain alone.
func waters(p *detect.Pass, near int64) []water {
	var all []water
	for _, w := range p.Irrigation() {
		all = append(all, water{Span: w.Span})
	}
	if p.Has(detect.NeedRain) {
		for _, w := range p.Rain() {
			if w.Length() <= p.ParamHours("leak_hourly") && !(w.MM.OK && w.MM.V <= 0) {
				all = append(all, water{Span: w.Span, rained: true, mm: w.MM.V})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b water) int { return cmp.Compare(a.Start, b.Start) })
	var out []water
	for _, w := range all {
		if n := len(out); n > 0 && w.Start-out[n-1].End < near {
			last := &out[n-1]
			last.End = max(last.End, w.End)
			last.rained = last.rained || w.rained
			last.mm += w.mm
			continue
		}
		out = append(out, w)
	}
	least := p.Param("leak_rain")
	return slices.DeleteFunc(out, func(w water) bool { return w.rained && w.mm < least-1e-6 }) // a sum of tenths
}

// judge fills in how the reading dried after the valve closed, and where that ended.
func (w *watering) judge(p *detect.Pass, texture soil.Texture) {
	t, v, wet := p.Time(), p.Value(), p.Wetness()
	layer, mm, faster := p.Param("leak_layer"), p.Param("leak_demand"), p.Param("leak_faster")
	late := p.From(w.End + p.ParamHours("leak_hours"))
	from := math.Max(detect.TensionFloor, tension(p, p.Quantity().Dryness(w.top)))
	gone := w.top - (1-p.Param("leak_left"))*(w.top-w.before)
	for j := p.From(w.End + p.Cadence()); j < late; j++ {
		if j < w.to && !w.faster {
			took := detect.Days(t[j] - w.End)
			w.faster = soil.DaysToDry(texture, from, tension(p, v[j]), layer, mm) >= faster*took
		}
		if wet[j] <= gone {
			w.returned = true
			w.to = min(w.to, j)
			return
		}
	}
}

// tension is a reading in kPa, by the published form at its reference temperature
// where it is in ohms: a few percent of a degree matter nothing against the bounds.
func tension(p *detect.Pass, v float64) float64 {
	if p.Quantity() != detect.Ohms {
		return v
	}
	if kPa, ok := soil.GranularTension(v, soil.ReferenceTempC); ok {
		return kPa
	}
	return 0
}
