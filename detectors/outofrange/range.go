package outofrange

import (
	_ "embed"
	"math"

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds readings that the sensor or the soil cannot give.
var Detector = &detect.Detector{
	Name:  "out_of_range",
	Doc:   manual,
	Scope: detect.PerProbe,
	Uses:  detect.NeedWetness | detect.NeedTexture,
	Params: []detect.Param{
		{Name: "min_electrical", Default: 3, Unit: "readings",
			Why:    "from this many in a row, after a leap or standing still, it is a lead's state: open_circuit or short_circuit",
			Source: "common practice, no source"},
		{Name: "dry_end", Default: 0.25, Unit: "1",
			Why:    "a block that dries to the open guard by small steps reads beyond it by its noise and its temperature, 2 % a degC over a day's 10",
			Source: "temperature effect of granular matrix sensors, 1.8-2 % a degC (derived)"},
		{Name: "offset_ohms", Default: 50, Unit: "ohm",
			Why:    "a logger that subtracts the copper of a long lead may be off by so much below zero; readings that wander further below are no short",
			Source: "300 m of 24 AWG, there and back, 50.5 ohm (derived)"},
		{Name: "moving_hours", Default: 24, Unit: "h",
			Why:    "water content that moves out there after a leap is a lead's state only from so long on",
			Source: "common practice, no source"},
		{Name: "short_least", Default: -20, Unit: "kPa",
			Why:    "no resistance at all, in soil of 45 degC and with 50 ohm of copper subtracted, converts to -19.2 kPa; further below is no short",
			Source: "wet branch of the piecewise form of Allen (2000), derived"},
		{Name: "short_most", Default: -7, Unit: "kPa",
			Why:    "300 ohm convert to -7.0 kPa at 35 degC; nearer to zero is not short_circuit's",
			Source: "wet branch of the piecewise form of Allen (2000), derived"},
		{Name: "most_water", Default: 1.5, Unit: "m3/m3",
			Why:    "water itself reads 0.96 by Topp's equation at a permittivity of 80: values half as large again are another unit's, and no lead's state",
			Source: "Topp, Davis & Annan (1980), eq. 7 (derived); margin: common practice, no source"},
		{Name: "gauge_kpa", Default: 2, Unit: "kPa",
			Why:    "how far off a tensiometer's gauge usually is, which moves its limits",
			Source: "common practice, no source"},
		{Name: "residual_margin", Default: 0.08, Unit: "m3/m3",
			Why:    "below a texture's residual water content by a probe's offset (0.03) and the spread of soils within a class (0.05) the readings are suspect",
			Source: "table of Carsel & Parrish 1988 (checked); margin: common practice, no source"},
		{Name: "porosity_margin", Default: 0.05, Unit: "m3/m3",
			Why:    "above a texture's porosity by this much the readings are suspect; porosity is the larger of the two published",
			Source: "Carsel & Parrish 1988 and Saxton & Rawls 2006 (checked); margin: common practice, no source"},
		{Name: "min_suspect", Default: 12, Unit: "h",
			Why:    "readings in a row that are only beyond a texture's range count from this long; a single one is its noise",
			Source: "common practice, no source"},
		{Name: "rejoin", Default: 24, Unit: "h",
			Why:    "readings out of range that come back within a day are one finding, in parts; over a longer silence no row of them goes on",
			Source: "common practice, no source"},
	},
	MinReadings: 1,
	Since:       "1.0",
	Run:         run,
}

func run(p *detect.Pass) detect.Outcome {
	s := scan{p: p, q: p.Quantity(), t: p.Time(), v: p.Value(), limits: p.Limits()}
	if math.IsInf(s.limits.Low, -1) && math.IsInf(s.limits.High, 1) {
		return detect.Unable(detect.Absent, "needs a quantity with limits; this series holds %s: give the register a unit and a scale that lead to one", s.q.Unit())
	}
	if p.Has(detect.NeedWetness) {
		s.w = p.Wetness()
	}
	if p.Kind() == detect.Tensiometer && s.q == detect.Tension {
		s.limits.Low -= p.Param("gauge_kpa")
		s.limits.High += p.Param("gauge_kpa")
	}
	s.likely = s.limits
	if s.q == detect.WaterContent && p.Has(detect.NeedTexture) {
		if low, high, ok := possible(p.Texture()); ok {
			s.likely.Low = math.Max(s.limits.Low, low-p.Param("residual_margin"))
			s.likely.High = math.Min(s.limits.High, high+p.Param("porosity_margin"))
		}
	}
	return detect.Faulty(findings(p, s.stretches())...)
}

// scan is one pass over a series of any quantity.
type scan struct {
	p      *detect.Pass
	q      detect.Quantity
	t      []int64
	v, w   []float64     // w is nil where the series is no moisture
	limits detect.Limits // of what sensor and soil can be
	likely detect.Limits // of what the registered texture can be, within limits
}

// stretch is one run of readings outside on one side.
type stretch struct {
	detect.Span
	open     bool
	hard     bool // outside limits, not only outside the texture's range
	high     bool
	readings int
	farthest float64 // the value farthest out
	limit    float64
	scales   float64 // how far that is beyond the limit, in noise and resolution
}

func (s *scan) stretches() []stretch {
	var out []stretch
	suspect := s.p.ParamHours("min_suspect")
	rejoin := s.p.ParamHours("rejoin")
	for i := 0; i < len(s.v); {
		if !s.likely.Outside(s.v[i]) {
			i++
			continue
		}
		high, hard := s.v[i] > s.likely.High, s.limits.Outside(s.v[i])
		j := i + 1
		for j < len(s.v) && s.t[j]-s.t[j-1] <= rejoin && s.likely.Outside(s.v[j]) && s.v[j] > s.likely.High == high && s.limits.Outside(s.v[j]) == hard {
			j++
		}
		if hard && !s.electrical(i, j, high) && !s.dryEnd(i, j, high) || !hard && s.t[j-1]-s.t[i] >= suspect && s.wanders(i, j) {
			out = append(out, s.stretch(i, j, high, hard))
		}
		i = j
	}
	return out
}

// dryEnd says whether readings beyond the open guard in ohms, or beyond the same in
// kPa, are a block that dried that far: it came by a small step and went not far
// beyond. The guard is no wall, and noise carries a dry block over it now and then.
func (s *scan) dryEnd(i, j int, high bool) bool {
	if !high || i == 0 || s.p.Kind() != detect.GranularMatrix {
		return false
	}
	beyond := s.limits.High * (1 + s.p.Param("dry_end"))
	for _, v := range s.v[i:j] {
		if v > beyond {
			return false
		}
	}
	return math.Abs(s.w[i]-s.w[i-1]) < s.p.Leap(s.v[i-1])/2
}

// negative says whether most of a stretch of ohms lies further below zero than a
// converter is off.
func (s *scan) negative(i, j int) bool {
	n, least := 0, -s.p.Param("offset_ohms")
	for _, v := range s.v[i:j] {
		if v < least {
			n++
		}
	}
	return 2*n > j-i
}

// slidesBack says whether a row of readings beyond the open guard comes back by a step
// that a block makes: the top of a spike, and no open lead.
func (s *scan) slidesBack(i, j int, high bool) bool {
	if !high || i == 0 || j == len(s.v) || s.q == detect.WaterContent || s.limits.Outside(s.v[i-1]) {
		return false
	}
	return s.wanders(i, j) && math.Abs(s.w[j]-s.w[j-1]) < s.p.Leap(s.v[j-1])/2
}

// electrical says whether a stretch outside the limits is the state of a lead
// rather than of a sensor: a row of readings that a leap led to, or that stand
// still, or that no leap could have been seen of in ohms.
func (s *scan) electrical(i, j int, high bool) bool {
	if s.w == nil || j-i < int(s.p.Param("min_electrical")) {
		return false
	}
	if s.q == detect.Ohms && !high && s.negative(i, j) && s.wanders(i, j) {
		return false // leads that touch have little resistance, never less than none
	}
	if s.slidesBack(i, j, high) {
		return false
	}
	if s.q == detect.Ohms && (!high || i == 0) {
		return true
	}
	if s.q == detect.Tension && !high {
		return s.noSignal(i, j)
	}
	if s.q == detect.WaterContent && s.v[i+(j-i)/2] > s.p.Param("most_water") {
		return false
	}
	if !s.wanders(i, j) {
		return true
	}
	// Water content that moves out there is a lead's state only when it lasts.
	lasts := s.q != detect.WaterContent || detect.Hours(s.t[j-1]-s.t[i]) >= s.p.Param("moving_hours")
	return lasts && i > 0 && math.Abs(s.w[i]-s.w[i-1]) >= s.p.Leap(s.v[i-1])
}

// noSignal says whether a stretch of kPa below its limit is a lead's: of a tensiometer
// one that stands still; of a granular matrix sensor what a short of a little
// resistance converts to, where most of its readings lie. Nearer to zero and further
// below no lead leads.
func (s *scan) noSignal(i, j int) bool {
	if s.p.Kind() == detect.Tensiometer {
		return !s.wanders(i, j)
	}
	n, least, most := 0, s.p.Param("short_least"), s.p.Param("short_most")
	for _, v := range s.v[i:j] {
		if v >= least && v < most {
			n++
		}
	}
	return 5*n >= 4*(j-i)
}

// wanders says whether the readings move by more than two steps of the resolution
// or two of the sensor's least scatter.
func (s *scan) wanders(i, j int) bool {
	low, high := s.v[i], s.v[i]
	for _, v := range s.v[i+1 : j] {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return high-low > math.Max(2*s.p.Quantum(), 2*s.q.SensorNoise()/s.q.WetnessSlope(s.v[i]))
}

func (s *scan) stretch(i, j int, high, hard bool) stretch {
	out := stretch{hard: hard, high: high, readings: j - i, farthest: s.v[i]}
	limits := s.likely
	if hard {
		limits = s.limits
	}
	out.limit = limits.Low
	if high {
		out.limit = limits.High
	}
	for _, v := range s.v[i:j] {
		if math.Abs(v-out.limit) > math.Abs(out.farthest-out.limit) {
			out.farthest = v
		}
	}
	scale := s.p.Scale(out.limit) / s.q.WetnessSlope(out.limit)
	out.scales = math.Abs(out.farthest-out.limit) / scale
	end, open := s.p.EndOf(j)
	if !open {
		end = min(end, s.t[j-1]+max(s.p.Cadence(), 1))
	}
	out.Span, out.open = detect.Span{Start: s.t[i], End: end}, open
	return out
}
