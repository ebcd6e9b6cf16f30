package simulate

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"probeward/schemas"
)

// Every demonstration must hold every fault and look-alike that it is to show,
// in a farm that is mostly healthy.
func TestDemonstrationIsComplete(t *testing.T) {
	for seed := range uint64(4) {
		o := Defaults()
		o.Seed = seed
		v := planned(t, o)
		w := newWorld(v)
		evidence := make([][]shown, len(v.Posts))
		looks := map[string]int{}
		healthy := v.healthy()
		for i := range v.Posts {
			rec := w.live(i)
			evidence[i] = w.shownBy(&rec)
			for k := range rec.probes {
				if healthy[rec.probes[k].probe] {
					looks[w.lookAlike(&rec.probes[k], &rec)]++
				}
			}
		}
		w.conclude(evidence)
		seen := map[string]bool{}
		for _, f := range v.Faults {
			if f.Why == "" {
				t.Errorf("seed %d: nothing says how %s of %s shows", seed, f.Fault, f.Name)
			}
			seen[f.Fault] = seen[f.Fault] || f.Visible
		}
		for _, name := range []string{"open_circuit", "short_circuit", "cable_damage", "dry_out_spike", "missing_irrigation_response",
			"flat_line", "out_of_range", "gap", "logger_silent", "logger_power", "clock_error", "settling"} {
			if !seen[name] {
				t.Errorf("seed %d: no visible %s", seed, name)
			}
		}
		for _, look := range []string{scaleEnd, deepSilent, wetAtZero, wholeKPa, dailySwing, manyHoles, noHistory, replaced, noLookAlike} {
			if looks[look] == 0 {
				t.Errorf("seed %d: no healthy probe is %s", seed, look)
			}
		}
		faulty := 0
		for _, ok := range healthy {
			if !ok {
				faulty++
			}
		}
		if share := float64(faulty) / float64(len(healthy)); share < 0.15 || share > 0.215 {
			t.Errorf("seed %d: %.3f of the probes are at fault", seed, share)
		}
	}
}

// Before its onset and after its end a fault changes nothing, and no probe but
// its own.
func TestFaultsKeepToTheirSpan(t *testing.T) {
	for seed := range uint64(3) {
		o := Defaults()
		o.Seed = seed
		v := planned(t, o)
		w := newWorld(v)
		changed := 0
		for i := range v.Posts {
			rec := w.live(i)
			for _, s := range rec.probes {
				first, last := rec.grid.n, 0
				name := "none"
				for _, k := range w.faults[i] {
					if f := &v.Faults[k]; f.probe == s.probe || slices.Contains(f.ports, s.probe) {
						first, last = rec.grid.span(f, v.Until)
						name = f.Fault + "/" + f.Form
					}
				}
				for j := range s.clean {
					if s.faulty[j] == s.clean[j] {
						continue
					}
					changed++
					if j < first || j >= last {
						t.Fatalf("seed %d, %s: %s changed reading %d, outside [%d, %d)", seed, v.Probes[s.probe].Name, name, j, first, last)
					}
				}
			}
		}
		if changed == 0 {
			t.Errorf("seed %d: no fault changed anything", seed)
		}
	}
}

// With the faults left out the healthy probes read the same to the last digit.
func TestFaultsDoNotTouchOthers(t *testing.T) {
	with, without := Defaults(), Defaults()
	with.Seed, without.Seed = 5, 5
	without.Faults = false
	a, b := newWorld(planned(t, with)), newWorld(planned(t, without))
	if len(b.v.Faults) != 0 {
		t.Fatalf("%d faults on a farm that was to be healthy", len(b.v.Faults))
	}
	compared := 0
	for i := range a.v.Posts {
		if a.logged[a.v.Posts[i].Zone] != nil {
			continue // its water differs
		}
		x, y := a.live(i), b.live(i)
		for k := range x.probes {
			p := a.v.Probes[x.probes[k].probe]
			if p.ValidFrom != b.v.Probes[y.probes[k].probe].ValidFrom { // settling: younger here
				continue
			}
			if a.v.Positions[p.Position].DripMM > 0 { // an emitter is the soil's water, not the probe's fault
				continue
			}
			compared++
			if !slices.Equal(x.probes[k].clean, y.probes[k].clean) {
				t.Errorf("%s: its clean record changed with the faults of others", p.Name)
			}
		}
	}
	if compared < 60 {
		t.Errorf("only %d probes could be compared", compared)
	}
}

func TestHealthyProbesStayPhysical(t *testing.T) {
	for seed := range uint64(3) {
		o := Defaults()
		o.Seed, o.Faults = seed, false
		v := planned(t, o)
		w := newWorld(v)
		for i, post := range v.Posts {
			m := post.model
			lo, hi := 0.0, m.end
			switch {
			case m.unit == "ohm":
				lo, hi = 300, 35000
			case m.kind == tensiometer:
				lo, hi = -3, 90
			case m.unit == "%":
				lo, hi = 0, 50
			case m.kind == dielectric:
				lo, hi = 0, 0.5
			}
			rec := w.live(i)
			for _, s := range rec.probes {
				values := 0
				for j, x := range s.faulty {
					if !isValue(x) {
						continue
					}
					values++
					if y := m.value(x); y < lo || y > hi {
						t.Fatalf("seed %d, %s: %v %s at %v, want %v to %v", seed, v.Probes[s.probe].Name, y, m.unit, rec.grid.time(j), lo, hi)
					}
				}
				if values < rec.grid.n/4 {
					t.Errorf("seed %d, %s: %d values only", seed, v.Probes[s.probe].Name, values)
				}
			}
		}
	}
}

// A fault without strength must be called hidden, and one that ended before the
// last week too: else a scan would be asked for what nobody can see.
func TestHiddenFaultsAreCalledHidden(t *testing.T) {
	o := Defaults()
	o.Seed = 3
	strong := planned(t, o)
	for k, f := range strong.Faults {
		if f.Subject != "probe" || f.Fault == "wrong_zone" || f.Fault == "settling" {
			continue
		}
		if f.Fault == "under_emitter" { // judged when all of the zone has run
			continue
		}
		for _, how := range []string{"as it is", "weak", "over"} {
			v := planned(t, o)
			g := &v.Faults[k]
			switch how {
			case "weak":
				if !strings.Contains("missing_irrigation_response dry_out_spike", f.Fault) {
					continue
				}
				g.Strength = 0.0001
			case "over":
				g.Start = v.Until.Add(-15 * 24 * time.Hour)
				g.End = g.Start.Add(4 * 24 * time.Hour)
			}
			w := newWorld(v)
			rec := w.live(g.post)
			visible, why := w.probeShown(g, &rec)
			if how != "as it is" && visible {
				t.Errorf("%s of %s, %s, is called visible: %s", f.Fault, f.Name, how, why)
			}
		}
	}
}

func TestEveryFormHasAnEffectAndAUnit(t *testing.T) {
	v := planned(t, small(1))
	w := newWorld(v)
	for _, o := range slices.Concat(musts(), extras(), grounded(), loggerOrders(), waterOrders()) {
		key := o.fault + "/" + o.form
		if o.strength[0] != o.strength[1] && unitOf(o.fault, o.form) == "" {
			t.Errorf("%s: nothing says what its strength counts", key)
		}
		row, known := schemas.FaultNamed(o.fault)
		if !known {
			t.Errorf("%s is no fault", key)
		}
		p := &v.Probes[0]
		f := &Fault{Fault: o.fault, Form: o.form, Start: v.Start.AddDate(0, 0, 9), Strength: o.strength[1], probe: 0, post: p.Post}
		if row.Subject != schemas.SubjectProbe || !f.changesReadings() {
			continue
		}
		if needHours[o.fault] == 0 {
			t.Errorf("%s: nothing says how long it must show", key)
		}
		e := effectOf(f, w.siteOf(p, w.gridOf(p.Post)), v.Until, stream(1, forFault, 0))
		if e.water == nil && e.soil == nil && e.signal == nil && e.record == nil && e.instead == nil {
			t.Errorf("%s changes nothing", key)
		}
	}
	have := map[string]bool{}
	for _, o := range slices.Concat(musts(), extras(), grounded(), loggerOrders(), waterOrders()) {
		have[o.fault] = true
	}
	for _, f := range schemas.Faults() {
		if !have[f.Name] {
			t.Errorf("no order injects %s", f.Name)
		}
	}
}

// The record of a real watering: the probes in the bulb answer most of them, the
// deep ones few, and a site outside the bulb hardly any.
func TestAnswersFallWithDepthAndDistance(t *testing.T) {
	o := Defaults()
	o.Seed, o.Faults = 11, false
	v := planned(t, o)
	w := newWorld(v)
	hit, all := map[string]int{}, map[string]int{}
	for i := range v.Posts {
		rec := w.live(i)
		for _, s := range rec.probes {
			p := &v.Probes[s.probe]
			if p.Meant != "" {
				continue
			}
			place := fmt.Sprintf("bulb %d", p.DepthCM)
			switch c := v.Positions[p.Position].Coupling; {
			case c < 0.3:
				place = "outside"
			case c < 1.4:
				continue
			}
			n, of := w.answered(p, s.clean, rec.grid, v.Posts[i].Zone, v.Until.AddDate(0, 0, -28), nil)
			hit[place] += n
			all[place] += of
		}
	}
	share := func(place string) float64 { return float64(hit[place]) / float64(max(1, all[place])) }
	if share("bulb 30") < 0.7 || share("bulb 90") > 0.4 || share("bulb 60") > share("bulb 30") || share("outside") > 0.35 {
		t.Errorf("share answered: %.2f at 30 cm, %.2f at 60, %.2f at 90, %.2f outside the bulb (%v of %v)",
			share("bulb 30"), share("bulb 60"), share("bulb 90"), share("outside"), hit, all)
	}
}

// A leaking splice follows the water: near its own resistance while wet, the
// sensor's again when dry, and the same answer for the same wetness. A corroded
// joint only grows.
func TestCableFaultsAsCircuits(t *testing.T) {
	v := planned(t, small(1))
	p := &v.Probes[0]
	m := granularModel(1, "mixed")
	p.Kind = m.kind
	g := grid{start: v.Start, every: time.Hour, n: 100}
	wetness := make([]float64, g.n)
	for i := range wetness {
		if i >= 20 {
			wetness[i] = 1 - float64(i-20)/80
		}
	}
	of := func(form string, strength float64) effect {
		f := &Fault{Fault: "cable_damage", Form: form, Start: v.Start.Add(10 * time.Hour), End: g.time(g.n), Strength: strength}
		return effectOf(f, &site{probe: p, model: &m, grid: g, wet: func() []float64 { return wetness }}, v.Until, stream(1, forFault, 0))
	}
	leak := of("leaking_splice", 500)
	// 10 kohm beside 500 ohm: 476.2; the leak at wetness 0 is beyond 4 Mohm.
	for _, c := range []struct {
		i      int
		lo, hi float64
	}{{5, 10000, 10000}, {15, 9970, 10000}, {20, 476, 477}, {30, 1300, 1400}, {99, 9950, 10000}} {
		if x := leak.signal(c.i, 10000); x < c.lo || x > c.hi {
			t.Errorf("leak: reading %d is %.1f ohm, want %v to %v", c.i, x, c.lo, c.hi)
		}
		if a, b := leak.signal(c.i, 10000), leak.signal(c.i, 10000); a != b {
			t.Errorf("leak: reading %d is %v and %v at the same wetness", c.i, a, b)
		}
	}
	joint := of("corroded_joint", 2000)
	if x := joint.signal(9, 600); x != 600 {
		t.Errorf("joint: %.1f ohm before the onset", x)
	}
	if early, late := joint.signal(12, 600), joint.signal(99, 600); early > 700 || late < 2300 || late > 2900 {
		t.Errorf("joint: %.1f ohm at first and %.1f at the end, want about 667 and 2600", early, late)
	}
}
