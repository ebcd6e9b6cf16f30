package detect

import (
	"fmt"
	"sort"
)

// Pass is what a probe detector is handed: one probe's series and what its Needs
// and Uses name of the rest. Asking for anything else is a fault of the detector,
// and panics, so that the declaration cannot lie.
type Pass struct {
	detector *Detector
	have     Needs
	probe    *Probe
	series   *Series
	ctx      *Context
	shared   *Shared
	period   Period
	params   map[string]float64
}

func (p *Pass) want(n Needs) {
	if (p.detector.Needs|p.detector.Uses)&n == 0 {
		panic(fmt.Sprintf("detector %s asks for %s, which it does not declare", p.detector.Name, n))
	}
}

// Param gives a threshold as configured, in its declared unit.
func (p *Pass) Param(name string) float64 { return param(p.detector, p.params, name) }

// ParamHours is a parameter that is declared in hours, in microseconds.
func (p *Pass) ParamHours(name string) int64 { return int64(p.Param(name) * float64(Hour)) }

func param(d *Detector, params map[string]float64, name string) float64 {
	v, ok := params[name]
	if !ok {
		panic(fmt.Sprintf("detector %s asks for the parameter %q, which it does not declare", d.Name, name))
	}
	return v
}

// Has says whether one of the things that the detector Uses is there.
func (p *Pass) Has(n Needs) bool { p.want(n); return p.have&n == n }

// Kind of the sensor, as registered.
func (p *Pass) Kind() Kind { return p.probe.Kind }

// Place of the probe in the register.
func (p *Pass) Place() int { return p.probe.Index }

// Unit as registered, in which the values were exported.
func (p *Pass) Unit() string { return p.probe.Unit }

// Exported takes a standard value back to what the logger wrote.
func (p *Pass) Exported(v float64) float64 {
	if p.probe.Scale == 0 {
		return v
	}
	return v/p.probe.Scale + p.probe.Offset
}

// Quantity that the values are in.
func (p *Pass) Quantity() Quantity { return p.probe.Quantity }

// Limits of what the sensor or the soil can be, in the standard unit. It takes
// the depth of a tensiometer into account where the register has it.
func (p *Pass) Limits() Limits { return p.probe.Limits() }

// Wirings say at which logger and port the probe was, and when; sorted by start.
func (p *Pass) Wirings() []Wiring { return p.probe.Wirings }

// Period that is looked at.
func (p *Pass) Period() Period { return p.period }

// Time of each value, strictly increasing.
func (p *Pass) Time() []int64 { return p.series.Time }

// Value in the standard unit: ohms, kPa, m3/m3 or degC.
func (p *Pass) Value() []float64 { return p.series.Value }

// Ohms is Value where the series holds ohms.
func (p *Pass) Ohms() []float64 { p.want(NeedOhms); return p.series.Value }

// Blanks are stamps at which the port was heard and gave no value.
func (p *Pass) Blanks() []int64 { return p.series.Blank }

// Coded are stamps at which the logger wrote a fault code in place of a value.
func (p *Pass) Coded() []Coded { return p.series.Coded }

// Wetness is the series in the working space: up is wetter.
func (p *Pass) Wetness() []float64 { p.want(NeedWetness); return p.shared.Wetness() }

// Wettings are the times that the probe wetted, by turning points.
func (p *Pass) Wettings() []Wetting { p.want(NeedWetness); return p.shared.Wettings() }

// Excursions are the stretches at an impossible or dead value (see Excursion).
func (p *Pass) Excursions() []Excursion { return p.shared.Excursions() }

// Cadence is the median step between stamps; 0 when unknown.
func (p *Pass) Cadence() int64 { return p.shared.Cadence() }

// Quantum is the resolution of the values that the data show; 0 when none shows.
func (p *Pass) Quantum() float64 { return p.shared.Quantum() }

// Noise is the scatter of one reading in wetness, resolution not counted.
func (p *Pass) Noise() float64 { return p.shared.Noise() }

// Scale is the noise in wetness at a standard value, resolution counted.
func (p *Pass) Scale(v float64) float64 { return p.shared.Scale(v) }

// Leap is the difference in wetness from the standard value v that a sensor
// cannot cross between two readings.
func (p *Pass) Leap(v float64) float64 { return p.shared.Leap(v) }

// Temperature beside each value, degC, NaN where there is none.
func (p *Pass) Temperature() []float32 { p.want(NeedTemperature); return p.series.Temperature }

// Battery beside each value, V, NaN where there is none.
func (p *Pass) Battery() []float32 { p.want(NeedBattery); return p.series.Battery }

// DepthCM below the surface.
func (p *Pass) DepthCM() Maybe[float64] { p.want(NeedDepth); return p.probe.DepthCM }

// Texture is the soil's class as registered; empty when the register has none.
func (p *Pass) Texture() string { p.want(NeedTexture); return p.probe.Texture }

// InstalledOn is when the probe went into the ground.
func (p *Pass) InstalledOn() Maybe[int64] { p.want(NeedInstalledOn); return p.probe.InstalledOn }

// Irrigation of the probe's zone, sorted, not overlapping.
func (p *Pass) Irrigation() []Water { p.want(NeedIrrigation); return p.ctx.Irrigation }

// Rain at the farm, sorted.
func (p *Pass) Rain() []Water { p.want(NeedRain); return p.ctx.Rain }

// Demand is the reference evapotranspiration, sorted.
func (p *Pass) Demand() []Demand { p.want(NeedDemand); return p.ctx.Demand }

// ScaleEnd is the dry end of the exported scale, in the standard unit.
func (p *Pass) ScaleEnd() Maybe[float64] { p.want(NeedScaleEnd); return p.ctx.ScaleEnd }

// From is the place of the first reading at or after an instant.
func (p *Pass) From(t int64) int {
	return sort.Search(len(p.series.Time), func(i int) bool { return p.series.Time[i] >= t })
}

// EndOf gives where a stretch that ends before reading j ends: at that reading,
// or, when the series ends with it, one cadence after the last and still open.
func (p *Pass) EndOf(j int) (end int64, open bool) {
	end, open = p.shared.until(p.series.Time, j)
	return min(end, p.period.Window.End), open
}

// GroupPass is what a group detector is handed.
type GroupPass struct {
	detector *Detector
	group    *Group
	params   map[string]float64
}

// Param gives a threshold as configured, in its declared unit.
func (p *GroupPass) Param(name string) float64 { return param(p.detector, p.params, name) }

// ParamHours is a parameter that is declared in hours, in microseconds.
func (p *GroupPass) ParamHours(name string) int64 { return int64(p.Param(name) * float64(Hour)) }

// Name of the logger, zone or farm.
func (p *GroupPass) Name() string { return p.group.Name }

// Period that is looked at.
func (p *GroupPass) Period() Period { return p.group.Period }

// Members are the summaries of its probes, sorted by name.
func (p *GroupPass) Members() []Summary { return p.group.Members }

func (p *GroupPass) want(n Needs) {
	if (p.detector.Needs|p.detector.Uses)&n == 0 {
		panic(fmt.Sprintf("detector %s asks for %s, which it does not declare", p.detector.Name, n))
	}
}

// Stamps of the logger's files in the order written, and the span in which most
// loggers of the farm report, with how many loggers it was drawn from.
func (p *GroupPass) Stamps() (files []Stamps, farm Span, loggers int) {
	p.want(NeedClock)
	return p.group.Stamps, p.group.Farm, p.group.Loggers
}

// Beats say how a logger's daily swings keep the farm's time, by channel; nil where
// the farm has too few loggers to tell.
func (p *GroupPass) Beats() []Beat { p.want(NeedClock); return p.group.Beats }

// Contradictions within a span: how many stamps at which the logger's files give two
// values for one probe; false when nobody looked.
func (p *GroupPass) Contradictions(in Span) (n int, known bool) {
	p.want(NeedClock)
	for _, t := range p.group.Contradictions {
		if in.Holds(t) {
			n++
		}
	}
	return n, p.group.Contradictions != nil
}

// Irrigation of the zone, sorted.
func (p *GroupPass) Irrigation() []Water { p.want(NeedIrrigation); return p.group.Irrigation }

// Rain at the farm, sorted.
func (p *GroupPass) Rain() []Water { p.want(NeedRain); return p.group.Rain }

// HasRain says whether anybody measured rain.
func (p *GroupPass) HasRain() bool { p.want(NeedRain); return p.group.HasRain }

// Zones are the waterings of every zone of the farm that the log names, sorted.
func (p *GroupPass) Zones() map[string][]Water { p.want(NeedIrrigation); return p.group.Zones }

// HasBattery says whether any member has battery levels.
func (p *GroupPass) HasBattery() bool {
	p.want(NeedBattery)
	for _, m := range p.group.Members {
		if len(m.Battery) > 0 {
			return true
		}
	}
	return false
}
