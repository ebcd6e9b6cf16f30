package soil

import (
	"math"
	"testing"
)

// near is an absolute comparison that NaN fails.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.12g, want %.12g within %g", what, got, want, tolerance)
	}
}

// nearOK is near for a conversion that must also succeed.
func nearOK(t *testing.T, what string, got float64, ok bool, want, tolerance float64) {
	t.Helper()
	if !ok {
		t.Errorf("%s refused, want %.12g", what, want)
		return
	}
	near(t, what, got, want, tolerance)
}
