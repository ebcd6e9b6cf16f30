package detect

import (
	"math"
	"math/rand/v2"
	"testing"
)

func printsOf(v []float64) []Print {
	var s Shared
	t := make([]int64, len(v))
	for i := range t {
		t[i] = int64(i) * Hour
	}
	s.Reset(&Probe{}, &Series{Time: t, Value: v}, &Context{})
	return s.prints()
}

// A series that comes some readings later has the same prints, as much later; one that
// differs in every eighth reading shares none.
func TestPrintsOfACopy(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	v := make([]float64, 2000)
	for i := range v {
		v[i] = math.Round(1000*r.Float64()) / 10
	}
	own := printsOf(v)
	if len(own) < 50 || len(own) > MaxPrints {
		t.Fatalf("%d prints of %d readings, want about one in %d", len(own), len(v), printKept)
	}
	const late = 5
	copied := printsOf(append(make([]float64, late), v[:len(v)-late]...))
	at := map[uint64]int64{}
	for _, p := range own {
		at[p.Hash] = p.Time
	}
	same := 0
	for _, p := range copied {
		if when, ok := at[p.Hash]; ok && p.Time-when == late*Hour {
			same++
		}
	}
	if same < len(own)-2 {
		t.Errorf("%d of %d prints stand %d readings later", same, len(own), late)
	}
	for i := range v {
		if i%8 == 0 {
			v[i] += 0.05
		}
	}
	for _, p := range printsOf(v) {
		if _, ok := at[p.Hash]; ok {
			t.Errorf("a print at %s of another series", Stamp(p.Time))
		}
	}
	if n := len(printsOf(make([]float64, 500))); n != 0 {
		t.Errorf("%d prints of a series that stands still", n)
	}
}
