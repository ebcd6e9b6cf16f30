package judge

import "testing"

// Two probes in the wrong order: where one of them is a copy, nothing is said of the
// other one either, and its readings are true.
func TestTheOtherHalfOfAComparison(t *testing.T) {
	for _, explained := range []bool{true, false} {
		f := newFarm(3)
		order := finding("depth_order", 300, 0, .9)
		order.Probes = []int{0, 1}
		f.find(0, order)
		f.find(1, order)
		if explained {
			f.find(1, finding("duplicate_series", 300, 0, .9))
		}
		r := Judge(f.Input)
		for _, g := range r.Findings {
			if g.Fault == "depth_order" && (g.MaskedBy != "") != explained {
				t.Errorf("explained %v: %s is masked by %q", explained, g.Name, g.MaskedBy)
			}
		}
		if fit := r.States[0].Verdict == "fit"; fit != explained {
			t.Errorf("explained %v: the other one is %s", explained, r.States[0].Verdict)
		}
	}
}
