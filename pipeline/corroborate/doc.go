// Package corroborate holds the probes of a logger or a zone against each other:
// it gathers their summaries into groups and runs the group detectors, so that
// what a whole logger or zone does is not blamed on its probes.
package corroborate

import "probeward/detectors/detect"

// Verdict is what the group detectors said of one group: an outcome for each of
// the examiner's group detectors, in their order; those of another scope stay
// not evaluated and unasked.
type Verdict struct {
	Group    detect.Group
	Outcomes []detect.Outcome
}
