package examine

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
	"probeward/pipeline/fieldlog"
)

// Contexts gives, for each probe of the register, what is known beside its readings.
// Waterings, rain and demand are cut to the period.
func Contexts(probes []detect.Probe, peaks []arrange.Peak, irrigation fieldlog.Irrigation, weather fieldlog.Weather, period detect.Period) []detect.Context {
	whole := period.Whole()
	rain := within(weather.Rain, whole)
	demand := slices.DeleteFunc(slices.Clone(weather.Demand), func(d detect.Demand) bool { return d.Overlap(whole).Length() == 0 })
	zones := map[string][]detect.Water{}
	for zone, waters := range irrigation {
		zones[zone] = within(waters, whole)
	}
	siblings := map[string]int{}
	for i := range probes {
		if probes[i].Moisture() && peaks[i].Stand > 0 {
			siblings[probes[i].Zone]++
		}
	}
	ends := scaleEnds(probes, peaks)
	out := make([]detect.Context, len(probes))
	for i := range probes {
		p := &probes[i]
		c := &out[i]
		c.Irrigation, c.HasIrrigation = zones[p.Zone], p.Zone != "" && irrigation[p.Zone] != nil
		c.Rain, c.HasRain = rain, weather.HasRain
		c.Demand, c.HasDemand = demand, len(demand) > 0
		c.ScaleEnd = ends.of(p, peaks[i])
		if n := siblings[p.Zone]; n > 0 && p.Zone != "" {
			c.Siblings = n
			if p.Moisture() && peaks[i].Stand > 0 {
				c.Siblings--
			}
		}
	}
	return out
}

func within(waters []detect.Water, whole detect.Span) []detect.Water {
	return slices.DeleteFunc(slices.Clone(waters), func(w detect.Water) bool { return w.Start >= whole.End || w.End <= whole.Start })
}

// A scale's end is a value at which several probes stand and which none of them
// passes: three of them, each for three readings in a row at least. Soil does not
// stop three probes at one and the same number.
const (
	endProbes = 3
	endStand  = 3
)

// scaleEnd is one end of the scale of one kind of export.
type scaleEnd struct {
	kind detect.Kind
	unit string
	raw  float64
}

type scaleEndList []scaleEnd

func scaleEnds(probes []detect.Probe, peaks []arrange.Peak) scaleEndList {
	counts := map[scaleEnd]int{}
	for i := range probes {
		if q := probes[i].Quantity; peaks[i].Stand >= endStand && (q == detect.Ohms || q == detect.Tension) {
			counts[scaleEnd{probes[i].Kind, probes[i].Unit, peaks[i].Value}]++
		}
	}
	var list scaleEndList
	for e, n := range counts {
		if n >= endProbes {
			list = append(list, e)
		}
	}
	slices.SortFunc(list, func(a, b scaleEnd) int {
		return cmp.Or(cmp.Compare(a.raw, b.raw), cmp.Compare(a.kind, b.kind), cmp.Compare(a.unit, b.unit))
	})
	return list
}

// of gives the end that holds for a probe: the lowest at or above its own peak
// among those of its kind and unit. A probe that passes them all has none.
func (l scaleEndList) of(p *detect.Probe, peak arrange.Peak) detect.Maybe[float64] {
	own := math.Inf(-1)
	if peak.Stand > 0 {
		own = peak.Value
	}
	for _, e := range l {
		if e.kind == p.Kind && e.unit == p.Unit && e.raw >= own {
			return detect.Some(p.Scale * (e.raw - p.Offset))
		}
	}
	return detect.Maybe[float64]{}
}
