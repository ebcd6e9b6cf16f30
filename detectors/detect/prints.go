package detect

import "math"

// Print is the fingerprint of a few changes of value in a row: of the values, and of
// how many readings each of them stood. Whoever copies the readings copies it, and it
// stays the same where the copy comes later.
type Print struct {
	Time int64 // of the last change
	Hash uint64
}

// How prints are taken. So many changes in a row are alike by chance only where
// readings flicker between two values, and there the readings between the changes
// differ. One print in so many is kept, picked by its own hash, so that a series and
// its copy keep the same ones (content-defined sampling; the idea of winnowing,
// Schleimer, Wilkerson & Aiken 2003).
const (
	printChanges = 8
	printKept    = 16
	// MaxPrints of a series are kept, the newest.
	MaxPrints = 512
)

// prints takes the fingerprints of the series.
func (s *Shared) prints() []Print {
	t, v := s.series.Time, s.series.Value
	var ring [printChanges]uint64
	var out []Print
	changes, stood := 0, uint64(0)
	for i := 1; i < len(v); i++ {
		stood++
		if v[i] == v[i-1] {
			continue
		}
		ring[changes%printChanges] = mixed(mixed(0, math.Float64bits(v[i]+0)), stood) // -0 as 0
		changes++
		stood = 0
		if changes < printChanges {
			continue
		}
		h := uint64(0)
		for k := range uint64(printChanges) {
			h = mixed(h, ring[(uint64(changes)+k)%printChanges])
		}
		h ^= h >> 32
		if h%printKept == 0 {
			out = append(out, Print{t[i], h})
		}
	}
	if n := len(out) - MaxPrints; n > 0 {
		out = append([]Print(nil), out[n:]...)
	}
	return out
}
