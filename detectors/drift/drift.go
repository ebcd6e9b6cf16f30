package drift

import (
	_ "embed"

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds drift.
var Detector = &detect.Detector{
	Name:  "drift",
	Doc:   manual,
	Scope: detect.PerProbe,
	Since: "unreleased",
	Run: func(p *detect.Pass) detect.Outcome {
		return detect.Unable(detect.NotRun, "not written yet")
	},
}
