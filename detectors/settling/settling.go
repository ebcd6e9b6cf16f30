package settling

import (
	_ "embed" // the manual
	"fmt"

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector marks probes that are new in the ground.
var Detector = &detect.Detector{
	Name:        "settling",
	Doc:         doc,
	Needs:       detect.NeedInstalledOn,
	MinReadings: 1,
	Since:       "0.1",
	Params: []detect.Param{{
		Name: "settling_days", Default: 14, Unit: "d",
		Why:    "how long the soil takes to close around a new probe, at the longer end of what installers wait",
		Source: "common practice, no source",
	}},
	Run: run,
}

// confidence that a probe is new when the register says so: dates of
// installation are mostly right, and are wrong when a row was copied.
const confidence = 0.95

func run(p *detect.Pass) detect.Outcome {
	settling := int64(p.Param("settling_days") * float64(detect.Day))
	window, installed := p.Period().Window, p.InstalledOn().V
	settled := installed + settling
	if settled <= window.End {
		return detect.Healthy()
	}
	t := p.Time()
	start := max(installed, p.Period().Lookback)
	before := ""
	if t[0] < installed && t[0] >= installed-settling {
		start, before = t[0], "; it has readings from before that"
	}
	first := p.From(start)
	if first == len(t) || start >= window.End {
		// Another sensor's record up to now, or no reading yet: nothing to mark.
		return detect.Healthy()
	}
	age := detect.Days(window.End - installed)
	evidence := fmt.Sprintf("installed on %s, %.1f d before the end of the window; settles for %.0f d, until %s%s",
		detect.Stamp(installed), age, p.Param("settling_days"), detect.Stamp(settled), before)
	if age < 0 {
		evidence = fmt.Sprintf("it has readings, and is to be installed on %s, %.1f d after the end of the window", detect.Stamp(installed), -age)
	}
	return detect.Faulty(detect.Finding{
		Start: start, Open: true, Readings: len(t) - first, Confidence: confidence,
		Measured: age, Threshold: p.Param("settling_days"), Unit: "d", Evidence: evidence,
	})
}
