package missingresponse

import (
	"math"
	"testing"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/schemas"
)

// Of k = n answers the lower Wilson bound is n/(n + z^2) (Wilson 1927; derived): 4 of
// 4 leave two misses a chance of 0.085, and 3 of 3 one of 0.125, too much.
func TestChanceOfMisses(t *testing.T) {
	for _, c := range []struct {
		answers, misses int
		want            float64
	}{{4, 2, 0.0845}, {3, 2, 0.1247}, {3, 3, 0.0440}, {8, 2, 0.0289}} {
		least, _ := robust.Wilson(c.answers, c.answers, 1.28)
		if got := robust.BinomialTail(c.misses, c.misses, 1-least); math.Abs(got-c.want) > 5e-4 {
			t.Errorf("%d misses after %d of %d: chance %.4f, want %.4f", c.misses, c.answers, c.answers, got, c.want)
		}
	}
}

// The manual promises of a probe alone: unsure up to three misses, sure from four on,
// 0.9 at most.
func TestConfidence(t *testing.T) {
	for misses, last := 2, 0.0; misses < 30; misses++ {
		got := confidence(misses, 0.01)
		if sure := misses >= 4; (got >= schemas.Sureness) != sure {
			t.Errorf("%d misses: confidence %.3f", misses, got)
		}
		if got < last || got > 0.9 {
			t.Errorf("%d misses: confidence %.3f after %.3f", misses, got, last)
		}
		last = got
	}
}

// A miss counts only where as small a watering was answered twice.
func TestSmallWateringsProveNothing(t *testing.T) {
	of := func(mm float64, known bool, rise float64) event {
		return event{Watered: detect.Watered{Water: detect.Water{MM: detect.Maybe[float64]{V: mm, OK: known}}, Rise: rise}}
	}
	full := func(mm float64) event { return of(mm, true, 1) }
	before := []event{full(12), full(5), full(9), of(3, true, 0.1), of(0, false, 1)}
	if got := secondSmallest(before, 0.4); got != 9 {
		t.Errorf("second smallest full answer at %.0f mm, want 9", got)
	}
	if got := secondSmallest(before[:1], 0.4); got != 0 {
		t.Errorf("with one known depth %.0f mm, want 0: no bound", got)
	}
	since := []event{full(9), full(8.9), of(0, false, 0)}
	if got := large(since, 9); len(got) != 2 {
		t.Errorf("%d of three waterings count, want the large one and the one of unknown depth", len(got))
	}
}
