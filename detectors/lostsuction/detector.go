package lostsuction

import (
	_ "embed"

	"probeward/detectors/detect"
)

//go:embed doc.go
var manual string

// Detector finds tensiometers whose water column broke.
var Detector = &detect.Detector{
	Name: "lost_suction", Doc: manual, Scope: detect.PerZone, Since: "0.2",
	RunGroup: func(p *detect.GroupPass) detect.Outcome { return detect.Outcome{} },
}
