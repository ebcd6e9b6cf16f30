package robust

// CUSUM is the upper cumulative sum of standardised values,
// C = max(0, C + z - k), and index is the first sample at which C exceeds h,
// with c its value there. ok is false, and c the last value, if it never does.
// k is half the shift to be found in standard deviations, usually 0.5, and h 4
// or 5. For a shift down pass negated values; both sides together halve the
// average run to a false alarm (with k = 0.5 and independent values 168 samples
// at h = 4, 465 at h = 5). Hourly soil data with a lag-one correlation near 0.9
// break those figures: use daily values or whiten first.
func CUSUM(z []float64, k, h float64) (index int, c float64, ok bool) {
	for i, v := range z {
		c = max(0, c+v-k)
		if c > h {
			return i, c, true
		}
	}
	return 0, c, false
}
