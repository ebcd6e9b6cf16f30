package shortcircuit

import (
	"sort"

	"probeward/detectors/detect"
)

// dryTime is the longest part of a stretch in which no water is logged and the
// drainage of the last is over, and the reference evapotranspiration in it, mm: a
// watering fills again what the days between two of them have taken.
// Without a log it is the whole stretch: the caller knows whether there is one.
func dryTime(p *detect.Pass, from, to int64) (length int64, demand float64) {
	drain := int64(p.Param("drain_days") * float64(detect.Day))
	// Water in the days before still drains in the stretch; before the period
	// nothing is known, so its first days count as wet.
	last := p.Period().Lookback + drain
	take := func(until int64) {
		if dry := (detect.Span{Start: max(from, last), End: min(to, until)}); dry.Length() > 0 {
			if n := dry.Length(); n > length {
				length, demand = n, demandIn(p, dry)
			}
		}
	}
	eachWater(p, from-drain, to, func(w detect.Span) {
		take(w.Start)
		last = max(last, w.End+drain)
	})
	take(to)
	return length, demand
}

// eachWater calls f with every logged watering and rain that touches a stretch, in
// the order of their starts.
func eachWater(p *detect.Pass, from, to int64, f func(detect.Span)) {
	var a, b []detect.Water
	if p.Has(detect.NeedIrrigation) {
		a = since(p.Irrigation(), from)
	}
	if p.Has(detect.NeedRain) {
		b = since(p.Rain(), from)
	}
	for len(a) > 0 || len(b) > 0 {
		next := &a
		if len(a) == 0 || len(b) > 0 && b[0].Start < a[0].Start {
			next = &b
		}
		w := (*next)[0]
		*next = (*next)[1:]
		if w.Start >= to {
			return
		}
		if w.MM.OK && w.MM.V <= 0 {
			continue
		}
		f(w.Span)
	}
}

// since leaves out what ended before an instant.
func since(list []detect.Water, from int64) []detect.Water {
	return list[sort.Search(len(list), func(i int) bool { return list[i].End > from }):]
}

func watered(p *detect.Pass, in detect.Span) bool {
	wet := false
	eachWater(p, in.Start, in.End, func(detect.Span) { wet = true })
	return wet
}

// demandIn adds up the reference evapotranspiration of a stretch, mm; 0 where none
// is known.
func demandIn(p *detect.Pass, in detect.Span) (mm float64) {
	if !p.Has(detect.NeedDemand) {
		return 0
	}
	list := p.Demand()
	for _, d := range list[sort.Search(len(list), func(i int) bool { return list[i].End > in.Start }):] {
		if d.Start >= in.End {
			break
		}
		if whole := d.Length(); whole > 0 {
			mm += d.MM * float64(d.Overlap(in).Length()) / float64(whole)
		}
	}
	return mm
}
