package soil

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestCopper(t *testing.T) {
	// 100 % IACS and ASTM B258 gauge sizes [checked]; exact values [derived].
	// Printed tables, made from unrounded or rounded diameters, within 0.5 %.
	for _, c := range []struct {
		awg                  int
		exact, printed       float64
		perThousandFeet      float64
		atFreezing, atForty  float64
		fromRoundedDiameters float64
	}{
		{18, 20.948, 20.94, 6.385, 19.30, 22.60, 20.951}, {20, 33.309, 33.29, 10.153, 30.69, 35.93, 33.229},
		{22, 52.963, 52.94, 16.143, 48.80, 57.13, 53.159}, {24, 84.215, 84.20, 25.669, 77.60, 90.83, 84.221},
	} {
		got := CopperOhmsPerKm(c.awg, 20)
		near(t, fmt.Sprintf("%d AWG", c.awg), got, c.exact, 5.1e-4)
		near(t, "per 1000 ft", got*0.3048, c.perThousandFeet, 5.1e-4)
		near(t, "against print", got/c.printed, 1, 0.005)
		near(t, "against rounded diameters", got/c.fromRoundedDiameters, 1, 0.005)
		near(t, "at 0 degC", CopperOhmsPerKm(c.awg, 0), c.atFreezing, 0.02)
		near(t, "at 40 degC", CopperOhmsPerKm(c.awg, 40), c.atForty, 0.02)
	}
}

func TestHealthyCableExplainsNoFault(t *testing.T) {
	// C6 [derived]: 2 x 300 m of 24 AWG.
	loop := LoopOhms(300, 24, 20)
	near(t, "C6 loop", loop, 50.5, 0.05)
	for ohms, want := range map[float64]float64{2000: 0.246, 600: 1.17} {
		without, _ := GranularTension(ohms, 24)
		with, _ := GranularTension(ohms+loop, 24)
		near(t, fmt.Sprintf("C6 at %g ohm", ohms), with-without, want, 5.1e-3)
	}
}

func TestLeakSignatures(t *testing.T) {
	// C1-C3 [derived] at 24 degC by the piecewise form.
	for _, c := range []struct {
		id                      string
		leak, healthy, read     float64
		trueTension, readKPa    float64
		toleranceOhms, tolerant float64
	}{
		{"C1", 10000, 10000, 5000, 61.39, 30.44, 0.05, 5.1e-3},
		{"C2", 8000, 20000, 5714.3, 134.05, 34.27, 0.05, 5.1e-3},
		{"C2", 8000, 30000, 6315.8, 220.22, 37.56, 0.05, 5.1e-3},
		{"C3", 8000, 2000, 1600, 15.22, 13.28, 0.05, 5.1e-3},
	} {
		read := Parallel(c.healthy, c.leak)
		near(t, c.id+" ohms", read, c.read, c.toleranceOhms)
		kPa, ok := GranularTension(c.healthy, 24)
		nearOK(t, c.id+" true tension", kPa, ok, c.trueTension, c.tolerant)
		kPa, ok = GranularTension(read, 24)
		nearOK(t, c.id+" read tension", kPa, ok, c.readKPa, c.tolerant)
	}
	// C4: the ceiling of a leak.
	for leak, ceiling := range map[float64]float64{8000: 47.08, 5000: 30.44, 2000: 15.22} {
		kPa, ok := GranularTension(leak, 24)
		nearOK(t, "C4 ceiling", kPa, ok, ceiling, 5.1e-3)
	}
	// C5: series resistance lifts the floor after an irrigation.
	for series, floor := range map[float64]float64{0: 0, 500: 10.66, 1000: 13.04, 2000: 17.91} {
		kPa, ok := GranularTension(SaturatedOhms+series, 24)
		nearOK(t, "C5 floor", kPa, ok, floor, 5.1e-3)
	}
}

func TestParallelLaws(t *testing.T) {
	if got := Parallel(4000, math.Inf(1)); got != 4000 {
		t.Errorf("no leak reads %g", got)
	}
	if got := Parallel(math.Inf(1), 4000); got != 4000 {
		t.Errorf("an open sensor behind a leak reads %g", got)
	}
	if got := Parallel(0, 0); got != 0 {
		t.Errorf("two shorts read %g", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		r, leak := rapid.Float64Range(1e-3, 1e6).Draw(t, "r"), rapid.Float64Range(1e-3, 1e6).Draw(t, "leak")
		read := Parallel(r, leak)
		if !(read >= 0 && read <= min(r, leak)*(1+1e-15)) || read != Parallel(leak, r) {
			t.Fatalf("%g with a leak of %g reads %g", r, leak, read)
		}
	})
}

// What the two faults of a splice do to a tension at 24 degC. A leak lies in
// parallel and caps the reading; corrosion lies in series, is plain addition and
// raises the floor.
func ExampleParallel() {
	show := func(what string, ohms float64) {
		kPa, ok := GranularTension(ohms, ReferenceTempC)
		fmt.Printf("%-28s %7.1f ohm %6.2f kPa %t\n", what, ohms, kPa, ok)
	}
	show("dry soil", 20000)
	show("dry soil, leak of 8 kohm", Parallel(20000, 8000))
	show("wet soil", 2000)
	show("wet soil, leak of 8 kohm", Parallel(2000, 8000))
	show("ceiling of that leak", Parallel(math.Inf(1), 8000))
	show("saturated", SaturatedOhms)
	show("saturated, 1 kohm in series", SaturatedOhms+1000)
	// Output:
	// dry soil                     20000.0 ohm 134.05 kPa true
	// dry soil, leak of 8 kohm      5714.3 ohm  34.27 kPa true
	// wet soil                      2000.0 ohm  15.22 kPa true
	// wet soil, leak of 8 kohm      1600.0 ohm  13.28 kPa true
	// ceiling of that leak          8000.0 ohm  47.08 kPa true
	// saturated                      550.0 ohm   0.00 kPa true
	// saturated, 1 kohm in series   1550.0 ohm  13.04 kPa true
}
