package robust

// SavitzkyGolay are the weights that a parabola fitted by least squares to
// 2 half + 1 equally spaced samples gives its middle sample: derivative 0
// smooths, 1 is the slope and 2 the curvature (the second derivative, with its
// factor 2!), both per sample spacing. Savitzky & Golay (1964). nil for a half
// below 1 or another derivative.
func SavitzkyGolay(half, derivative int) []float64 {
	if half < 1 || derivative < 0 || derivative > 2 {
		return nil
	}
	n := float64(2*half + 1)
	var second, fourth float64 // sums of i^2 and i^4 over the window
	for i := -half; i <= half; i++ {
		ii := float64(i * i)
		second += ii
		fourth += ii * ii
	}
	w := make([]float64, 2*half+1)
	for at := range w {
		i := float64(at - half)
		switch derivative {
		case 0:
			w[at] = (fourth - second*i*i) / (n*fourth - second*second)
		case 1:
			w[at] = i / second
		case 2:
			w[at] = 2 * (n*i*i - second) / (n*fourth - second*second)
		}
	}
	return w
}
