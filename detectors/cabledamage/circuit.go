package cabledamage

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// electrical says whether what the waterings did is a circuit's doing. Water that runs
// down the hole to a deep probe comes as early and may leave as fast; but it fills the
// soil ever more while it runs. A bridge beside a block is all there at once and then
// stands, and one in a plug takes the same share of a gauge's signal each time, most of
// it from one reading to the next. The words say which.
func electrical(p *detect.Pass, all []watering, shown []int) (bool, string) {
	scratch := make([]float64, len(shown))
	var ratio, quick []float64
	for _, k := range shown {
		w := all[k]
		if w.rained {
			continue // whenever the rain was heavy, there is no plateau to see
		}
		ratio = append(ratio, w.quick/math.Max(w.stay, 1e-9))
		quick = append(quick, w.quick)
	}
	if len(ratio) == 0 {
		return false, ""
	}
	if p.Kind() == detect.Tensiometer {
		low, high := ends(quick)
		same := len(quick) >= int(p.Param("own_waterings")) && high-low <= p.Param("leak_share_spread")*robust.Median(quick, scratch)
		return same && circuitSteps(all, shown) >= p.Param("leak_sudden"),
			fmt.Sprintf("; each time %.0f to %.0f %% of the signal went", 100*(1-math.Exp(-low)), 100*(1-math.Exp(-high)))
	}
	return robust.Median(ratio, scratch) >= p.Param("leak_plateau"),
		"; it was all there at once and then stood, where water down the hole goes on wetting"
}

// circuitSteps is how much of the fall comes from one reading to the next: the median.
func circuitSteps(all []watering, shown []int) float64 {
	var share []float64
	for _, k := range shown {
		if w := all[k]; w.quick > 0 {
			share = append(share, w.step/w.quick)
		}
	}
	if len(share) == 0 {
		return 0
	}
	return robust.Median(share, make([]float64, len(share)))
}

func ends(x []float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range x {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return low, high
}
