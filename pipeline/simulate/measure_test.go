package simulate

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"probeward/schemas"
)

// measured is a farm as the accuracy of a scan is measured on.
func measured(seed uint64) Options {
	o := Defaults()
	o.Seed, o.Measure = seed, true
	o.Export = [...]string{"mixed", "kPa", "ohm", "vwc"}[seed%4]
	return o
}

// Over the farms of a measurement every form of every fault and every look-alike
// must come up often enough to say something, and no fault on a look-alike.
func TestMeasuredFarmsHoldEverything(t *testing.T) {
	forms, faults, looks := map[string]int{}, map[string]int{}, map[string]int{}
	for seed := uint64(1); seed <= 24; seed++ {
		v := planned(t, measured(seed))
		faulty := 0
		for _, ok := range v.healthy() {
			if !ok {
				faulty++
			}
		}
		if share := float64(faulty) / float64(len(v.Probes)); share < 0.2 || share > 0.34 {
			t.Errorf("seed %d: %.2f of the probes are at fault", seed, share)
		}
		for _, f := range v.Faults {
			forms[f.Fault+"/"+f.Form]++
			faults[f.Fault]++
			if f.probe >= 0 && (v.Probes[f.probe].Meant != "" || v.Probes[f.probe].Predecessor) {
				t.Errorf("seed %d: %s has %s and is %s", seed, f.Name, f.Fault, v.Probes[f.probe].Meant)
			}
		}
		seen := map[string]bool{}
		for _, p := range v.Probes {
			seen[p.Meant] = true
			seen[v.Posts[p.Post].Look] = true
			seen[v.Zones[v.Posts[p.Post].Zone].Look] = true
		}
		for look := range seen {
			looks[look]++
		}
	}
	for _, o := range slices.Concat(musts(), extras(), grounded(), loggerOrders(), waterOrders()) {
		if n := forms[o.fault+"/"+o.form]; n < 2 {
			t.Errorf("%s/%s comes up %d times in 24 farms", o.fault, o.form, n)
		}
	}
	for _, f := range schemas.Faults() {
		if faults[f.Name] < 20 {
			t.Errorf("%s comes up %d times in 24 farms", f.Name, faults[f.Name])
		}
	}
	for _, look := range []string{scaleEnd, wetAtZero, dailySwing, manyHoles, noHistory, replaced, hotCable, partialWetting,
		cadenceChange, sentAgain, dormant, noEventLog, eventEarly, halfWatered} {
		if looks[look] < 4 {
			t.Errorf("%s comes up on %d of 24 farms", look, looks[look])
		}
	}
}

// A healthy logger loses no half day and no tenth of a week, or its probes had the
// fault that the truth denies.
func TestHolesStayBelowAGap(t *testing.T) {
	for seed := uint64(1); seed <= 24; seed++ {
		o := measured(seed)
		o.Cadence = [...]time.Duration{5, 15, 30, 60}[seed%4] * time.Minute
		v := planned(t, o)
		w := newWorld(v)
		for post := range v.Posts {
			if !v.Posts[post].ChangedAt.IsZero() {
				continue
			}
			g := w.gridOf(post)
			lost := w.telemetryOf(post, g, make([]float64, g.n)).lost
			week := int(7 * 24 / g.hours())
			run, inWeek, most := 0, 0, 0
			for i := range lost {
				run++
				if lost[i] {
					inWeek++
				} else {
					run = 0
				}
				if i >= week && lost[i-week] {
					inWeek--
				}
				most = max(most, inWeek)
				if float64(run)*g.hours() >= 12 {
					t.Fatalf("seed %d, %s: %d readings in a row are lost", seed, v.Posts[post].Name, run)
				}
			}
			if most*10 >= week {
				t.Errorf("seed %d, %s: %d of %d readings of a week are lost", seed, v.Posts[post].Name, most, week)
			}
		}
	}
}

// bench is one probe in loam, dry but for two days of water, with an effect between.
func bench(t *testing.T, kind, fault, form string, strength float64) (clean, faulty []float64, at spell) {
	t.Helper()
	v := planned(t, small(1))
	w := newWorld(v)
	p := v.Probes[0]
	m := granularModel(3, "mixed")
	p.Kind, p.noise, p.offset, p.lagHours, p.deadAt = kind, 0, 1, 0.5, 5
	if kind == dielectric {
		m = dielectricModel(0)
		p.offset, p.lagHours = 0, 0.1
	}
	g := grid{start: v.Start, every: 15 * time.Minute, n: 96 * 20}
	c := newColumn("loam", textureDraw{alpha: 1, n: 1, ks: 1})
	at = spell{96 * 4, g.n}
	theta, water := make([]float64, g.n), make([]float64, g.n)
	for i := range theta {
		theta[i] = 0.14 - 0.00002*float64(i)
		if k := i - 96*10; k > 40 { // ten hours after the water the front is here
			theta[i] += 0.12 * (1 - math.Exp(-float64(k-40)/20)) * math.Exp(-float64(k-40)/400)
		}
		if i >= 96*10 && i < 96*10+24 {
			water[i] = 0.8
		}
	}
	run := func(e effect) []float64 {
		out, back := make([]int32, g.n), make([]float64, g.n)
		in := signalInput{theta: theta, tempC: slices.Repeat([]float64{18}, g.n), loggerTemp: slices.Repeat([]float64{18}, g.n), hours: g.hours()}
		fixed := *w
		one := *v
		one.Posts = slices.Clone(v.Posts)
		one.Posts[p.Post].model = m
		fixed.v = &one
		fixed.read(&p, c, in, e, stream(1, forNoise, 0), out)
		for i, x := range out {
			back[i], _ = m.working(m.value(x))
			if kind != dielectric {
				back[i] = -back[i] // up is wetter
			}
		}
		return back
	}
	f := &Fault{Fault: fault, Form: form, Start: g.time(at.a), End: g.time(at.b), Strength: strength}
	s := &site{probe: &p, model: &m, grid: g, texture: c.texture, wet: func() []float64 { return water }, water: func() []float64 { return water },
		tempC: func() []float64 { return slices.Repeat([]float64{18}, g.n) }}
	return run(effect{}), run(effectOf(f, s, v.Until, stream(1, forFault, 0))), at
}

// rising is the first reading from i on that is this much above that at i.
func rising(x []float64, i int, by float64) int {
	for k := i; k < len(x); k++ {
		if x[k] > x[i]+by {
			return k - i
		}
	}
	return len(x)
}

// What a fault of contact does, as its physics says: late and low behind an air gap,
// early and short-lived down a hole.
func TestContactFaultsAsPhysics(t *testing.T) {
	for kind, by := range map[string]float64{granularMatrix: 0.15, dielectric: 0.02} {
		const opened = 96 * 10
		clean, gap, at := bench(t, kind, "poor_contact", "shrunk_away", 0.8)
		if a, b := rising(clean, opened, by), rising(gap, opened, by); b < a+8 {
			t.Errorf("%s: behind an air gap the answer came after %d readings, without after %d", kind, b, a)
		}
		if a, b := slices.Max(clean[opened:])-clean[opened], slices.Max(gap[opened:])-gap[opened]; b > 0.85*a {
			t.Errorf("%s: behind an air gap it rose by %.3f, without by %.3f", kind, b, a)
		}
		if gap[at.a+96] >= clean[at.a+96] {
			t.Errorf("%s: behind an air gap it is wetter, %.3f against %.3f", kind, gap[at.a+96], clean[at.a+96])
		}
		clean, hole, _ := bench(t, kind, "bypass_flow", "down_the_hole", 0.6)
		if a, b := rising(clean, opened, by), rising(hole, opened, by); b > 8 || a < 40 {
			t.Errorf("%s: down the hole water came after %d readings, through the soil after %d", kind, b, a)
		}
		if day := opened - 1 + 96*9; math.Abs(hole[day]-clean[day]) > 0.02 {
			t.Errorf("%s: days after the water the hole still reads %.3f, and the soil %.3f", kind, hole[day], clean[day])
		}
		clean, jumpy, at := bench(t, kind, "poor_contact", "jumpy", 1)
		steps := func(x []float64) (n int) {
			for i := at.a + 1; i < opened; i++ { // dry weather
				if math.Abs(x[i]-x[i-1]) > by/8 {
					n++
				}
			}
			return n
		}
		if a, b := steps(clean), steps(jumpy); b < a+3 {
			t.Errorf("%s: a jumpy contact steps %d times, a good one %d", kind, b, a)
		}
	}
}

// Drifts go where their names say, and are whole only at the end.
func TestDriftsGoTheirWay(t *testing.T) {
	for kind, unit := range map[string]float64{granularMatrix: 1, dielectric: 0.1} {
		for form, sign := range map[string]float64{"offset_dry": -1, "offset_wet": 1} {
			clean, drifted, at := bench(t, kind, "drift", form, 0.4)
			early, late := drifted[at.a+10]-clean[at.a+10], drifted[at.b-1]-clean[at.b-1]
			if sign*late < 0.3*unit || sign*late > 0.5*unit || math.Abs(early) > 0.05*unit {
				t.Errorf("%s, %s by 0.4: %.3f at first and %.3f at the end", kind, form, early, late)
			}
		}
		for form, gain := range map[string]float64{"gain_up": 1.5, "gain_down": 0.5} {
			clean, drifted, at := bench(t, kind, "drift", form, 0.5)
			fromWet := func(x float64) float64 { return x } // m3/m3 above none
			if kind == granularMatrix {
				fromWet = func(x float64) float64 { return math.Log((math.Exp(-x) - 100) / 550) } // ln ohm above a wet block's
			}
			if a, b := fromWet(clean[at.b-1]), fromWet(drifted[at.b-1]); math.Abs(b-gain*a) > 0.02*a+0.002 {
				t.Errorf("%s, %s: %.3f became %.3f at the end, want %.1f times as much", kind, form, a, b, gain)
			}
		}
	}
}

// Two ports that are swapped read each other's, and a copy reads its source's.
func TestPairsOfPorts(t *testing.T) {
	found := map[string]bool{}
	for seed := uint64(1); seed <= 9; seed++ {
		v := planned(t, measured(seed))
		w := newWorld(v)
		for _, f := range v.Faults {
			if f.Fault != "depth_order" && f.Fault != "duplicate_series" || f.source || found[f.Fault+f.Form] {
				continue
			}
			found[f.Fault+f.Form] = true
			rec := w.live(f.post)
			own, other := rec.of(f.probe), rec.of(f.peer)
			first, last := rec.grid.span(&f, v.Until)
			late := 0
			if f.Form == "late" {
				late = int(math.Round(f.Strength))
			}
			equal, same := 0, 0
			for i := first + late; i < last; i++ {
				if own.faulty[i] == other.clean[i-late] {
					equal++
				}
				if own.faulty[i] == own.clean[i] {
					same++
				}
			}
			switch n := last - first - late; {
			case f.Form != "rounded" && equal < n:
				t.Errorf("seed %d, %s/%s: %d of %d readings are the other port's", seed, f.Fault, f.Form, equal, n)
			case same > n*9/10:
				t.Logf("seed %d, %s/%s: %d of %d readings are its own as well", seed, f.Fault, f.Form, same, n)
			}
			if f.Fault == "duplicate_series" && &other.faulty[0] != &other.clean[0] {
				t.Errorf("seed %d: the source of a copy was changed", seed)
			}
		}
	}
	if len(found) < 5 {
		t.Errorf("only %v were found", found)
	}
}

// A clock's error by hand.
func TestClockErrors(t *testing.T) {
	start := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		form     string
		strength float64
		after    time.Duration
		want     time.Duration
	}{
		{"hours_back", 4.2, time.Hour, -4 * time.Hour},
		{"hours_ahead", 3.6, time.Hour, 4 * time.Hour},
		{"zone_ahead", 7, 0, 7 * time.Hour},
		{"zone_behind", 7, 0, -7 * time.Hour},
		{"daylight_saving", 1, time.Hour, -time.Hour},
		{"years", 20, time.Hour, -20 * 8766 * time.Hour},
		{"loses_time", 12, 36 * time.Hour, -18 * time.Minute},
	} {
		f := Fault{Form: c.form, Strength: c.strength, Start: start}
		if got := f.clockWrong(start.Add(c.after)); got != c.want {
			t.Errorf("%s %v: %v after %v, want %v", c.form, c.strength, got, c.after, c.want)
		}
	}
}

// A tensiometer that leaks never holds what it should, and one that a drought
// empties does so when it is too dry for it, not before.
func TestTensiometersEmpty(t *testing.T) {
	s := &site{probe: &Probe{Kind: tensiometer}, grid: grid{every: time.Hour, n: 400}}
	in := spell{10, 400}
	leak := empties(&Fault{Form: "leaking", Strength: 0.4}, s, in)
	broke := empties(&Fault{Form: "emptied_by_drought", Strength: 30}, s, in)
	first := -1
	for i := range 400 {
		soil := 10 + float64(i)/10
		if x := leak.signal(i, soil); i == 9 && x != soil || i == 399 && x > 0.2*soil {
			t.Errorf("leaking: reading %d is %.1f kPa in soil of %.1f", i, x, soil)
		}
		if x := broke.signal(i, soil); first < 0 && x < 0.9*soil {
			first = i
		}
	}
	if first < 200 || first > 206 {
		t.Errorf("emptied by drought at reading %d, want soon after 200, where the soil passes 30 kPa", first)
	}
}

// The register's unit is not the export's, and the twin is in the register's.
func TestUnitInTheRegister(t *testing.T) {
	for seed := uint64(1); seed <= 12; seed++ {
		v := planned(t, measured(seed))
		for _, f := range v.Faults {
			if f.Fault != "wrong_kind" {
				continue
			}
			p := v.Probes[f.probe]
			wrong := p.Unit != v.Posts[p.Post].model.unit
			if wrong != (f.Form == "unit") {
				t.Errorf("seed %d, %s: %s is registered and %s comes", seed, fmt.Sprint(f.Fault, "/", f.Form), p.Unit, v.Posts[p.Post].model.unit)
			}
		}
	}
}
