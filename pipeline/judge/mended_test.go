package judge

import (
	"testing"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// A fault that the crew ended makes no verdict, and its readings keep their flag; what
// began after the work does.
func TestWhatAVisitEnded(t *testing.T) {
	ended := finding("open_circuit", 100, 50, .9)
	by := func(fault string, start int64) []Mended {
		return []Mended{{Subject: schemas.SubjectProbe, Name: "P1", Fault: fault, Start: start, By: "visit: mended on 2026-06-09"}}
	}
	for name, c := range map[string]struct {
		found  []detect.Finding
		mended []Mended
		want   schemas.Verdict
	}{
		"nobody came":           {[]detect.Finding{ended}, nil, schemas.Doubtful},
		"mended":                {[]detect.Finding{ended}, by("open_circuit", ended.Start), schemas.Fit},
		"another fault mended":  {[]detect.Finding{ended}, by("flat_line", ended.Start), schemas.Doubtful},
		"mended, and back":      {[]detect.Finding{ended, finding("open_circuit", 30, 0, .9)}, by("open_circuit", ended.Start), schemas.Unfit},
		"mended by another day": {[]detect.Finding{ended}, by("open_circuit", ended.Start+1), schemas.Doubtful},
	} {
		t.Run(name, func(t *testing.T) {
			f := newFarm(1)
			for _, x := range c.found {
				f.find(0, x)
			}
			f.Mended = c.mended
			r := Judge(f.Input)
			if got := r.States[0].Verdict; got != c.want {
				t.Errorf("verdict %s, want %s", got, c.want)
			}
			if len(r.Exclusions) == 0 || r.Exclusions[0].Start != ended.Start || r.Exclusions[0].End != ended.End {
				t.Errorf("exclusions %+v: what failed is left out whoever mended it", r.Exclusions)
			}
			if name == "mended" && r.Findings[0].MaskedBy != "visit: mended on 2026-06-09" {
				t.Errorf("masked by %q", r.Findings[0].MaskedBy)
			}
		})
	}
}
