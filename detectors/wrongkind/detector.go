package wrongkind

import (
	_ "embed" // the manual
	"fmt"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
)

//go:embed doc.go
var manual string

const leastReadings = 48 // judged at least: four days at a step of two hours

// Detector finds probes whose readings are not those of the registered kind.
var Detector = &detect.Detector{
	Name:         "wrong_kind",
	Doc:          manual,
	Uses:         detect.NeedTemperature | detect.NeedIrrigation | detect.NeedRain,
	MinReadings:  leastReadings,
	MinSpanHours: 72,
	Since:        "0.2.0",
	Params: []detect.Param{
		{Name: "judged_days", Default: 7, Unit: "d",
			Why: "what the port gives now; where it began is followed back from there", Source: "common practice, no source"},
		{Name: "share", Default: 0.95, Unit: "share of the readings",
			Why: "a foreign sensor may have faults of its own, or cross into the registered range for a while", Source: "common practice, no source"},
		{Name: "least_foreign", Default: 1.5, Unit: "m3/m3",
			Why: "no volume holds more than its own of water, and a faulty probe's rail is near one", Source: "physics; the rail of 1.01 in an open record (measured)"},
		{Name: "most_kpa", Default: 450, Unit: "kPa",
			Why: "beyond what the published forms give before the lead counts as open", Source: "derived from Allen (2000) at 35 kohm and 45 degC"},
		{Name: "least_fraction", Default: 0.02, Unit: "1",
			Why: "water contents are above residual water, tensions near zero are below and have zeros", Source: "residual water of 0.034 to 0.10 (Carsel & Parrish 1988, checked), less an offset"},
		{Name: "most_fraction", Default: 0.6, Unit: "1",
			Why: "the gross upper limit of water content", Source: "Dorigo et al. (2013), flag C02 (from memory)"},
		{Name: "fraction_step", Default: 0.005, Unit: "kPa",
			Why: "no gauge of tensions resolves so little, and water contents are exported in thousandths", Source: "common practice, no source"},
		{Name: "distinct", Default: 8, Unit: "values",
			Why: "a dead input stands or flickers between a few", Source: "common practice, no source"},
		{Name: "move_days", Default: 3, Unit: "d",
			Why: "a disturbance moves for a day", Source: "common practice, no source"},
		{Name: "spread", Default: 1.05, Unit: "1",
			Why: "soil that moves at all moves by a twentieth; for ohms below a block's, where a leak could lie, half is asked", Source: "common practice, no source"},
		{Name: "smooth", Default: 0.1, Unit: "share of the range",
			Why: "soil has memory: an input without a sensor jumps over much of its range", Source: "common practice, no source"},
		{Name: "leap", Default: 3, Unit: "1",
			Why: "another sensor at the port comes at once; a drift comes slowly", Source: "common practice, no source"},
		{Name: "heat_correlation", Default: 0.8, Unit: "1",
			Why: "two thermometers at two depths agree so far, in spite of their lag", Source: "derived: a lag of 2.5 h leaves cos(2 pi 2.5/24) = 0.79"},
		{Name: "heat_swing", Default: 0.5, Unit: "degC",
			Why: "smaller swings within the day are within resolution and noise", Source: "common practice, no source"},
		{Name: "heat_level", Default: 8, Unit: "degC",
			Why: "two depths of one soil differ by a few degrees on average", Source: "common practice, no source"},
		{Name: "heat_drift", Default: 4, Unit: "degC",
			Why: "and keep their difference from day to day, where a soil that dries in the afternoons does not", Source: "trials on simulated vineyards"},
		{Name: "heat_spread", Default: 1.5, Unit: "degC",
			Why: "standard deviation of the days' means: with less weather a thermistor and a block that is warmed are alike", Source: "common practice, no source"},
		{Name: "inverse_spread", Default: 6, Unit: "1",
			Why: "water contents in percents go from residual to porosity, volts by less; soil in kPa goes further, and answers water clearly", Source: "residual water and porosity (Carsel & Parrish 1988, checked): 0.07 to 0.43"},
		{Name: "inverse_answers", Default: 3, Unit: "waterings",
			Why: "one or two may be a disturbance", Source: "common practice, no source"},
		{Name: "inverse_share", Default: 0.75, Unit: "share of the waterings",
			Why: "of those at which it moved at all, and hardly one the right way", Source: "common practice, no source"},
		{Name: "inverse_skew", Default: 0.2, Unit: "1",
			Why: "soil wets fast and dries slowly, whoever's water it answers", Source: "common practice, no source"},
		{Name: "inverse_return", Default: 0.3, Unit: "share of the answer",
			Why: "water content falls again until the next water; soil that only dries does not wet by itself", Source: "common practice, no source"},
	},
	Run: run,
}

func run(p *detect.Pass) detect.Outcome {
	q := p.Quantity()
	if !q.Moist() || p.Kind() != detect.GranularMatrix && p.Kind() != detect.Tensiometer && p.Kind() != detect.Dielectric {
		return detect.Unable(detect.Absent, "needs a moisture probe in ohms, kPa or m3/m3; this series holds %s", q.Unit())
	}
	t := p.Time()
	from := p.From(p.Period().Window.End - int64(p.Param("judged_days")*float64(detect.Day)))
	if len(t)-from < leastReadings || t[len(t)-1]-t[from] < int64(p.Param("move_days")*float64(detect.Day)) {
		return detect.Unable(detect.TooShort, "needs %d readings over %.0f d in the newest %.0f d, had %d", leastReadings, p.Param("move_days"), p.Param("judged_days"), len(t)-from)
	}
	l := newLook(p, from)
	if f, ok := l.thermometer(); ok {
		return detect.Faulty(f)
	}
	for _, r := range l.rules() {
		if f, ok := l.foreign(r); ok {
			return detect.Faulty(f)
		}
	}
	if f, ok := l.inverse(); ok {
		return detect.Faulty(f)
	}
	return detect.Healthy()
}

// rule is one way in which values are not the registered sensor's.
type rule struct {
	low, high float64 // where the foreign values live
	spread    float64
	step      float64 // the resolution must be this fine; 0: any
	whole     bool    // they must have been so from the first reading on
	like      func(l *look) string
	amends    func(l *look) []detect.Amend // nil: more than one reading of the register is left
}

// amend names the cells of the register that would agree.
func (l *look) amend(columnsAndValues ...string) (out []detect.Amend) {
	for i := 0; i+1 < len(columnsAndValues); i += 2 {
		out = append(out, detect.Amend{Probe: l.p.Place(), Column: columnsAndValues[i], Value: columnsAndValues[i+1]})
	}
	return out
}

// rules for the registered quantity.
func (l *look) rules() []rule {
	p := l.p
	spread := p.Param("spread")
	switch p.Quantity() {
	case detect.WaterContent:
		out := []rule{{low: p.Param("least_foreign"), high: 60_000, spread: spread, like: (*look).likeNumbers, amends: (*look).amendNumbers}}
		if unit := p.Unit(); unit == "%" {
			out = append(out, rule{low: p.Param("least_fraction") / 100, high: p.Param("most_fraction") / 100, spread: spread, step: p.Param("fraction_step") / 100, whole: true,
				like:   func(*look) string { return "water contents in m3/m3" },
				amends: func(l *look) []detect.Amend { return l.amend("unit", "m3/m3") }})
		}
		return out
	case detect.Tension:
		return []rule{
			{low: p.Param("most_kpa"), high: 60_000, spread: spread, like: func(*look) string { return "ohms" },
				amends: func(l *look) []detect.Amend {
					if p.Kind() != detect.GranularMatrix {
						return nil
					}
					return l.amend("unit", "ohm")
				}},
			{low: p.Param("least_fraction"), high: p.Param("most_fraction"), spread: spread, step: p.Param("fraction_step"),
				like:   func(*look) string { return "water contents in m3/m3" },
				amends: func(l *look) []detect.Amend { return l.amend("kind", string(detect.Dielectric), "unit", "m3/m3") }},
		}
	case detect.Ohms:
		const leak = 1.5 // what a leak of the cable could move by: see the parameter spread
		out := []rule{
			{low: p.Param("least_fraction"), high: p.Param("most_fraction"), spread: spread, step: p.Param("fraction_step"), like: (*look).likeSmall},
			{low: p.Param("least_fraction"), high: soil.ShortOhms, spread: leak, like: (*look).likeSmall},
		}
		if p.Unit() == "kohm" {
			out = append(out, rule{low: 1000 * soil.ShortOhms, high: 2000 * soil.OpenOhms, spread: spread, whole: true,
				like:   func(*look) string { return "ohms" },
				amends: func(l *look) []detect.Amend { return l.amend("unit", "ohm") }})
		}
		return out
	}
	return nil
}

// likeNumbers names values of 1.5 and more that are registered as m3/m3.
func (l *look) likeNumbers() string {
	switch {
	case l.middle > l.p.Param("most_kpa"):
		return "ohms or raw counts"
	case l.falls():
		return "tensions in kPa"
	case l.high <= 100:
		return "percents"
	}
	return "tensions in kPa"
}

// amendNumbers gives the unit of values of 1.5 and more, where only percents are left.
func (l *look) amendNumbers() []detect.Amend {
	if l.likeNumbers() != "percents" {
		return nil
	}
	return l.amend("unit", "%")
}

// likeSmall names values below 300 that are registered as ohms.
func (l *look) likeSmall() string {
	switch {
	case l.high <= l.p.Param("most_fraction"):
		return "water contents in m3/m3"
	case l.high <= soil.OpenOhms/1000:
		return "kohm, or tensions in kPa"
	}
	return "tensions in kPa"
}

func (l *look) finding(from int, like string, share float64) detect.Finding {
	p := l.p
	unit := p.Quantity().Unit()
	if registered := p.Unit(); registered != "" {
		unit = registered
	}
	f := detect.Finding{
		Start: l.t[from], End: p.Period().Window.End, Open: true, Readings: len(l.t) - from,
		Confidence: 0.95, Measured: l.middle, Unit: p.Quantity().Unit(),
	}
	f.Evidence = fmt.Sprintf("registered as %s in %s, and its values look like %s: %.0f %% of the newest %.0f days lie where no such sensor reads, and since %s half of them have been between %.4g and %.4g, moving smoothly as soil does, by %.2g from reading to reading",
		p.Kind(), unit, like, 100*share, p.Param("judged_days"), detect.Stamp(f.Start), l.quarter, l.threeQuarters, l.step)
	return f
}
