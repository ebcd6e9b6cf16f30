package dryoutspike

import (
	_ "embed" // the manual
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
	"probeward/schemas"
)

//go:embed doc.go
var doc string

// Detector finds spikes towards dry.
var Detector = &detect.Detector{
	Name:         "dry_out_spike",
	Doc:          doc,
	Needs:        detect.NeedWetness,
	Uses:         detect.NeedIrrigation | detect.NeedRain | detect.NeedDemand | detect.NeedTexture | detect.NeedTemperature | detect.NeedScaleEnd,
	MinReadings:  36,
	MinSpanHours: 72,
	Since:        "0.1",
	Params: []detect.Param{
		{Name: "max_hours", Default: 24, Unit: "h",
			Why: "an excursion that lasts longer is another state of the probe and no spike", Source: "common practice, no source"},
		{Name: "min_fall", Default: 0.22, Unit: "1",
			Why:    "in logarithms of ohms or kPa, a quarter drier: above the 15 % that a conversion's seam can step",
			Source: "derived from the branches of Allen (2000) joined at one temperature and read at another"},
		{Name: "min_fall_ohms", Default: 0.14, Unit: "1",
			Why: "in logarithms of ohms, 15 % drier, which is a few kPa at 30: ohms have no seams, and less changes no decision", Source: "common practice, no source"},
		{Name: "min_fall_water", Default: 0.02, Unit: "m3/m3",
			Why: "the accuracy that dielectric probes are sold with; less changes no decision", Source: "common practice, no source"},
		{Name: "noise_scales", Default: 8, Unit: "1",
			Why: "white noise passes eight of its scales less than once in 10^14 readings", Source: "derived from the normal distribution, with a margin for heavier tails"},
		{Name: "local_scales", Default: 6, Unit: "1",
			Why: "of the scatter of the readings around it: white noise passes six once in 10^9 readings", Source: "derived from the normal distribution"},
		{Name: "near_hours", Default: 2, Unit: "h",
			Why: "so far on either side is around it: a pump scatters for hours", Source: "common practice, no source"},
		{Name: "counts", Default: 4, Unit: "1",
			Why: "rounding moves a reading by one count and a flicker by two; four are a fall", Source: "derived"},
		{Name: "layer_m", Default: 0.15, Unit: "m",
			Why: "the thinnest layer that a buried probe measures; thinner allows faster drying", Source: "common practice, no source"},
		{Name: "crop_factor", Default: soil.KcMax, Unit: "1",
			Why: "the most that a crop takes of the reference evapotranspiration", Source: "FAO-56 eq. 72, 1.05-1.30 (from memory)"},
		{Name: "et0_limit", Default: 12, Unit: "mm/d",
			Why: "a reference evapotranspiration that hot, dry, windy days hardly pass, for farms without weather", Source: "common practice, no source"},
		{Name: "et0_least", Default: 1, Unit: "mm/d",
			Why: "a day's demand that a gauge or a formula may miss: no bound is drawn tighter", Source: "common practice, no source"},
		{Name: "peak_share", Default: 3, Unit: "1",
			Why: "noon's rate over the day's mean: half a sine over 14 of 24 hours gives 2.7", Source: "derived"},
		{Name: "gross_factor", Default: 2, Unit: "1",
			Why: "how much deeper a spike must be where one of the two proofs is not at hand", Source: "common practice, no source"},
		{Name: "speed_factor", Default: 3, Unit: "1",
			Why: "a daily swing's steepest hour is 1.05 times its 80 % quantile; three times is another process", Source: "derived from a sine"},
		{Name: "return_share", Default: 0.35, Unit: "1",
			Why: "an answer to water lands away from where the drying began; a spike ends where it was", Source: "common practice, no source"},
		{Name: "fresh_share", Default: 0.5, Unit: "1",
			Why: "the trough between two waterings is not drier than the soil was before the first", Source: "derived from the water balance"},
		{Name: "water_hours", Default: 24, Unit: "h",
			Why: "a front needs up to a day to reach a deep probe", Source: "common practice, no source"},
		{Name: "quick_hours", Default: 1, Unit: "h",
			Why: "a wetting front passes a probe in hours; without a log only a quicker return is no answer", Source: "common practice, no source"},
		{Name: "repeats", Default: 3, Unit: "spikes",
			Why: "one small jump is a disturbance; three of one kind are a fault", Source: "common practice, no source"},
		{Name: "repeat_share", Default: 0.5, Unit: "1",
			Why: "half of the least fall is still above the 5 % or 0.01 m3/m3 that a decision bears", Source: "derived"},
		{Name: "repeat_kpa", Default: 1, Unit: "kPa",
			Why: "the accuracy of a tensiometer's gauge, which scatters alike over its range", Source: "common practice, no source"},
		{Name: "seam", Default: 0.18, Unit: "1",
			Why: "a converted kPa may go over a seam of 0.14 and back again and again", Source: "derived from the branches of Allen (2000), with a margin for rounding"},
		{Name: "mirrored", Default: 0.25, Unit: "1",
			Why: "noise goes to the wet side as often as to the dry, spikes do not", Source: "derived from symmetry; a quarter is a chance of 0.02 for twelve"},
		{Name: "frost_c", Default: 1, Unit: "degC",
			Why: "ice reads dry; one degree above freezing for the thermometer's place and accuracy", Source: "Dorigo et al. (2013), flags D01-D03 (from memory)"},
	},
	Run: run,
}

func run(p *detect.Pass) detect.Outcome {
	if most := p.ParamHours("max_hours"); 2*p.Cadence() > most {
		return detect.Unable(detect.NoChance, "readings come every %s, and a spike is over within %s: needs one every %s or more often", detect.Length(p.Cadence()), detect.Length(most), detect.Length(most/2))
	}
	s := newSearch(p)
	w := p.Wettings()
	for i := range w {
		// The return of every spike is a wetting, and healthy series have few.
		if w[i].Rise >= s.leastFall {
			s.look(p.From(w[i].Onset))
		}
	}
	if k, ok := s.lastLow(w); ok {
		s.look(k)
	}
	if s.repeated() || len(s.spikes) == 0 {
		return detect.Healthy()
	}
	return detect.Faulty(s.finding())
}

// finding puts the spikes into one: they have one cause and one visit.
func (s *search) finding() detect.Finding {
	deepest, readings, missing, clipped := s.spikes[0], 0, 1.0, 0
	parts := make([]detect.Part, 0, len(s.spikes))
	for i, k := range s.spikes {
		readings += k.last - k.first
		if k.depth/k.need > deepest.depth/deepest.need {
			deepest = k
		}
		doubt := 0.45
		if k.beyond {
			doubt = 0.30
		}
		if i > 0 {
			doubt = max(doubt, 0.5)
		}
		missing *= doubt
		if k.clipped {
			clipped++
		}
		parts = append(parts, detect.Part{Span: k.Span, Flag: schemas.FlagFail})
	}
	confidence := 1 - max(missing, 0.03)
	about := ""
	if 2*clipped > len(s.spikes) {
		// As likely a contact that opens for a while.
		confidence *= 0.8
		about = ", mostly to the end of the scale"
	}
	q := s.p.Quantity()
	f := detect.Finding{
		Start: parts[0].Start, End: parts[len(parts)-1].End, Parts: parts, Readings: readings,
		Confidence: confidence, Measured: deepest.depth, Threshold: deepest.need, Unit: depthUnit(q),
	}
	f.Evidence = fmt.Sprintf("%s%s; the deepest on %s, from %s to %s and back to %s %s within %s, %s",
		count(len(s.spikes)), about, detect.Stamp(deepest.Start),
		number(q, deepest.before), number(q, deepest.trough), number(q, deepest.after), q.Unit(),
		detect.Length(deepest.Length()), s.why(deepest))
	return f
}

func count(n int) string {
	if n == 1 {
		return "one spike towards dry"
	}
	return fmt.Sprintf("%d spikes towards dry", n)
}

// why says what makes it impossible for soil.
func (s *search) why(k spike) string {
	water := "no water in the day before"
	switch {
	case k.watered:
		water = "with water near, which makes nothing drier"
	case !s.logged:
		water = "both legs too quick for water (no log of waterings here)"
	}
	bound := fmt.Sprintf("falling in %s by what %s takes %s to lose at %.1f mm/d",
		detect.Length(k.fall), s.textureName(), detect.Length(k.least), k.et0)
	if s.p.Quantity() == detect.WaterContent {
		bound = fmt.Sprintf("falling in %s by what takes %.2f m of soil %s to lose at %.1f mm/d",
			detect.Length(k.fall), s.layer, detect.Length(k.least), k.et0)
	}
	if !k.beyond {
		bound = fmt.Sprintf("falling in %s, within what %s can, and coming back in %s",
			detect.Length(k.fall), s.textureName(), detect.Length(k.rise))
	}
	return water + "; " + bound
}

// depthUnit is the unit of differences in wetness.
func depthUnit(q detect.Quantity) string {
	if q == detect.WaterContent {
		return "m3/m3"
	}
	return "ln(" + q.Unit() + ")"
}

// number prints a wetness as the standard value.
func number(q detect.Quantity, wetness float64) string {
	v := q.Dryness(wetness)
	switch {
	case q == detect.WaterContent:
		return fmt.Sprintf("%.3f", v)
	case math.Abs(v) >= 1000:
		return fmt.Sprintf("%.0f", v)
	default:
		return fmt.Sprintf("%.1f", v)
	}
}
