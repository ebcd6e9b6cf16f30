package robust

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"testing"
)

// drying is a season in kPa: slow drying, sudden wettings, daily swing, noise.
func drying(n int, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 2))
	x := make([]float64, n)
	level := 12.0
	for i := range x {
		level *= 1.002
		if level > 120 || r.IntN(700) == 0 {
			level = 10 + 5*r.Float64()
		}
		x[i] = level + 0.3*math.Sin(float64(i)/23) + 0.1*r.NormFloat64()
	}
	return x
}

// written is what a decimal export gives back: each value rounded to a whole
// number of steps, and read from text.
func written(x []float64, step, offset float64, decimals int) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		text := strconv.FormatFloat(math.Round(v/step)*step+offset, 'f', decimals, 64)
		y[i], _ = strconv.ParseFloat(text, 64)
	}
	return y
}

func TestQuantum(t *testing.T) {
	for _, c := range []struct {
		step, offset float64
		decimals     int
	}{
		{1, 0, 0}, {0.1, 0, 1}, {0.01, 0, 2}, {0.001, 0, 3}, {0.0078125, 0, 7}, {0.3, 0, 1}, {0.25, 0.1, 2}, {5, 3, 0},
		{0.0001, 0, 4}, {1e-6, 0, 6}, {2.5, 0, 1},
	} {
		for seed := range uint64(3) {
			x := written(drying(3000, seed), c.step, c.offset, c.decimals)
			if got := Quantum(x, make([]float64, len(x))); got != c.step {
				t.Errorf("step %g, offset %g, seed %d: %.17g", c.step, c.offset, seed, got)
			}
		}
	}
}

func TestQuantumOfWaterContentAndOhms(t *testing.T) {
	x := drying(2000, 5)
	water, ohms := make([]float64, len(x)), make([]float64, len(x))
	for i, v := range x {
		water[i], ohms[i] = 0.4-v/500, 200*v
	}
	for _, c := range []struct {
		name     string
		x        []float64
		step     float64
		decimals int
	}{
		{"water content", water, 0.001, 3}, {"water content", water, 0.0001, 4}, {"ohms", ohms, 1, 0}, {"ohms", ohms, 10, 0}, {"ohms", ohms, 0.001, 3},
	} {
		x := written(c.x, c.step, 0, c.decimals)
		if got := Quantum(x, make([]float64, len(x))); got != c.step {
			t.Errorf("%s in %g: %.17g", c.name, c.step, got)
		}
		scaled := make([]float64, len(x))
		for i, v := range x {
			scaled[i] = 100 * v
		}
		if got := Quantum(scaled, make([]float64, len(x))); math.Abs(got-100*c.step) > 1e-9*c.step {
			t.Errorf("%s in %g, times 100: %.17g", c.name, c.step, got)
		}
	}
}

func TestQuantumOfSinglePrecision(t *testing.T) {
	for _, c := range []struct{ step, unit float64 }{{1, 1}, {0.1, 1}, {0.01, 1}, {0.001, 0.01}, {0.0001, 0.003}} {
		step := c.step
		x := drying(3000, 8)
		for i := range x {
			x[i] *= c.unit
		}
		x = written(x, step, 0, 4)
		for i, v := range x {
			x[i] = float64(float32(v))
		}
		if got := Quantum(x, make([]float64, len(x))); math.Abs(got-step) > 1e-3*step {
			t.Errorf("step %g through single precision: %.17g", step, got)
		}
	}
}

func TestQuantumSurvivesAFewOddValues(t *testing.T) {
	for _, c := range []struct {
		every int
		want  float64
	}{
		{300, 0.1}, // under 2 % of the differences are odd
		{20, 0.01}, // that many are a resolution of their own
	} {
		x := written(drying(6000, 3), 0.1, 0, 1)
		for i := 40; i < len(x); i += c.every {
			x[i] = math.Floor(x[i]) + 0.37
		}
		if got := Quantum(x, make([]float64, len(x))); got != c.want {
			t.Errorf("one value in %d odd: %g, want %g", c.every, got, c.want)
		}
	}
}

func TestQuantumIsNotEvident(t *testing.T) {
	whole := written(drying(3000, 1), 1, 0, 0)
	curved := make([]float64, len(whole))
	for i, v := range whole {
		curved[i] = math.Log(v)
	}
	ramp := make([]float64, 3000)
	for i := range ramp {
		ramp[i] = math.Sqrt(float64(i))
	}
	for name, x := range map[string][]float64{
		"noise": noise(3000, 1), "little noise": noise(12, 2), "a season without rounding": drying(3000, 1),
		"whole kPa in logarithms": curved, "roots": ramp,
		"constant": {7, 7, 7, 7, 7, 7, 7, 7}, "one jump": {20, 20, 20, 95, 95, 95}, "two jumps": {20, 20, 95, 95, 20, 20},
		"empty": {}, "infinite": {1, 2, 3, 4, 5, 6, math.Inf(1)},
	} {
		if got := Quantum(x, make([]float64, len(x))); got != 0 {
			t.Errorf("%s: %g, want 0", name, got)
		}
	}
}

func TestQuantumDoesNotAllocate(t *testing.T) {
	x := written(drying(3000, 1), 0.1, 0, 1)
	scratch := make([]float64, len(x))
	if a := testing.AllocsPerRun(10, func() { Quantum(x, scratch) }); a != 0 {
		t.Errorf("Quantum allocates %g times", a)
	}
}

func BenchmarkQuantum(b *testing.B) {
	for name, x := range map[string][]float64{"tenths": written(drying(5000, 1), 0.1, 0, 1), "noise": noise(5000, 1)} {
		scratch := make([]float64, len(x))
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				Quantum(x, scratch)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/reading")
		})
	}
}

func ExampleQuantum() {
	x := []float64{12.5, 12.6, 12.6, 12.8, 13.1, 13.0, 13.4}
	fmt.Println(Quantum(x, make([]float64, len(x))))
	// Output: 0.1
}
