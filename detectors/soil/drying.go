package soil

import "math"

const (
	// KcMax is the most that a crop takes as a multiple of the reference
	// evapotranspiration: FAO-56 eq. 72 gives 1.05-1.30. A vine's own mid-season
	// factor (0.70) is a mean and no bound.
	KcMax = 1.20

	// KcWineMid and KcTableMid are the mid-season factors of wine and of table
	// grapes, FAO-56 table 12.
	KcWineMid  = 0.70
	KcTableMid = 0.85

	// DepletionWine and DepletionTable are the shares of the available water
	// that grapes take without stress at 5 mm/day, FAO-56 table 22.
	DepletionWine  = 0.45
	DepletionTable = 0.35
)

// DryingBound is the fastest that roots and sun can dry a layer, in m3/m3 per
// day: kc et0 / (1000 layer), et0 in mm/day, layer in metres, as if all the
// water came from this layer. Bound water content with it and not tension: the
// same loss is a small step in wet clay and hundreds of kPa in sand. A layer of
// no thickness has no bound, +Inf. Drainage is not in it: keep away from the
// days after a wetting.
func DryingBound(et0MMPerDay, kc, layerMetres float64) float64 {
	if !(layerMetres > 0) {
		return math.Inf(1)
	}
	return kc * et0MMPerDay / (1000 * layerMetres)
}

// DaysToDry is the least time in days in which a layer of the texture goes from
// one tension in kPa to a drier one when layerM metres of it lose mmPerDay. It
// is 0 where the second is not drier, and +Inf where nothing is lost.
func DaysToDry(texture Texture, fromKPa, toKPa, layerM, mmPerDay float64) float64 {
	lost := 1000 * layerM * (texture.WaterContent(fromKPa) - texture.WaterContent(toKPa))
	switch {
	case !(lost > 0):
		return 0
	case !(mmPerDay > 0):
		return math.Inf(1)
	}
	return lost / mmPerDay
}

// QuickestToDry is DaysToDry of the texture that dries soonest over this range,
// with that texture: the bound that holds where the register names none.
func QuickestToDry(fromKPa, toKPa, layerM, mmPerDay float64) (days float64, quickest Texture) {
	days = math.Inf(1)
	for i, t := range textures {
		if d := DaysToDry(t, fromKPa, toKPa, layerM, mmPerDay); i == 0 || d < days {
			days, quickest = d, t
		}
	}
	return days, quickest
}

// AvailableWater is the water in mm between field capacity and wilting point
// over a root depth in metres, FAO-56 eq. 82.
func AvailableWater(fieldCapacity, wiltingPoint, rootM float64) float64 {
	return 1000 * (fieldCapacity - wiltingPoint) * rootM
}

// DepletionFraction is the share of the available water taken without stress at
// a crop demand in mm/day, FAO-56 table 22's footnote: p + 0.04 (5 - ETc), kept
// within 0.1-0.8.
func DepletionFraction(atFive, etcMMPerDay float64) float64 {
	return clamp(atFive+0.04*(5-etcMMPerDay), 0.1, 0.8)
}
