package shortcircuit

import (
	"math"
	"testing"

	"probeward/detectors/detecttest"
	"probeward/detectors/soil"
)

func TestDetector(t *testing.T) { detecttest.Run(t, Detector) }

// A dead short looks like wet soil: 0 ohm by Shock, Barnum & Seddigh (1998,
// Irrigation Association International Irrigation Show, pp. 139-146; coefficients
// checked, the paper itself not seen) is 5.758 kPa at 24 degC (derived). The
// conversion refuses it, and so does the least resistance just below the guard.
func TestDeadShortConvertsToWetSoil(t *testing.T) {
	if got := shockZero(24); math.Abs(got-5.758) > 0.0005 {
		t.Errorf("0 ohm at 24 degC gives %.4f kPa, published form 5.758", got)
	}
	for _, ohms := range []float64{0, math.Nextafter(Detector.Params[0].Default, 0)} {
		if kPa, ok := soil.Shock(ohms, 24); ok {
			t.Errorf("%v ohm converts to %.3f kPa", ohms, kPa)
		}
	}
	// The wettest that a whole block gives by that form lies above a dead short, and
	// all three forms of one lie within the dead zone.
	least, ok := soil.Shock(soil.ShortOhms, 24)
	if !ok || least <= shockZero(24) || least > deadZone() {
		t.Errorf("300 ohm at 24 degC gives %.3f kPa, a dead short %.3f", least, shockZero(24))
	}
}

// What an export that does not stop at zero makes of 300 ohm: the wet branch of the
// piecewise form, (23.156 R - 12.736) d with d = 1 + 0.018 (T - 24) (Allen 2000,
// attribution checked, coefficients from public copies), gives -5.789 kPa at 24 degC
// and -6.935 at 35 (derived). No whole block in soil reaches the limit.
func TestNegativeLimit(t *testing.T) {
	wet := func(kOhm, tempC float64) float64 { return (23.156*kOhm - 12.736) * (1 + 0.018*(tempC-24)) }
	limit := -math.Inf(1)
	for _, p := range Detector.Params {
		if p.Name == "negative_kpa" {
			limit = p.Default
		}
	}
	for _, c := range []struct{ tempC, kPa float64 }{{24, -5.7892}, {35, -6.9355}} {
		if got := wet(0.3, c.tempC); math.Abs(got-c.kPa) > 1e-3 || got < limit {
			t.Errorf("300 ohm at %v degC gives %.4f kPa, want %.4f and above %.1f", c.tempC, got, c.kPa, limit)
		}
	}
	if wet(0, 24) > limit {
		t.Errorf("a dead short gives %.2f kPa, not under the limit", wet(0, 24))
	}
}

func deadZone() float64 {
	for _, p := range Detector.Params {
		if p.Name == "dead_zone" {
			return p.Default
		}
	}
	return 0
}

// No resistance at all, less 50 ohm of copper, in soil of 45 degC: the wet branch of
// the piecewise form gives -19.2 kPa (Allen 2000, derived), which least_kpa lies below.
func TestLeastOfAShort(t *testing.T) {
	got := (23.156*-0.05 - 12.736) * (1 + 0.018*(45-24))
	for _, p := range Detector.Params {
		if p.Name == "least_kpa" && (math.Abs(got+19.15) > 0.01 || p.Default > got || p.Default < got-1) {
			t.Errorf("no resistance gives %.2f kPa, the limit is %.2f", got, p.Default)
		}
	}
}
