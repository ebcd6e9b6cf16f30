package simulate

import (
	"math"
	"math/rand/v2"
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
	t.lose(r, g, p.HoleShare)
	t.thin(p, g)
	return t
}

// Holes of a healthy logger stay well below what would be a gap: less than half a
// day each, and less than a tenth of any week.
const (
	longestHole = 9 * time.Hour
	mostAWeek   = 0.08
)

// lose lets readings get lost in bursts. Their mean length and number make the share.
func (t *telemetry) lose(r *rand.Rand, g grid, share float64) {
	longest := 6 * g.hours()
	if share > 0.03 {
		longest = longestHole.Hours()
	}
	burst := 1 + 0.5*longest/g.hours()
	week := int(7 * 24 * time.Hour / g.every)
	lately, from := 0, 0 // lost in the week before
	for i := 0; ; {
		i += 2 + int(r.ExpFloat64()*burst/share)
		n := 1 + r.IntN(int(longest/g.hours()))
		if i+n >= g.n {
			break
		}
		for ; from < i+n-week; from++ {
			if t.lost[from] {
				lately--
			}
		}
		if float64(lately+n) <= mostAWeek*float64(week) {
			lately += n
			for k := range n {
				t.lost[i+k] = true
			}
		}
		i += n
	}
}

// thin keeps one reading in so many, before and after a change of the cadence.
func (t *telemetry) thin(p *Post, g grid) {
	if p.ChangedAt.IsZero() {
		return
	}
	changed := g.at(p.ChangedAt)
	for i := range t.lost {
		keep := p.WasSlower
		if i >= changed {
			keep = p.Slower
		}
		t.lost[i] = t.lost[i] || i%keep != 0
	}
}

// ail lays a logger fault over the telemetry.
func (t *telemetry) ail(f *Fault, g grid, until time.Time, starved func(i int) bool) {
	a, b := g.span(f, until)
	switch f.Fault {
	case "logger_silent":
		fade := int(6 * 24 / g.hours())
		if f.Form != "battery" { // nothing foretold it
			fade = 0
		}
		for i := max(0, a-fade); i < b; i++ {
			full := t.batteryCV[i]
			if fade > 0 {
				t.batteryCV[i] = full - int16(0.15*float64(full)*float64(min(i, a)-a+fade)/float64(fade))
			}
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

// starving is when the supply fails the sensors, of all of a fault's ports in the
// same minutes: a weak battery for hours before sunrise on most nights, or, with a
// bad connection, at any hour, for hours or for a few readings.
func starving(f *Fault, g grid, until time.Time, seed uint64, post int) func(i int) bool {
	r := stream(seed, forFault, 1<<20+post)
	down := make([]bool, g.n)
	a, b := g.span(f, until)
	fill := func(from, to time.Time) {
		for i := max(a, g.at(from)); i < min(b, g.at(to)); i++ {
			down[i] = true
		}
	}
	farm := local()
	switch f.Form {
	case "nightly":
		for day := f.Start; day.Before(f.ends(until).Add(24 * time.Hour)); day = day.AddDate(0, 0, 1) {
			y, m, d := day.In(farm).Date()
			from := time.Date(y, m, d, 0, 0, 0, 0, farm).Add(time.Duration(between(r, 20, 200)) * time.Minute)
			to := from.Add(time.Duration(between(r, 150, 300)) * time.Minute)
			if r.Float64() <= 0.55+float64(0.45*f.Strength) {
				fill(from, to)
			}
		}
	default:
		apart, shortest, longest := 24/f.Strength, 1.0, 3.0 // hours between, readings of each
		if f.Form == "bank" {
			apart, shortest, longest = 7*24/f.Strength, 1/g.hours(), 8/g.hours()
		}
		for at := f.Start; at.Before(f.ends(until)); {
			at = at.Add(time.Duration(r.ExpFloat64() * apart * float64(time.Hour)))
			to := at.Add(time.Duration(between(r, shortest, longest) * float64(g.every)))
			fill(at, to)
			at = to
		}
	}
	return func(i int) bool { return down[i] }
}
