package depthorder

import (
	"testing"

	"probeward/detectors/detecttest"
)

func TestDetector(t *testing.T) { detecttest.Run(t, Detector) }
