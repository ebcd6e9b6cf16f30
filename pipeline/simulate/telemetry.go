package simulate

import (
	"math"
	"time"
)

// telemetry is what a logger adds to its probes' readings: its thermometer, its
// battery and what was lost on the way. One value a reading.
type telemetry struct {
	tempTenths []int16 // degC × 10, at 30 cm
	batteryCV  []int16 // V × 100
	lost       []bool  // never arrived
}

// telemetryOf draws a post's. Its faults are in it: a battery that fails, a
// logger that fell silent.
func (w *world) telemetryOf(post int, g grid, tempC []float64) telemetry {
	v := w.v
	p := &v.Posts[post]
	r := stream(v.options.Seed, forTelemetry, post)
	t := telemetry{tempTenths: make([]int16, g.n), batteryCV: make([]int16, g.n), lost: make([]bool, g.n)}
	for i := range g.n {
		at := g.time(i)
		h := min(v.sky.hour(at), len(v.sky.solar)-1)
		t.tempTenths[i] = int16(math.Round(10 * (tempC[i] + float64(0.04*r.NormFloat64()))))
		volts := p.BatteryV + float64(p.SwingV*min(1, v.sky.solar[h]/600)) + float64(0.01*r.NormFloat64())
		t.batteryCV[i] = int16(math.Round(100 * volts))
	}
	// Holes come in bursts; their mean length and number make the share.
	longest := 6 * g.hours()
	if p.HoleShare > 0.03 {
		longest = 7
	}
	burst := 1 + 0.5*longest/g.hours()
	for i := 0; ; {
		i += 1 + int(r.ExpFloat64()*burst/p.HoleShare)
		n := 1 + r.IntN(int(longest/g.hours()))
		if i+n >= g.n {
			break
		}
		for k := range n {
			t.lost[i+k] = true
		}
		i += n
	}
	return t
}

// ail lays a logger fault over the telemetry.
func (t *telemetry) ail(f *Fault, g grid, until time.Time, starved func(i int) bool) {
	a, b := g.span(f, until)
	switch f.Fault {
	case "logger_silent":
		fade := int(6 * 24 / g.hours())
		for i := max(0, a-fade); i < b; i++ {
			full := t.batteryCV[i]
			t.batteryCV[i] = full - int16(0.15*float64(full)*float64(min(i, a)-a+fade)/float64(fade))
			if i >= a {
				t.lost[i] = true
			}
		}
	case "logger_power":
		for i := a; i < b; i++ {
			if starved(i) {
				t.batteryCV[i] = int16(0.86 * float64(t.batteryCV[i]))
			}
		}
	}
}

// nights is when a weak battery starves its sensors: most nights after the
// onset, for hours before sunrise, all ports in the same minutes.
func nights(f *Fault, g grid, until time.Time, seed uint64, post int) func(i int) bool {
	r := stream(seed, forFault, 1<<20+post)
	down := make([]bool, g.n)
	farm := local()
	for day := f.Start; day.Before(f.ends(until).Add(24 * time.Hour)); day = day.AddDate(0, 0, 1) {
		y, m, d := day.In(farm).Date()
		from := time.Date(y, m, d, 0, 0, 0, 0, farm).Add(time.Duration(between(r, 20, 200)) * time.Minute)
		to := from.Add(time.Duration(between(r, 150, 300)) * time.Minute)
		if r.Float64() > 0.55+float64(0.45*f.Strength) {
			continue
		}
		a, b := g.span(f, until)
		for i := max(a, g.at(from)); i < min(b, g.at(to)); i++ {
			down[i] = true
		}
	}
	return func(i int) bool { return down[i] }
}
