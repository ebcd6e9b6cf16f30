package clockerror

import (
	"cmp"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// drifts finds a clock that loses or gains time from some day on.
func (r *rhythm) drifts() (e event, cost float64, ok bool) {
	days := int64(r.p.Param("drift_days")) * detect.Day
	end := r.whole.End
	bestCost, bestAt := math.Inf(1), int64(0)
	for at := r.whole.Start; at+days <= end; at += detect.Day {
		cost := 0.0
		for i := range r.beats {
			cost += r.hinge(&r.beats[i], at, nil) / r.day(&r.beats[i])
		}
		if cost < bestCost {
			bestCost, bestAt = cost, at
		}
	}
	if math.IsInf(bestCost, 1) {
		return event{}, bestCost, false
	}
	var all []witness
	for i := range r.beats {
		r.hinge(&r.beats[i], bestAt, &all)
	}
	total, sd := agreed(all)
	strong, against := r.count(all, total)
	if against || strong < int(r.p.Param("swing_channels")) || math.Abs(total) < r.leastDrift() {
		return event{}, bestCost, false
	}
	return r.drifting(bestAt, total, sd, all), bestCost, true
}

// leastDrift is what a drift must amount to, h: readings are dated no more finely than
// half a step.
func (r *rhythm) leastDrift() float64 {
	return max(r.p.Param("least_drift"), detect.Hours(r.cadence())/2)
}

// hinge fits a level before an instant and a line after it that begins there, and
// gives what the points stand off. It tells how far the line goes by the end.
func (r *rhythm) hinge(b *detect.Beat, at int64, says *[]witness) (cost float64) {
	before, after := within(b.Points, detect.Span{Start: r.whole.Start, End: at}), within(b.Points, detect.Span{Start: at, End: r.whole.End})
	if len(after) < int(r.p.Param("drift_days"))/2 {
		return 0
	}
	var level, slope float64
	t, y := make([]float64, 0, len(after)), make([]float64, 0, len(after))
	for _, p := range after {
		t, y = append(t, detect.Days(p.Time-at)), append(y, p.Ahead)
	}
	scratch := make([]float64, max(len(after), robust.TheilSenSize(len(after))))
	if len(before) >= int(r.p.Param("swing_days")) {
		level, cost = r.middle(before)
		rates := make([]float64, len(t))
		for i := range t {
			rates[i] = (y[i] - level) / t[i]
		}
		slope = weightedMedian(rates, t)
	} else {
		slope, level = robust.TheilSenScratch(t, y, scratch)
	}
	for i := range t {
		cost += math.Abs(y[i] - level - slope*t[i])
	}
	if says != nil {
		n, whole := float64(len(after)), detect.Days(r.whole.End-at)
		sd := math.Sqrt(12*median2*sq(r.day(b))/n + 2*sq(r.week(b)))
		*says = append(*says, witness{b.Channel, slope * whole, sd})
	}
	return cost
}

// weightedMedian is the rate that leaves the least sum of absolute distances of a
// line through the origin.
func weightedMedian(v, weight []float64) float64 {
	order := make([]int, len(v))
	total := 0.0
	for i := range v {
		order[i] = i
		total += weight[i]
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(v[a], v[b]) })
	sum := 0.0
	for _, i := range order {
		if sum += weight[i]; sum >= total/2 {
			return v[i]
		}
	}
	return 0
}
