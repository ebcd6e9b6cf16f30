package drill

import (
	"slices"

	"probeward/detectors/detect"
)

// missing takes readings out.
func missing(h *hand) string {
	h.of(h.t.Places[0]).hush(h.fault)
	return ""
}

// silentLogger takes out all that its ports said.
func silentLogger(h *hand) string {
	since := [...]int64{12 * detect.Hour, 2 * detect.Day, 5 * detect.Day}[h.t.Strength]
	h.fault.Start = max(h.fault.End-since, h.b.in.Examine.Period.Window.Start)
	for _, place := range h.t.Places {
		h.of(place).hush(h.fault)
	}
	return ""
}

// brownOut lets ports fall to the wet end together, before dawn.
func brownOut(h *hand) string {
	nights := [...]int64{1, 2, 4}[h.t.Strength]
	end := h.fault.End
	h.fault.Start = max(end-(nights+1)*detect.Day, h.b.in.Examine.Period.Window.Start)
	var ports []int
	for _, place := range h.t.Places {
		if h.b.in.Examine.Probes[place].Quantity.Moist() {
			ports = append(ports, place)
		}
	}
	ports = ports[:max(2, (2*len(ports)+2)/3)]
	first := h.fault.Start - h.fault.Start%detect.Day + h.r.Int64N(detect.Day)
	if first < h.fault.Start {
		first += detect.Day
	}
	h.fault.Start = first
	for _, place := range ports {
		s := h.of(place)
		for k := range nights {
			start := first + k*detect.Day
			s.change(detect.Span{Start: start, End: start + 2*detect.Hour}, func(int64, float64) float64 { return h.dead(s, false) })
		}
	}
	return ""
}

// otherKind registers a probe as one of another kind and unit.
func otherKind(h *hand) string {
	h.whole()
	p := h.row(h.t.Places[0])
	switch {
	case p.Quantity == detect.WaterContent:
		p.Kind, p.Unit, p.Quantity, p.Scale, p.Offset = detect.GranularMatrix, "kPa", detect.Tension, 1, 0
	case p.Quantity == detect.Ohms:
		p.Unit, p.Quantity, p.Scale, p.Offset = "kPa", detect.Tension, 1, 0
	default:
		p.Kind, p.Unit, p.Quantity, p.Scale, p.Offset = detect.Dielectric, "%", detect.WaterContent, 0.01, 0
	}
	h.v.probes[p.Index] = p
	return ""
}

// copied gives a probe the readings of another one of its kind and unit in its zone, at
// the stamps that they share. The other is part of the fault.
func copied(h *hand) string {
	place := h.t.Places[0]
	own := &h.b.in.Examine.Probes[place]
	var others []int
	for i := range h.b.in.Examine.Probes {
		p := &h.b.in.Examine.Probes[i]
		if i != place && p.Kind == own.Kind && p.Unit == own.Unit && p.Scale == own.Scale && p.Offset == own.Offset && p.Zone == own.Zone && h.b.isFit(i) {
			others = append(others, i)
		}
	}
	if len(others) == 0 {
		return "the zone has no other fit probe of its kind"
	}
	source := others[h.r.IntN(len(others))]
	s := h.of(place)
	var from detect.Series
	h.b.view(source).Series(&asExported, &from)
	same := 0
	for i := s.from(h.fault.Start); i < len(s.Time) && s.Time[i] < h.fault.End; i++ {
		if k, ok := slices.BinarySearch(from.Time, s.Time[i]); ok {
			s.Value[i] = from.Value[k]
			same++
		}
	}
	if same == 0 {
		return "no other probe has readings at its stamps"
	}
	h.also = []int{source}
	return ""
}

// otherZone registers a post in another zone of which waterings are logged.
func otherZone(h *hand) string {
	h.whole()
	probes := h.b.in.Examine.Probes
	own := probes[h.t.Places[0]].Zone
	var zones []string
	for z, waters := range h.b.in.Water {
		if z != own && len(waters) > 0 && slices.ContainsFunc(probes, func(p detect.Probe) bool { return p.Zone == z }) {
			zones = append(zones, z)
		}
	}
	if len(zones) == 0 {
		return "needs a log of waterings of two zones"
	}
	slices.Sort(zones)
	zone := zones[h.r.IntN(len(zones))]
	for _, place := range h.t.Places {
		p := h.row(place)
		p.Zone = zone
		h.v.probes[place] = p
	}
	return ""
}

// depthsSwapped swaps the readings of the shallowest and the deepest probe of a kind.
func depthsSwapped(h *hand) string {
	h.whole()
	probes := h.b.in.Examine.Probes
	places := slices.Clone(h.t.Places)
	places = slices.DeleteFunc(places, func(i int) bool { return !probes[i].DepthCM.OK })
	slices.SortStableFunc(places, func(a, b int) int { return int(probes[a].DepthCM.V - probes[b].DepthCM.V) })
	if len(places) < 2 {
		return "the post has no two probes with a depth"
	}
	up, down := places[0], places[len(places)-1]
	a, b := &probes[up], &probes[down]
	if a.DepthCM.V == b.DepthCM.V || a.Kind != b.Kind || a.Unit != b.Unit || a.Scale != b.Scale || a.Offset != b.Offset {
		return "the post has no two probes of a kind and unit at different depths"
	}
	upper, lower := h.of(up).Series, h.of(down).Series
	*upper, *lower = *lower, *upper
	return ""
}

// whole says that the fault stands all through the period: the register's do.
func (h *hand) whole() { h.fault = h.b.in.Examine.Period.Whole() }

// row is a probe's register row in this variant.
func (h *hand) row(place int) detect.Probe { return h.w.world.probes[place] }

// notGiven logs a watering that did not come: of the zone's usual length and depth, at
// an hour at which for a day and a half before and after none was logged and no rain
// fell, so that nothing else answers for it.
func notGiven(h *hand) string {
	log := h.b.in.Water[h.t.Name]
	if len(log) < 3 {
		return "needs three logged waterings of the zone"
	}
	usual := log[h.r.IntN(len(log))]
	const clear = 36 * detect.Hour
	window := h.b.in.Examine.Period.Window
	var free []int64
	for t := window.Start; t+usual.Length()+clear <= window.End; t += detect.Hour {
		around := detect.Span{Start: t - clear, End: t + usual.Length() + clear}
		near := func(w detect.Water) bool { return w.Overlap(around).Length() > 0 }
		if !slices.ContainsFunc(log, near) && !slices.ContainsFunc(h.b.in.Weather.Rain, near) {
			free = append(free, t)
		}
	}
	if len(free) == 0 {
		return "the window has no three days between waterings"
	}
	start := free[h.r.IntN(len(free))]
	extra := detect.Water{Span: detect.Span{Start: start, End: start + usual.Length()}, MM: usual.MM}
	h.fault = detect.Span{Start: start, End: window.End}
	log = append(slices.Clone(log), extra)
	slices.SortFunc(log, func(a, b detect.Water) int { return int(min(max(a.Start-b.Start, -1), 1)) })
	h.v.water[h.t.Name] = log
	return ""
}

// notLogged takes a watering of the window out of the log, one that lies a day and a
// half from its neighbours.
func notLogged(h *hand) string {
	log := h.b.in.Water[h.t.Name]
	const clear = 36 * detect.Hour
	window := h.b.in.Examine.Period.Window
	var alone []int
	for i, w := range log {
		if window.Holds(w.Start) && w.End+detect.Day/2 <= window.End && (i == 0 || w.Start-log[i-1].End >= clear) && (i+1 == len(log) || log[i+1].Start-w.End >= clear) {
			alone = append(alone, i)
		}
	}
	if len(alone) == 0 || len(log) < 3 {
		return "no watering of the window lies a day and a half from the next"
	}
	i := alone[h.r.IntN(len(alone))]
	h.fault = detect.Span{Start: log[i].Start, End: window.End}
	h.v.water[h.t.Name] = slices.Delete(slices.Clone(log), i, i+1)
	return ""
}
