package soil

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestDryingBound(t *testing.T) {
	// [derived] from FAO-56: 8 mm/day and a factor of 0.70 are 5.6 mm/day.
	near(t, "bound over 0.3 m", DryingBound(8, KcWineMid, 0.3), 0.01867, 5.1e-6)
	near(t, "bound over 0.6 m", DryingBound(8, KcWineMid, 0.6), 0.00933, 5.1e-6)
	if got := DryingBound(8, KcMax, 0); !math.IsInf(got, 1) {
		t.Errorf("no layer is bound by %g", got)
	}
}

func TestDaysToDry(t *testing.T) {
	// [derived]: 0.3 m from 20 to 200 kPa at 6 mm/day, by Carsel & Parrish (1988);
	// half at 12 mm/day. No texture does it within an hour.
	for name, days := range map[string]float64{"sandy loam": 1.32, "loam": 4.09, "silt loam": 6.18, "clay loam": 4.91, "clay": 2.28} {
		texture, _ := TextureNamed(name)
		near(t, name, DaysToDry(texture, 20, 200, 0.3, 6), days, 5.1e-3)
		near(t, name+" at 12 mm/day", DaysToDry(texture, 20, 200, 0.3, 12), days/2, 2.6e-3)
	}
	days, texture := QuickestToDry(20, 200, 0.3, 6)
	if texture.Name != "sand" || days < 1.0/24 {
		t.Errorf("quickest is %s in %g days, want sand in more than an hour", texture.Name, days)
	}
	loam, _ := TextureNamed("loam")
	if got := DaysToDry(loam, 200, 20, 0.3, 6); got != 0 {
		t.Errorf("wetting takes %g days of drying", got)
	}
	if got := DaysToDry(loam, 20, 200, 0.3, 0); !math.IsInf(got, 1) {
		t.Errorf("without demand it dries in %g days", got)
	}
}

func TestDaysToDryAgreesWithTheBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		texture := rapid.SampledFrom(Textures()).Draw(t, "texture")
		from := rapid.Float64Range(0, 500).Draw(t, "from")
		to := from + rapid.Float64Range(1, 1000).Draw(t, "by")
		layer, et0 := rapid.Float64Range(0.1, 2).Draw(t, "layer"), rapid.Float64Range(0.5, 12).Draw(t, "et0")
		days := DaysToDry(texture, from, to, layer, KcMax*et0)
		lost := texture.WaterContent(from) - texture.WaterContent(to)
		if bound := DryingBound(et0, KcMax, layer) * days; math.Abs(bound-lost) > 1e-12 {
			t.Fatalf("%s loses %g in %g days, bound %g", texture.Name, lost, days, bound)
		}
		if least, _ := QuickestToDry(from, to, layer, KcMax*et0); least > days {
			t.Fatalf("quickest takes %g days, %s %g", least, texture.Name, days)
		}
	})
}

func TestAvailableWater(t *testing.T) {
	// [derived]: loam, FC 0.28 and WP 0.137 over 1.5 m; RAW at 0.45.
	near(t, "TAW", AvailableWater(0.28, 0.137, 1.5), 214.5, 1e-9)
	near(t, "RAW", DepletionWine*AvailableWater(0.28, 0.137, 1.5), 96.5, 0.03)
	// p = p_table + 0.04 (5 - ETc) [from memory].
	near(t, "p at 3.5 mm", DepletionFraction(DepletionWine, 3.5), 0.51, 1e-12)
	near(t, "p at 5.6 mm", DepletionFraction(DepletionWine, 5.6), 0.426, 1e-12)
	near(t, "p kept above 0.1", DepletionFraction(DepletionTable, 15), 0.1, 0)
	near(t, "p kept below 0.8", DepletionFraction(DepletionWine, -10), 0.8, 0)
}
