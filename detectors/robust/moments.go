package robust

import "math"

// MeanSD is the mean and the sample standard deviation,
// sqrt(sum (x - mean)^2 / (n-1)), in two passes around the first value: exact
// for constants, and safe where the sum of squares minus the squared sum goes
// negative. Both NaN for no values, the deviation NaN for one.
func MeanSD(x []float64) (mean, sd float64) {
	if len(x) == 0 {
		return math.NaN(), math.NaN()
	}
	mean = meanOf(x)
	if len(x) == 1 {
		return mean, math.NaN()
	}
	var squares, rest float64
	for _, v := range x {
		d := v - mean
		squares += float64(d * d)
		rest += d
	}
	n := float64(len(x))
	// rest is what rounding left in the mean.
	return mean, math.Sqrt(max(0, squares-float64(rest*rest)/n) / (n - 1))
}

// LagOne is the autocorrelation at lag 1, see Autocorrelation.
func LagOne(x []float64) float64 { return Autocorrelation(x, 1) }

// Autocorrelation is sum (x_i - m)(x_{i+lag} - m) / sum (x_i - m)^2. NaN where
// the values do not vary or are no more than the lag.
func Autocorrelation(x []float64, lag int) float64 {
	if lag < 0 || len(x) <= lag {
		return math.NaN()
	}
	mean := meanOf(x)
	var cross, squares float64
	for i, v := range x {
		d := v - mean
		squares += float64(d * d)
		if i >= lag {
			cross += float64(d * (x[i-lag] - mean))
		}
	}
	if squares == 0 {
		return math.NaN()
	}
	return cross / squares
}

// meanOf is the mean of at least one value, summed as distances from the first.
func meanOf(x []float64) float64 {
	first := x[0]
	var sum float64
	for _, v := range x {
		sum += v - first
	}
	return first + sum/float64(len(x))
}
