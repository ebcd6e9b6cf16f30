package robust

// Turn is a turning point of a series: the sample at which it stands highest
// (High) or lowest before it turns back by more than a threshold.
type Turn struct {
	Index int
	Value float64
	High  bool
}

// Turns appends to dst the turning points of x whose reversal exceeds reversal,
// in order, high and low in turn (a zigzag filter). A point is a turn only once
// the series has moved away from it by more than reversal, so the last extreme
// of a series is not one yet; the first may be the first sample. Among equal
// lows the last counts, because a rise starts there (with wetting up: the onset);
// among equal highs the first.
func Turns(x []float64, reversal float64, dst []Turn) []Turn {
	return turns(x, func(int, int) float64 { return reversal }, dst)
}

// TurnsBy is Turns with a threshold a sample, reversal as long as x, for data
// whose noise or resolution depends on the level: the larger of the threshold at
// the extreme and of the one at the sample that leaves it holds. A move that
// passes the turn before is a reversal whatever the threshold there, so that a
// turn is always the extreme between its neighbours.
func TurnsBy(x, reversal []float64, dst []Turn) []Turn {
	reversal = reversal[:len(x)]
	return turns(x, func(i, j int) float64 { return max(reversal[i], reversal[j]) }, dst)
}

func turns(x []float64, threshold func(extreme, now int) float64, dst []Turn) []Turn {
	const unknown, rising, falling = 0, 1, -1
	low, high, way := 0, 0, unknown
	var last float64 // value of the turn before
	for i, v := range x {
		if way != rising && v <= x[low] {
			low = i
		}
		if way != falling && v > x[high] {
			high = i
		}
		// Where thresholds differ, the sample that confirms a turn need not be
		// the furthest from it, hence the look back over the leg.
		switch {
		case way != rising && (v-x[low] > threshold(low, i) || way == falling && v > last):
			dst = append(dst, Turn{low, x[low], false})
			way, last, high = rising, x[low], i
			for j := i - 1; j > low; j-- {
				if x[j] >= x[high] {
					high = j
				}
			}
		case way != falling && (x[high]-v > threshold(high, i) || way == rising && v < last):
			dst = append(dst, Turn{high, x[high], true})
			way, last = falling, x[high]
			for j, end := high+1, i; j <= end; j++ {
				if j == high+1 || x[j] <= x[low] {
					low = j
				}
			}
		}
	}
	return dst
}
