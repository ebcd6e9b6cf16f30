package poorcontact

import (
	_ "embed"

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds poor_contact.
var Detector = &detect.Detector{
	Name:  "poor_contact",
	Doc:   manual,
	Scope: detect.PerProbe,
	Since: "unreleased",
	Run: func(p *detect.Pass) detect.Outcome {
		return detect.Unable(detect.NotRun, "not written yet")
	},
}
