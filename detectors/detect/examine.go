package detect

import (
	"fmt"
	"maps"
	"sort"

	"probeward/schemas"
)

// Thresholds are the configured parameters by detector and name.
type Thresholds map[string]map[string]float64

// Examiner runs detectors. It keeps buffers, so each worker has its own.
type Examiner struct {
	probeDetectors []*Detector
	groupDetectors []*Detector
	params         map[string]map[string]float64
	shared         Shared
	// Strict lets a detector's panic through, as tests want; otherwise it becomes
	// an outcome that says so, and one bad series does not end a run.
	Strict bool
	// For gives a parameter that is set for a probe alone, by its kind, block or
	// depth; nil: none is. The probe detectors ask it.
	For func(detector, param string, probe *Probe) (float64, bool)
}

// NewExaminer checks the detectors and the configured thresholds.
func NewExaminer(detectors []*Detector, configured Thresholds) (*Examiner, error) {
	e := &Examiner{params: map[string]map[string]float64{}}
	for _, d := range detectors {
		if err := d.Validate(); err != nil {
			return nil, err
		}
		values := map[string]float64{}
		for _, p := range d.Params {
			values[p.Name] = p.Default
		}
		for name, v := range configured[d.Name] {
			if _, ok := values[name]; !ok {
				return nil, fmt.Errorf("detectors: %s has no parameter %q", d.Name, name)
			}
			values[name] = v
		}
		e.params[d.Name] = values
		if d.Scope == PerProbe {
			e.probeDetectors = append(e.probeDetectors, d)
		} else {
			e.groupDetectors = append(e.groupDetectors, d)
		}
	}
	for name := range configured {
		if _, ok := e.params[name]; !ok {
			return nil, fmt.Errorf("detectors: there is no detector %q", name)
		}
	}
	return e, nil
}

// ProbeDetectors are those of scope probe, in the order of the list: the columns
// of the matrix.
func (e *Examiner) ProbeDetectors() []*Detector { return e.probeDetectors }

// GroupDetectors are the others, in the order of the list.
func (e *Examiner) GroupDetectors() []*Detector { return e.groupDetectors }

// Report is what the probe detectors say about one probe: one outcome a detector,
// in the order of ProbeDetectors, and the summary for the group detectors.
type Report struct {
	Outcomes []Outcome
	Summary  Summary
}

// Probe runs every probe detector on one series.
func (e *Examiner) Probe(probe *Probe, series *Series, ctx *Context, period Period) Report {
	e.shared.Reset(probe, series, ctx)
	have := available(probe, series, ctx)
	r := Report{Outcomes: make([]Outcome, len(e.probeDetectors))}
	for i, d := range e.probeDetectors {
		if why, ok := lacking(d, have, probe, series); !ok {
			r.Outcomes[i] = Outcome{Why: why}
			continue
		}
		p := Pass{d, have, probe, series, ctx, &e.shared, period, e.paramsFor(d, probe)}
		r.Outcomes[i] = e.guard(d, period, func() Outcome { return d.Run(&p) })
	}
	r.Summary = Summarise(probe, series, &e.shared, period)
	return r
}

// paramsFor gives a detector's parameters for one probe.
func (e *Examiner) paramsFor(d *Detector, probe *Probe) map[string]float64 {
	all := e.params[d.Name]
	if e.For == nil {
		return all
	}
	own := maps.Clone(all)
	for _, p := range d.Params {
		if v, ok := e.For(d.Name, p.Name, probe); ok {
			own[p.Name] = v
		}
	}
	return own
}

// Group runs every group detector of the group's scope. The result has one outcome
// for each of GroupDetectors; those of another scope stay not evaluated and unasked.
func (e *Examiner) Group(g *Group) []Outcome {
	sort.SliceStable(g.Members, func(i, j int) bool { return g.Members[i].Probe.Name < g.Members[j].Probe.Name })
	out := make([]Outcome, len(e.groupDetectors))
	for i, d := range e.groupDetectors {
		if d.Scope != g.Scope {
			continue
		}
		if d.Needs&NeedClock != 0 && g.Stamps == nil {
			out[i] = Unable(Absent, "%s", needWords[NeedClock][1])
			continue
		}
		if d.Needs&NeedIrrigation != 0 && g.Irrigation == nil && len(g.Zones) == 0 {
			out[i] = Unable(Absent, "%s", needWords[NeedIrrigation][1])
			continue
		}
		if d.Needs&NeedRain != 0 && !g.HasRain {
			out[i] = Unable(Absent, "%s", needWords[NeedRain][1])
			continue
		}
		p := GroupPass{d, g, e.params[d.Name]}
		out[i] = e.guard(d, g.Period, func() Outcome { return d.RunGroup(&p) })
	}
	return out
}

// guard runs a detector and completes its findings.
func (e *Examiner) guard(d *Detector, period Period, run func() Outcome) (o Outcome) {
	if !e.Strict {
		defer func() {
			if r := recover(); r != nil {
				o = Unable(NotRun, "the detector failed on this series: %v", r)
			}
		}()
	}
	o = run()
	if o.State == Found && len(o.Findings) == 0 {
		o.State = Clear
	}
	for i := range o.Findings {
		f := &o.Findings[i]
		if f.Fault == "" {
			f.Fault = d.Name
		}
		if _, ok := schemas.FaultNamed(f.Fault); !ok {
			panic(fmt.Sprintf("detector %s finds %q, which is no fault", d.Name, f.Fault))
		}
		f.End = min(f.End, period.Window.End)
		if f.Open {
			f.End = period.Window.End
		}
		if f.ExcludeFrom == 0 {
			f.ExcludeFrom = f.Start
		}
	}
	return o
}

// available lists what there is of everything that a detector may need.
func available(probe *Probe, series *Series, ctx *Context) (have Needs) {
	add := func(n Needs, ok bool) {
		if ok {
			have |= n
		}
	}
	add(NeedOhms, probe.Quantity == Ohms)
	add(NeedWetness, probe.TellsWater())
	add(NeedTemperature, series.Temperature != nil)
	add(NeedBattery, series.Battery != nil)
	add(NeedDepth, probe.DepthCM.OK)
	add(NeedTexture, probe.Texture != "")
	add(NeedInstalledOn, probe.InstalledOn.OK)
	add(NeedIrrigation, ctx.HasIrrigation)
	add(NeedRain, ctx.HasRain)
	add(NeedDemand, ctx.HasDemand)
	add(NeedScaleEnd, ctx.ScaleEnd.OK)
	return have
}

// lacking says why a detector cannot look at a series, if it cannot.
func lacking(d *Detector, have Needs, probe *Probe, series *Series) (Why, bool) {
	if missing := d.Needs &^ have; missing != 0 {
		text := needWords[missing.first()][1]
		if missing.first() == NeedOhms || missing.first() == NeedWetness {
			text = fmt.Sprintf(text, probe.Quantity.Unit())
		}
		return Why{Absent, text}, false
	}
	if n := len(series.Time); n < d.MinReadings {
		return Why{TooShort, fmt.Sprintf("needs %d readings with a value, had %d", d.MinReadings, n)}, false
	}
	if d.MinSpanHours > 0 {
		span := 0.0
		if n := len(series.Time); n > 1 {
			span = Hours(series.Time[n-1] - series.Time[0])
		}
		if span < d.MinSpanHours {
			return Why{TooShort, fmt.Sprintf("needs readings over %.0f h, had %.1f h", d.MinSpanHours, span)}, false
		}
	}
	return Why{}, true
}
