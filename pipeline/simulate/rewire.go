package simulate

import (
	"math"
	"slices"
)

// rewire lays over a post's records what two of its ports have together: two that
// were swapped, and one whose series is also given out as the other's.
func (w *world) rewire(rec *record) {
	before := map[int][]int32{} // by probe
	for _, s := range rec.probes {
		before[s.probe] = s.faulty
	}
	m := &w.v.Posts[rec.post].model
	for _, k := range w.faults[rec.post] {
		f := &w.v.Faults[k]
		if !oneOf(f.Fault, "depth_order", "duplicate_series") || f.source {
			continue
		}
		a, b := rec.grid.span(f, w.v.Until)
		for n := range rec.probes {
			s := &rec.probes[n]
			if s.probe != f.probe {
				continue
			}
			other := before[f.peer]
			s.faulty = slices.Clone(s.faulty)
			for i := a; i < b; i++ {
				s.faulty[i] = f.copied(m, other, i)
			}
		}
	}
}

// copied is reading i of another port, as the fault's form gives it out.
func (f *Fault) copied(m *model, other []int32, i int) int32 {
	switch f.Form {
	case "late":
		return other[max(0, i-int(math.Round(f.Strength)))]
	case "rounded":
		if !isValue(other[i]) {
			return other[i]
		}
		step := math.Round(f.Strength)
		if m.unit == "ohm" {
			step *= 10
		}
		return int32(math.Round(float64(other[i])/step) * step)
	}
	return other[i]
}
