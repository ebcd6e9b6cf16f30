package judge

import (
	"testing"

	"probeward/schemas"
)

// A fault whose parts leave every reading true is listed: it flags nothing, makes no
// verdict and explains nothing.
func TestAFaultThatTouchesNoReading(t *testing.T) {
	clock := withParts(finding("clock_error", 100, 0, .9), part(100, 50, schemas.FlagNone), part(40, 0, schemas.FlagNone))
	f := newFarm(1)
	f.find(0, clock)
	r := Judge(f.Input)
	if got := r.named(t, "clock_error"); got.Flag != schemas.FlagNone {
		t.Errorf("flagged %d", got.Flag)
	}
	if s := r.States[0]; s.Verdict != schemas.Fit || s.Main >= 0 {
		t.Errorf("the probe is %s", s.Verdict)
	}
	if got := pair(t, clock, finding("gap", 40, 0, .9)); got != "" {
		t.Errorf("it explains a gap: %q", got)
	}
	// One part that does not is enough for all three.
	clock.Parts[1].Flag = schemas.FlagFail
	f = newFarm(1)
	f.find(0, clock)
	if s := Judge(f.Input).States[0]; s.Verdict != schemas.Unfit {
		t.Errorf("with wrong readings the probe is %s", s.Verdict)
	}
	if got := pair(t, clock, finding("gap", 40, 0, .9)); got == "" {
		t.Error("wrong stamps explain a gap")
	}
}
