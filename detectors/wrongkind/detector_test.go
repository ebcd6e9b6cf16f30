package wrongkind

import (
	"testing"

	"probeward/detectors/detecttest"
	"probeward/detectors/soil"
)

func TestDetector(t *testing.T) { detecttest.Run(t, Detector) }

// most_kpa claims to be beyond what the published forms give for a lead that is not
// open, in the warmest soil (Allen 2000; derived).
func TestNoBlockReadsSoDry(t *testing.T) {
	kPa, ok := soil.GranularTension(soil.OpenOhms-1, 45)
	for _, p := range Detector.Params {
		if p.Name == "most_kpa" && (!ok || kPa >= p.Default) {
			t.Errorf("the form gives %.0f kPa there, the parameter is %.0f", kPa, p.Default)
		}
	}
}
