package robust

// Run is a stretch of samples, half-open: From is in it, To is not.
type Run struct{ From, To int }

// Len is the number of samples.
func (r Run) Len() int { return r.To - r.From }

// EqualRuns appends to dst each longest run of exactly equal values that is at
// least atLeast samples long, in order. Nothing is rounded: on data read from
// decimals equal means written alike.
func EqualRuns(x []float64, atLeast int, dst []Run) []Run {
	from := 0
	for i := 1; i <= len(x); i++ {
		if i < len(x) && x[i] == x[from] {
			continue
		}
		if i-from >= atLeast {
			dst = append(dst, Run{from, i})
		}
		from = i
	}
	return dst
}
