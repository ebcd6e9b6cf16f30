package gap

import (
	"math"
	"slices"
)

// block is how many steps are held together to see the logger's step among them:
// a quarter of a day at 15 min, long enough for a share of them to mean something.
const block = 24

// few steps show no usual step.
const few = 3

// localStep is the step of a stretch of stamps where so large a share of them
// agree on it; otherwise the usual one, because readings are missing there.
func localStep(t []int64, usual int64, agreement float64) int64 {
	n := len(t) - 1
	if n < few || n > block {
		return usual
	}
	var steps [block]int64
	for i := range n {
		steps[i] = t[i+1] - t[i]
	}
	sorted := steps[:n]
	slices.Sort(sorted)
	middle := sorted[(n-1)/2]
	alike := 0
	for _, d := range sorted {
		if 10*abs(d-middle) <= middle {
			alike++
		}
	}
	if middle <= 0 || float64(alike) < agreement*float64(n) {
		return usual
	}
	return middle
}

// usualStep is the median step of the port, blanks counted as heard. Where stamps
// follow no step at all, a sender that speaks when it likes, it is the step that
// nine in ten keep; where there are hardly any stamps, the slowest that is known.
func (x *examination) usualStep() int64 {
	n, regular := 0, 0
	step := x.p.Cadence()
	x.eachStep(func(d int64) {
		n++
		k := math.Max(1, math.Round(float64(d)/float64(step)))
		if math.Abs(float64(d)-float64(k*float64(step))) <= offStep*float64(step) {
			regular++
		}
	})
	if n < few || step <= 0 {
		return x.p.ParamHours("unknown_step")
	}
	if float64(regular) >= x.p.Param("step_agreement")*float64(n) {
		return step
	}
	steps := make([]int64, 0, n)
	x.eachStep(func(d int64) { steps = append(steps, d) })
	slices.Sort(steps)
	return max(1, steps[(n-1)*9/10])
}

// offStep is how far, as a share of the step, a stamp may stand from a multiple of
// it and still follow it; stamps without any step stand there 3 times in 10.
const offStep = 0.15

// eachStep calls f with every step between stamps, values and blanks merged.
func (x *examination) eachStep(f func(d int64)) {
	last, first := int64(0), true
	for i, j := 0, 0; i < len(x.time) || j < len(x.blank); {
		var t int64
		if j >= len(x.blank) || i < len(x.time) && x.time[i] <= x.blank[j] {
			t, i = x.time[i], i+1
		} else {
			t, j = x.blank[j], j+1
		}
		if !first {
			f(t - last)
		}
		last, first = t, false
	}
}

func abs(d int64) int64 { return max(d, -d) }
