package robust

import "math"

// window is a sorted run of values that slides along a series, one in, one out.
type window []float64

// The methods that change its length return the window, as append does: storing
// it through a pointer would move its array to the heap.

// enter puts v into its place; the window grows by one.
func (w window) enter(v float64) window {
	s := append(w, v)
	j := len(s) - 2
	for j >= 0 && s[j] > v {
		s[j+1] = s[j]
		j--
	}
	s[j+1] = v
	return s
}

// leave takes out one value equal to v.
func (w window) leave(v float64) window {
	p := w.find(v)
	copy(w[p:], w[p+1:])
	return w[:len(w)-1]
}

// replace takes out one value equal to old and puts v in, moving only what lies
// between the two.
func (w window) replace(old, v float64) {
	p := w.find(old)
	for p+1 < len(w) && w[p+1] < v {
		w[p] = w[p+1]
		p++
	}
	for p > 0 && w[p-1] > v {
		w[p] = w[p-1]
		p--
	}
	w[p] = v
}

// find is the position of a value that is there: by halves while the window is
// long, then along it, which beats halving for the last few.
func (w window) find(v float64) int {
	lo, hi := 0, len(w)
	for hi-lo > 16 {
		mid := (lo + hi) / 2
		if w[mid] < v {
			lo = mid
		} else {
			hi = mid + 1
		}
	}
	for w[lo] != v {
		lo++
	}
	return lo
}

// median of a window that is not empty.
func (w window) median() float64 {
	n := len(w)
	if n%2 == 1 {
		return w[n/2]
	}
	return (w[n/2-1] + w[n/2]) / 2
}

// deviation is the raw median absolute deviation from m, a median of the
// window: the distances grow outwards from the middle on both sides, so merging
// the two sides halfway is enough.
func (w window) deviation(m float64) float64 {
	n := len(w)
	left, right := n/2-1, n/2
	var before, at float64
	for k := 0; k <= n/2; k++ {
		before = at
		switch {
		case left < 0 || right < n && math.Abs(w[right]-m) <= math.Abs(m-w[left]):
			at = math.Abs(w[right] - m)
			right++
		default:
			at = math.Abs(m - w[left])
			left--
		}
	}
	if n%2 == 1 {
		return at
	}
	return (before + at) / 2
}

// stackWindow is the longest window that needs no allocation.
const stackWindow = 256

// advance moves a window over x to the samples from half before i to half after
// it, fewer at the two ends. It is called for each i from 0 in turn, with an
// empty window at first.
func (w window) advance(x []float64, half, i int) window {
	n := len(x)
	if i == 0 {
		for _, v := range x[:min(half, n)] {
			w = w.enter(v)
		}
	}
	in, out := i+half, i-half-1
	switch {
	case in < n && out >= 0:
		w.replace(x[out], x[in])
	case in < n:
		w = w.enter(x[in])
	case out >= 0:
		w = w.leave(x[out])
	}
	return w
}

// windowSize is how many values a window of this half-width can hold.
func windowSize(n, half int) int { return min(n, 2*half+1) }
