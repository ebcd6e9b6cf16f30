package dryoutspike

import (
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
)

// bound says whether the fall is faster than the soil: whether the six tenths of
// the depth that were lost during it take the soil longer at the day's demand.
func (s *search) bound(c *spike) {
	c.et0 = s.et0(c.Start)
	perDay := soil.DryingBound(c.et0, s.p.Param("crop_factor"), s.layer)
	upper, lower := c.trough+0.8*c.depth, c.trough+0.2*c.depth
	lost := s.lost(upper, lower)
	// Noon's rate until that has used up the day's sum, then the day's mean.
	days := lost / perDay / s.p.Param("peak_share")
	if lost > perDay {
		days = lost / perDay
	}
	c.least = int64(min(days, 1e5) * float64(detect.Day))
	// One step is the shortest time that a fall can be seen to take, and may well
	// have been shorter: nothing to allow for.
	c.beyond = c.fall < c.least
}

// lost is the water content that the soil loses between two wetnesses, in m3/m3:
// through the registered texture, or the one that loses least.
func (s *search) lost(upper, lower float64) float64 {
	q := s.p.Quantity()
	if q == detect.WaterContent {
		return upper - lower
	}
	wet, okWet := tension(q, q.Dryness(upper))
	dry, okDry := tension(q, q.Dryness(lower))
	if !okWet || !okDry {
		return 0
	}
	if s.known {
		return waterBetween(s.texture, wet, dry)
	}
	least := math.Inf(1)
	for _, t := range soil.Textures() {
		least = min(least, waterBetween(t, wet, dry))
	}
	return least
}

// waterBetween is what a texture loses from one tension in kPa to a drier one.
func waterBetween(t soil.Texture, wetKPa, dryKPa float64) float64 {
	return t.WaterContent(wetKPa) - t.WaterContent(dryKPa)
}

// tension of a standard value, kPa. Ohms are taken at the conversion's reference
// temperature: the bound is not sharp enough for ten degrees to matter.
func tension(q detect.Quantity, v float64) (float64, bool) {
	if q == detect.Ohms {
		return soil.GranularTension(v, soil.ReferenceTempC)
	}
	return max(v, 0), true
}

// et0 is the reference evapotranspiration in mm/d over the day around an instant,
// and the limit where none is known.
func (s *search) et0(at int64) float64 {
	limit := s.p.Param("et0_limit")
	if !s.p.Has(detect.NeedDemand) {
		return limit
	}
	day := detect.Span{Start: at - detect.Day/2, End: at + detect.Day/2}
	mm, covered := 0.0, int64(0)
	for _, d := range s.p.Demand() {
		if d.Start >= day.End {
			break
		}
		if both := d.Overlap(day).Length(); both > 0 {
			mm += d.MM * float64(both) / float64(d.Length())
			covered += both
		}
	}
	if covered < detect.Day/2 {
		return limit
	}
	return min(limit, max(s.p.Param("et0_least"), mm/detect.Days(covered)))
}

// textureName for evidence.
func (s *search) textureName() string {
	if s.known {
		return s.texture.Name
	}
	return "the loosest soil (no texture in the register)"
}
