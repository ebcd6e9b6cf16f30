package robust

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestTurns(t *testing.T) {
	for _, c := range []struct {
		name     string
		x        []float64
		reversal float64
		want     []Turn
	}{
		{"a wetting and its recession", []float64{20, 19, 18, 18, 25, 30, 30, 28, 22, 20}, 5,
			[]Turn{{3, 18, false}, {5, 30, true}}},
		{"noise below the reversal", []float64{20, 21, 20, 22, 20, 21}, 3, nil},
		{"exactly the reversal is not more than it", []float64{20, 25, 20}, 5, nil},
		{"the first sample may be the extreme", []float64{10, 20, 5, 20}, 5,
			[]Turn{{0, 10, false}, {1, 20, true}, {2, 5, false}}},
		{"a ripple on the way does not count", []float64{0, 4, 3, 8, 7, 12, 2}, 5,
			[]Turn{{0, 0, false}, {5, 12, true}}},
		{"constant", []float64{3, 3, 3}, 0, nil},
		{"empty", nil, 1, nil},
	} {
		if got := Turns(c.x, c.reversal, nil); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestTurnsByLevel(t *testing.T) {
	x := []float64{0, 4, 0, 40, 44, 40, 4}
	threshold := []float64{1, 1, 1, 10, 10, 10, 1}
	// The 4 of the low end is a turn, the same 4 at the high end is ripple.
	want := []Turn{{0, 0, false}, {1, 4, true}, {2, 0, false}, {4, 44, true}}
	if got := TurnsBy(x, threshold, nil); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestTurnsLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := series(0, 80).Draw(t, "x")
		byLevel := make([]float64, len(x))
		for i := range byLevel {
			byLevel[i] = rapid.Float64Range(0, 4).Draw(t, "threshold")
		}
		reversal := rapid.Float64Range(0, 4).Draw(t, "reversal")
		constant := slices.Repeat([]float64{reversal}, len(x))
		if got := TurnsBy(x, constant, nil); !slices.Equal(got, Turns(x, reversal, nil)) {
			t.Fatal("a constant threshold slice differs from the constant")
		}
		for _, thresholds := range [][]float64{constant, byLevel} {
			turns := TurnsBy(x, thresholds, nil)
			for k, turn := range turns {
				if x[turn.Index] != turn.Value {
					t.Fatalf("turn %d carries %g, the sample %g", k, turn.Value, x[turn.Index])
				}
				from, to := 0, len(x)
				if k > 0 {
					before := turns[k-1]
					if before.High == turn.High || before.Index >= turn.Index {
						t.Fatalf("turns %v and %v do not alternate forwards", before, turn)
					}
					if gap := max(turn.Value-before.Value, before.Value-turn.Value); gap <= slices.Min(thresholds) {
						t.Fatalf("leg of %g within every threshold", gap)
					}
					from = before.Index
				}
				if k+1 < len(turns) {
					to = turns[k+1].Index + 1
				}
				// Nothing between its neighbours is more extreme.
				for _, v := range x[from:to] {
					if turn.High && v > turn.Value || !turn.High && v < turn.Value {
						t.Fatalf("turn %v is passed by %g between its neighbours", turn, v)
					}
				}
			}
		}
	})
}

func TestEqualRuns(t *testing.T) {
	x := []float64{1, 1, 2, 3, 3, 3, 4, 4}
	if got, want := EqualRuns(x, 2, nil), []Run{{0, 2}, {3, 6}, {6, 8}}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got, want := EqualRuns(x, 3, nil), []Run{{3, 6}}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := EqualRuns(nil, 0, nil); len(got) != 0 {
		t.Errorf("runs of nothing: %v", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		x := series(0, 60).Draw(t, "x")
		at := 0
		for _, r := range EqualRuns(x, 1, nil) {
			if r.From != at || r.Len() < 1 {
				t.Fatalf("run %v after %d", r, at)
			}
			if slices.Min(x[r.From:r.To]) != slices.Max(x[r.From:r.To]) {
				t.Fatalf("run %v is not constant", r)
			}
			if r.To < len(x) && x[r.To] == x[r.From] {
				t.Fatalf("run %v could be longer", r)
			}
			at = r.To
		}
		if at != len(x) {
			t.Fatalf("runs of one or more end at %d of %d", at, len(x))
		}
	})
}
