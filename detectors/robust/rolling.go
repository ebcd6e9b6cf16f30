package robust

// RollingMedian writes to dst[i] the median of x from i-half to i+half, with
// windows cut short at the two ends, and returns dst[:len(x)]. dst needs len(x)
// and must not overlap x. Windows of up to 256 samples allocate nothing.
func RollingMedian(dst, x []float64, half int) []float64 {
	dst = dst[:len(x)]
	half = max(half, 0)
	var fixed [stackWindow]float64
	buffer := fixed[:]
	if size := windowSize(len(x), half); size > len(buffer) {
		buffer = make([]float64, size)
	}
	w := window(buffer[:0])
	for i := range x {
		w = w.advance(x, half, i)
		dst[i] = w.median()
	}
	return dst
}

// RollingMAD writes the median and the raw median absolute deviation of x from
// i-half to i+half to median[i] and mad[i], with windows cut short at the two
// ends. Both need len(x) and must not overlap x. Windows of up to 256 samples
// allocate nothing.
func RollingMAD(median, mad, x []float64, half int) {
	median, mad = median[:len(x)], mad[:len(x)]
	half = max(half, 0)
	var fixed [stackWindow]float64
	buffer := fixed[:]
	if size := windowSize(len(x), half); size > len(buffer) {
		buffer = make([]float64, size)
	}
	w := window(buffer[:0])
	for i := range x {
		w = w.advance(x, half, i)
		m := w.median()
		median[i], mad[i] = m, w.deviation(m)
	}
}

// Hampel appends to dst the indices of the samples that stand further from the
// median of their window than
//
//	t max(Consistency MAD, floor)
//
// with windows of half samples to each side, cut short at the two ends. floor is
// in the unit of x: whole-number data have a zero MAD most of the time, so it
// should be at least the data's own resolution (see Quantum). Windows of up to
// 256 samples allocate nothing beyond dst.
func Hampel(x []float64, half int, t, floor float64, dst []int) []int {
	half = max(half, 0)
	var fixed [stackWindow]float64
	buffer := fixed[:]
	if size := windowSize(len(x), half); size > len(buffer) {
		buffer = make([]float64, size)
	}
	w := window(buffer[:0])
	for i := range x {
		w = w.advance(x, half, i)
		m := w.median()
		far := x[i] - m
		if far < 0 {
			far = -far
		}
		// The floor is the cheap half of the test and settles most samples.
		if far > t*floor && far > t*Consistency*w.deviation(m) {
			dst = append(dst, i)
		}
	}
	return dst
}
