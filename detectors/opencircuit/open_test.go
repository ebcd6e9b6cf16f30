package opencircuit

import (
	"math"
	"testing"

	"probeward/detectors/detect"
	"probeward/detectors/detecttest"
	"probeward/detectors/soil"
)

func TestDetector(t *testing.T) { detecttest.Run(t, Detector) }

// Why ohms are judged before any conversion, and why the dry end alone proves
// nothing in kPa: the piecewise form of Allen (2000; attribution checked,
// coefficients from public copies) gives an open lead of 35 kohm a plausible very
// dry soil's tension: 214.024, 268.372 and 307.017 kPa at 15, 24 and 30 degC
// (checked). The conversion itself refuses the open guard, so its limit from below
// is taken.
func TestOpenLeadConvertsToDrySoil(t *testing.T) {
	justBelow := math.Nextafter(Detector.Params[0].Default, 0)
	for _, c := range []struct{ tempC, kPa float64 }{{15, 214.024}, {24, 268.372}, {30, 307.017}} {
		got, ok := soil.GranularTension(justBelow, c.tempC)
		if !ok || math.Abs(got-c.kPa) > 0.0006 {
			t.Errorf("35 kohm at %v degC gives %.4f kPa (%v), published form %.3f", c.tempC, got, ok, c.kPa)
		}
	}
	if _, ok := soil.GranularTension(Detector.Params[0].Default, 24); ok {
		t.Error("the guard itself converts to a tension")
	}
}

// What air reads: eq. 7 of Topp, Davis & Annan (1980) at a permittivity of 1 is
// -0.024346 (checked). A dead constant of an unplugged probe lies at or below it,
// give or take the usual offset.
func TestAirIsTopp(t *testing.T) {
	if air := soil.Topp(1); math.Abs(air+0.024346) > 5e-7 || math.Abs(air-detect.AirWaterContent) > 1e-4 {
		t.Errorf("air reads %.6f m3/m3, published -0.024346", air)
	}
}
