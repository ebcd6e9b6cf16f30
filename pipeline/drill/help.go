package drill

import (
	"context"
	"maps"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
)

// Help is what an input buys on this farm: the trials whose detectors can use it, with
// it and without it.
type Help struct {
	Input   string `json:"input"`
	With    Share  `json:"found_with"`
	Without Share  `json:"found_without"`
	// Bought are found with it and not without it; Spoilt the other way round.
	Bought Share    `json:"bought"`
	Spoilt int      `json:"spoilt"`
	Forms  []string `json:"forms"` // that it buys the most of, at most three
}

// Lack is an input that the farm lacks, in part or whole, and what could not be asked.
type Lack struct {
	Why       string   `json:"why"`
	Detectors []string `json:"detectors"`
	Subjects  int      `json:"subjects"` // probes, zones or loggers that are not evaluated for it by at least one
}

// without is a world with one input less, and the trials that could suffer from it.
type without struct {
	input  string
	world  *world
	trials []*Trial
	at     []int // their places among all trials
}

// worlds lists the inputs that the farm has and that can be taken away.
func (d *drill) worlds() (out []*without) {
	add := func(input string, w *world, concerns func(*Trial) bool) {
		x := &without{input: input, world: w}
		for i, t := range d.trials {
			if concerns(t) {
				x.trials, x.at = append(x.trials, t), append(x.at, i)
			}
		}
		if len(x.trials) > 0 {
			out = append(out, x)
		}
	}
	uses := func(n detect.Needs) func(*Trial) bool {
		return func(t *Trial) bool {
			det := d.detectorOf(t.Form)
			return det != nil && (det.Needs|det.Uses)&n != 0
		}
	}
	base := *d.plain.world
	if len(base.water) > 0 {
		w := base
		w.water = nil
		add("log of waterings", &w, uses(detect.NeedIrrigation))
	}
	if base.weather.HasRain {
		w := base
		w.weather.Rain, w.weather.HasRain = nil, false
		add("rain", &w, uses(detect.NeedRain))
	}
	if len(base.weather.Demand) > 0 {
		w := base
		w.weather.Demand = nil
		add("evapotranspiration", &w, uses(detect.NeedDemand))
	}
	if d.has(func(v arrange.View) bool {
		for i := range v.Len() {
			if _, ok := v.Temperature(i); ok {
				return true
			}
		}
		return false
	}) {
		w := base
		w.see = func(_ int, s *detect.Series) { s.Temperature = nil }
		add("soil temperature", &w, uses(detect.NeedTemperature))
	}
	if w, ohms := d.inKPa(); ohms {
		add("ohms (against whole kPa)", w, func(t *Trial) bool {
			return t.Form.Target == oneProbe && t.Form.Fault != "wrong_kind" && d.detectorOf(t.Form) != nil && base.probes[t.Places[0]].Quantity == detect.Ohms
		})
	}
	alone := base
	alone.alone = true
	add("other probes in the zone", &alone, func(t *Trial) bool {
		det := d.detectorOf(t.Form)
		return t.Form.Target == oneProbe && det != nil && det.Scope == detect.PerZone && d.plain.contexts[t.Places[0]].Siblings > 0
	})
	return out
}

// has says whether any fit probe's readings are of a sort.
func (d *drill) has(sort func(arrange.View) bool) bool {
	return slices.ContainsFunc(d.fit, func(i int) bool { return sort(d.plain.view(i)) })
}

// inKPa is the farm with its granular blocks exported as whole kPa up to 239, and
// whether it has any in ohms.
func (d *drill) inKPa() (w *world, any bool) {
	own := *d.plain.world
	w = &own
	w.probes, w.peaks = slices.Clone(own.probes), slices.Clone(own.peaks)
	became := map[int]bool{}
	for i := range w.probes {
		p := &w.probes[i]
		if p.Kind == detect.GranularMatrix && p.Quantity == detect.Ohms {
			p.Quantity, p.Unit, p.Scale, p.Offset = detect.Tension, "kPa", 1, 0
			became[i] = true
		}
	}
	w.see = func(place int, s *detect.Series) {
		if became[place] {
			for i, ohms := range s.Value {
				s.Value[i] = wholeKPa(&w.probes[place], ohms)
			}
		}
	}
	var s detect.Series
	for _, i := range slices.Sorted(maps.Keys(became)) {
		d.plain.view(i).Series(&d.in.Examine.Probes[i], &s)
		w.see(i, &s)
		w.peaks[i] = peakOf(s.Value)
	}
	return w, len(became) > 0
}

// lessen tries a world's trials and holds them against the same ones with the input.
func (d *drill) lessen(ctx context.Context, w *without, with []outcome) (h Help, err error) {
	b, err := newBench(ctx, d.in, w.world, d.o.Workers)
	if err != nil {
		return h, err
	}
	less, err := d.rehearse(ctx, b, w.trials)
	if err != nil {
		return h, err
	}
	n, k, l, bought := 0, 0, 0, 0
	forms := map[string]int{}
	for i := range w.trials {
		a, z := &with[w.at[i]], &less[i]
		if a.Why != "" || z.Why != "" {
			continue
		}
		n++
		k += count(a.Found)
		l += count(z.Found)
		if a.Found && !z.Found {
			bought++
			forms[w.trials[i].Form.Name]++
		}
		h.Spoilt += count(z.Found && !a.Found)
	}
	h.Forms = []string{}
	h.Input, h.With, h.Without, h.Bought = w.input, share(k, n), share(l, n), share(bought, n)
	for _, f := range counts(forms) {
		if len(h.Forms) < 3 {
			h.Forms = append(h.Forms, f.Name)
		}
	}
	return h, nil
}

// lacks sums why detectors were not evaluated for want of an input in the plain run.
func (d *drill) lacks() []Lack {
	out := []Lack{}
	type seen struct{ detectors, subjects map[string]bool }
	by := map[string]*seen{}
	say := func(why detect.Why, detector, subject string) {
		if why.Cause != detect.Absent {
			return
		}
		if by[why.Text] == nil {
			by[why.Text] = &seen{map[string]bool{}, map[string]bool{}}
		}
		by[why.Text].detectors[detector], by[why.Text].subjects[subject] = true, true
	}
	e, err := d.plain.examiner()
	if err != nil {
		return nil // it was made from the same detectors before
	}
	for i := range d.plain.reports {
		p := &d.in.Examine.Probes[i]
		if !p.Moisture() {
			continue
		}
		for j, o := range d.plain.reports[i].Outcomes {
			if o.State == detect.NotEvaluated {
				say(o.Why, e.ProbeDetectors()[j].Name, p.Name)
			}
		}
	}
	for _, g := range d.plain.groups {
		for j, o := range g.Outcomes {
			det := e.GroupDetectors()[j]
			if o.State == detect.NotEvaluated && det.Scope == g.Group.Scope {
				say(o.Why, det.Name, det.Scope.String()+" "+g.Group.Name)
			}
			for i, why := range o.Unseen {
				say(why, det.Name, d.in.Examine.Probes[i].Name)
			}
		}
	}
	for why, s := range by {
		out = append(out, Lack{why, slices.Sorted(maps.Keys(s.detectors)), len(s.subjects)})
	}
	slices.SortFunc(out, func(a, b Lack) int {
		if a.Subjects != b.Subjects {
			return b.Subjects - a.Subjects
		}
		return compare(a.Why, b.Why)
	})
	return out
}
