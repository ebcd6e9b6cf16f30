package outofrange

import (
	"math"
	"testing"

	"probeward/detectors/detecttest"
	"probeward/detectors/soil"
)

func TestDetector(t *testing.T) { detecttest.Run(t, Detector) }

// The range of each texture against both published tables: residual and saturated
// water content of Carsel & Parrish (1988; checked), porosity of Saxton & Rawls
// (2006; printed rows at 2.5 % organic matter, checked, to half a percent).
func TestPossible(t *testing.T) {
	published := map[string]struct{ residual, saturated, porosity float64 }{
		"sand": {0.045, 0.43, 0.46}, "loamy sand": {0.057, 0.41, 0.46}, "sandy loam": {0.065, 0.41, 0.45},
		"loam": {0.078, 0.43, 0.46}, "silt": {0.034, 0.46, 0.48}, "silt loam": {0.067, 0.45, 0.48},
		"sandy clay loam": {0.100, 0.39, 0.43}, "clay loam": {0.095, 0.41, 0.48}, "silty clay loam": {0.089, 0.43, 0.51},
		"sandy clay": {0.100, 0.38, 0.44}, "silty clay": {0.070, 0.36, 0.52}, "clay": {0.068, 0.38, 0.50},
	}
	if len(published) != len(soil.Textures()) {
		t.Fatalf("%d published textures, %d known", len(published), len(soil.Textures()))
	}
	for name, want := range published {
		low, high, ok := possible(name)
		if !ok || low != want.residual || math.Abs(high-math.Max(want.saturated, want.porosity)) > 0.0055 {
			t.Errorf("%s: %.3f to %.4f (%v), published %.3f to %.2f", name, low, high, ok, want.residual, want.porosity)
		}
	}
	if _, _, ok := possible("peat"); ok {
		t.Error("peat has a range, and no table holds it")
	}
}
