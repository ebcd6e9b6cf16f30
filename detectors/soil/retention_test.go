package soil

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestWaterContent(t *testing.T) {
	// Carsel & Parrish (1988) parameters [checked]; water contents at 10, 33, 100
	// and 1500 kPa by van Genuchten (1980) [derived], within 0.0001.
	want := map[string][4]float64{
		"sand":            {0.0492, 0.0456, 0.0451, 0.0450},
		"loamy sand":      {0.0707, 0.0600, 0.0577, 0.0570},
		"sandy loam":      {0.1209, 0.0845, 0.0723, 0.0657},
		"loam":            {0.2406, 0.1644, 0.1247, 0.0883},
		"silt":            {0.3519, 0.2567, 0.1847, 0.0897},
		"silt loam":       {0.3282, 0.2389, 0.1778, 0.1036},
		"sandy clay loam": {0.2199, 0.1688, 0.1406, 0.1111},
		"clay loam":       {0.3312, 0.2687, 0.2201, 0.1493},
		"silty clay loam": {0.3879, 0.3374, 0.2868, 0.1962},
		"sandy clay":      {0.3116, 0.2665, 0.2302, 0.1701},
		"silty clay":      {0.3508, 0.3367, 0.3172, 0.2661},
		"clay":            {0.3652, 0.3466, 0.3242, 0.2703},
	}
	if len(Textures()) != len(want) {
		t.Fatalf("%d textures, want %d", len(Textures()), len(want))
	}
	for _, texture := range Textures() {
		for i, kPa := range []float64{10, 33, 100, 1500} {
			near(t, fmt.Sprintf("%s at %g kPa", texture.Name, kPa), texture.WaterContent(kPa), want[texture.Name][i], 1e-4)
		}
		near(t, texture.Name+" saturated", texture.WaterContent(0), texture.ThetaS, 0)
		near(t, texture.Name+" under pressure", texture.WaterContent(-5), texture.ThetaS, 0)
	}
}

func TestUnitTrap(t *testing.T) {
	// V2 [derived]: alpha is in 1/cm. kPa taken for cm gives loam 0.3387 at 33 in
	// place of 0.1644.
	loam, _ := TextureNamed("loam")
	near(t, "loam at 33 kPa", loam.WaterContent(33), 0.1644, 5e-5)
	near(t, "loam at 33 cm", loam.WaterContent(33/CmPerKPa), 0.3387, 5e-5)
}

func TestConductivity(t *testing.T) {
	// V1: Mualem (1976) with van Genuchten, at a head of 100 cm [derived].
	for name, want := range map[string]float64{"loam": 3.3923e-2, "sandy loam": 4.5516e-3, "clay loam": 3.5843e-2} {
		texture, _ := TextureNamed(name)
		near(t, name+" relative to V1", texture.Conductivity(100)/want, 1, 1e-4)
		near(t, name+" saturated", texture.Conductivity(0), texture.Ks, 0)
	}
}

func TestTensionRoundTrip(t *testing.T) {
	// V3: h(theta(h)) exact at 1e-9, as far as the water content itself can hold
	// the tension: near residual and near saturation its last digit is worth
	// more, which the tolerance allows for.
	rapid.Check(t, func(t *rapid.T) {
		texture := rapid.SampledFrom(Textures()).Draw(t, "texture")
		kPa := math.Exp(rapid.Float64Range(math.Log(0.1), math.Log(2000)).Draw(t, "log kPa"))
		theta := texture.WaterContent(kPa)
		slope := (texture.WaterContent(kPa*0.999) - texture.WaterContent(kPa*1.001)) / (0.002 * kPa)
		back, ok := texture.Tension(theta)
		if !ok || math.Abs(back-kPa) > 1e-9*kPa+4e-16/slope {
			t.Fatalf("%s: %g kPa came back as %g", texture.Name, kPa, back)
		}
		if drier := texture.WaterContent(kPa * 1.01); drier >= theta {
			t.Fatalf("%s holds %g at %g kPa and %g drier", texture.Name, theta, kPa, drier)
		}
	})
	loam, _ := TextureNamed("loam")
	for _, theta := range []float64{loam.ThetaR, 0.05, 0.44, math.NaN()} {
		if kPa, ok := loam.Tension(theta); ok || kPa != 0 {
			t.Errorf("loam at %g gave %g kPa", theta, kPa)
		}
	}
	if kPa, ok := loam.Tension(loam.ThetaS); !ok || kPa != 0 {
		t.Errorf("saturated loam gave %g kPa, %t", kPa, ok)
	}
}

func TestTextureNamed(t *testing.T) {
	for _, name := range []string{"silty clay loam", "Silty Clay Loam", "silty_clay_loam", "SILTYCLAYLOAM", " silty-clay  loam "} {
		if texture, ok := TextureNamed(name); !ok || texture.Name != "silty clay loam" {
			t.Errorf("%q gave %q, %t", name, texture.Name, ok)
		}
	}
	for _, name := range []string{"", "gravel", "loamy", "clay loam sand"} {
		if texture, ok := TextureNamed(name); ok {
			t.Errorf("%q gave %q", name, texture.Name)
		}
	}
	mine := Textures()
	mine[0].Ks = 0
	if Textures()[0].Ks == 0 {
		t.Error("the table can be changed from outside")
	}
}

func TestSaxtonRawls(t *testing.T) {
	// R1 [checked]: S = C = 0.20, organic matter 2.5 %. Coefficients [from
	// memory], confirmed by it.
	h, ok := SaxtonRawls(0.20, 0.20, 2.5)
	nearOK(t, "R1 WP", h.WP, ok, 0.1365448, 5.1e-8)
	near(t, "R1 FC", h.FC, 0.3208775, 5.1e-8)
	near(t, "R1 saturation", h.Sat, 0.482125, 5.1e-7)

	// The paper's table 3 for 2.5 % organic matter, printed [checked]: within half
	// a point and 0.06 mm/h.
	for _, c := range []struct {
		name                        string
		sand, clay, wp, fc, sat, ks float64
	}{
		{"sand", 88, 5, 5, 10, 46, 108.1}, {"loamy sand", 80, 5, 5, 12, 46, 96.7}, {"sandy loam", 65, 10, 8, 18, 45, 50.3},
		{"loam", 40, 20, 14, 28, 46, 15.5}, {"silt loam", 20, 15, 11, 31, 48, 16.1}, {"silt", 10, 5, 6, 30, 48, 22.0},
		{"sandy clay loam", 60, 25, 17, 27, 43, 11.3}, {"clay loam", 30, 35, 22, 36, 48, 4.3}, {"silty clay loam", 10, 35, 22, 38, 51, 5.7},
		{"silty clay", 10, 45, 27, 41, 52, 3.7}, {"sandy clay", 50, 40, 25, 36, 44, 1.4}, {"clay", 25, 50, 30, 42, 50, 1.1},
	} {
		h, ok := SaxtonRawls(c.sand/100, c.clay/100, 2.5)
		nearOK(t, c.name+" WP", 100*h.WP, ok, c.wp, 0.5)
		near(t, c.name+" FC", 100*h.FC, c.fc, 0.5)
		near(t, c.name+" saturation", 100*h.Sat, c.sat, 0.5)
		near(t, c.name+" Ks", h.Ks, c.ks, 0.06)
	}
	for _, c := range [][3]float64{{0.7, 0.4, 2.5}, {-0.1, 0.2, 2.5}, {0.1, 0.7, 2.5}, {0.2, 0.2, 9}, {40, 20, 2.5}, {math.NaN(), 0.2, 2.5}} {
		if h, ok := SaxtonRawls(c[0], c[1], c[2]); ok {
			t.Errorf("sand %g, clay %g, organic %g gave %+v", c[0], c[1], c[2], h)
		}
	}
}

func TestFieldCapacityTablesDisagree(t *testing.T) {
	// [derived]: at 33 kPa the two published sources differ by about two in coarse
	// soil, so that a band must not mix them.
	for _, c := range []struct {
		name       string
		sand, clay float64
	}{{"sandy loam", 0.65, 0.10}, {"sand", 0.88, 0.05}} {
		texture, _ := TextureNamed(c.name)
		h, _ := SaxtonRawls(c.sand, c.clay, 2.5)
		if ratio := h.FC / texture.WaterContent(33); ratio < 1.7 || ratio > 2.5 {
			t.Errorf("%s: ratio %g", c.name, ratio)
		}
	}
}
