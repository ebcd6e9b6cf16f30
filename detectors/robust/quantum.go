package robust

import (
	"math"
	"slices"
)

const (
	// quantumShare of the non-zero differences must fit the step: a splice of
	// two exports or a rare corrected value must not hide the resolution of the
	// rest.
	quantumShare = 0.98
	// quantumLeast is the fewest non-zero differences that show a resolution:
	// with fewer, the size of a jump would pass for one.
	quantumLeast = 5
	// quantumFit is how far from a whole number of steps a difference may be, in
	// steps, where rounding does not ask for more.
	quantumFit = 1e-3
	// quantumTrials and quantumGroup: candidates come from this many groups of
	// this many differences, spread over the series, so that a few odd
	// differences spoil a few candidates only.
	quantumTrials = 8
	quantumGroup  = 6
)

// Quantum is the data's own resolution: the largest step q such that at least
// 98 % of the consecutive non-zero differences of x are whole multiples of q.
// It is 1 for whole numbers, 0.1 for one decimal, 0.0078125 for a counted
// 1/128, whatever the offset. scratch needs len(x).
//
// It is 0 where none is evident: fewer than five non-zero differences, or
// values that share no step above the rounding of their own floats. Values that
// passed through single precision give the step that was printed where that is
// much coarser than their rounding (hundreds of times), else the rounding's own,
// which is as good as none.
// A series in a curved unit (whole kPa turned into ohms, logarithms) shares no
// step and gives 0: take the quantum before the curve and convert it at each
// level.
//
// Candidates are greatest common divisors of groups of differences, by Euclid
// with the rounding error carried along; each is tried on all differences, and
// refined by one that does not fit until it holds or vanishes.
func Quantum(x []float64, scratch []float64) float64 {
	steps := scratch[:0]
	var largest float64
	single := true
	for i, v := range x {
		largest = max(largest, math.Abs(v))
		single = single && float64(float32(v)) == v
		if i > 0 && v != x[i-1] {
			steps = append(steps, math.Abs(v-x[i-1]))
		}
	}
	if math.IsInf(largest, 0) {
		return 0
	}
	q := commonStep(dropRounding(steps, largest*0x1p-49), largest*0x1p-49)
	if rounding := largest * 0x1p-23; single && q < 256*rounding {
		if coarse := commonStep(dropRounding(steps, rounding), rounding); coarse > 0 {
			return coarse
		}
	}
	return q
}

// dropRounding keeps, in place, the differences that are more than rounding.
func dropRounding(steps []float64, rounding float64) []float64 {
	kept := steps[:0]
	for _, d := range steps {
		if d > rounding {
			kept = append(kept, d)
		}
	}
	return kept
}

// commonStep is the best of the candidates, tidied to the decimals it was
// written with, or 0.
func commonStep(steps []float64, rounding float64) float64 {
	n := len(steps)
	if n < quantumLeast {
		return 0
	}
	var sample [quantumTrials * quantumGroup]float64
	for i := range sample {
		sample[i] = steps[i*n/len(sample)]
	}
	var best float64
	for trial := range quantumTrials {
		q, errQ := sample[trial], rounding
		for m := 1; m < quantumGroup && q > 0; m++ {
			q, errQ = commonDivisor(q, errQ, sample[trial+m*quantumTrials], rounding, rounding)
		}
		for q > best {
			q = settle(sample[:], q, rounding)
			misfit, ok := firstMisfit(steps, q, fit(q, rounding), trial)
			if ok {
				best = q
				break
			}
			finer, _ := commonDivisor(q, rounding, misfit, rounding, rounding)
			if finer >= q {
				break
			}
			q = finer
		}
	}
	if best == 0 {
		return 0
	}
	return tidy(refine(steps, best, fit(best, rounding)))
}

// fit is how far from a whole number of steps q a difference may be, in steps.
func fit(q, rounding float64) float64 { return max(quantumFit, 2*rounding/q) }

// commonDivisor is the greatest step that both a and b are multiples of, each
// within its error, and the error of that step; 0 if what is left is rounding.
func commonDivisor(a, errA, b, errB, rounding float64) (q, errQ float64) {
	if a < b {
		a, errA, b, errB = b, errB, a, errA
	}
	for b > 32*rounding {
		times := math.Round(a / b)
		rest := math.Abs(a - float64(times*b))
		errRest := errA + float64(times*errB)
		if rest <= 2*errRest {
			return b, errB
		}
		a, errA, b, errB = b, errB, rest, errRest
	}
	return 0, 0
}

// firstMisfit reports whether enough differences are multiples of q, and if
// not, one that is none: after skipping as many as skip, so that one odd
// difference does not spoil each trial.
func firstMisfit(steps []float64, q, fit float64, skip int) (misfit float64, ok bool) {
	allowed := int((1 - quantumShare) * float64(len(steps)) * (1 + 1e-12))
	var misfits int
	for _, d := range steps {
		if times := d / q; math.Abs(times-math.Round(times)) > fit || times < 0.5 {
			misfits++
			if misfits <= skip+1 {
				misfit = d
			}
			if misfits > max(allowed, skip) {
				return misfit, false
			}
		}
	}
	return misfit, misfits <= allowed
}

// settle sharpens a step that Euclid left with the rounding of its whole chain,
// over a few differences: first those of a few steps, whose count is sure, then
// of ever more.
func settle(sample []float64, q, rounding float64) float64 {
	largest := slices.Max(sample)
	for most := 4.0; ; most *= 4 {
		var cross, squares float64
		for _, d := range sample {
			times := math.Round(d / q)
			if times >= 1 && times <= most && math.Abs(d/q-times) <= max(0.05, fit(q, rounding)) {
				cross += float64(times * d)
				squares += float64(times * times)
			}
		}
		if squares > 0 {
			q = cross / squares
		}
		if most*q >= largest {
			return tidy(q)
		}
	}
}

// refine is the least-squares step over the differences that fit q.
func refine(steps []float64, q, fit float64) float64 {
	var cross, squares float64
	for _, d := range steps {
		times := math.Round(d / q)
		if math.Abs(d/q-times) <= fit {
			cross += float64(times * d)
			squares += float64(times * times)
		}
	}
	return cross / squares
}

// tidy takes away what float arithmetic left behind: a step within 1e-6 of its
// own size of a number of seven digits is that number.
func tidy(q float64) float64 {
	scale := math.Pow(10, 6-math.Floor(math.Log10(q)))
	near := math.Round(q*scale) / scale
	if math.IsInf(scale, 0) || math.Abs(near-q) > 1e-6*q {
		return q
	}
	return near
}
