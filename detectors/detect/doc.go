// Package detect is the contract between the detectors and the rest: what a
// detector declares, what it is handed, and what it may answer.
//
// A detector is one declared value (Detector). A probe detector sees one probe's
// Series through a Pass; a group detector sees the Summaries of a logger's or a
// zone's probes through a GroupPass. Neither sees a file, a clock or a global,
// and a pass hands out only what the detector's Needs declare.
//
// The answer of a detector about a subject is an Outcome: found, clear, or not
// evaluated and why. The zero Outcome is not evaluated, so that what nobody
// looked at can never pass for healthy.
package detect
