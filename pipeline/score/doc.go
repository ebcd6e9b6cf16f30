// Package score holds a run's tables against the truth of a simulated farm. It
// reads both from their folders, as any outsider could, and counts by subject
// (probe, logger, zone) what was seen, what was named, what was cried for
// nothing, and which readings were left out.
//
// The rules, so that no figure can be had cheaply:
//
//   - Only what touches the judged window counts, and only findings that nothing
//     masks. A fault that left no trace in the window (visible = 0 in the truth) is
//     counted apart; no finding is the right answer there.
//   - A visible fault is caught by an unmasked finding on its subject that overlaps
//     the fault's time within the window. A logger's finding also catches the fault
//     of a probe that it touches (the probe's row in health.csv names it). A zone's
//     finding does not catch a probe's fault: it leaves the probe fit.
//   - A zone's fault is its hours of water, and a day after: the soil needs it to
//     answer.
//   - A finding may start before its fault by two days, or by a tenth of the fault's
//     age where that is more. One that starts earlier is a false alarm: it withdraws
//     readings that were good.
//   - A fault is named when the main finding has its name: main_fault in health.csv
//     for a probe; the surest unmasked finding for a logger, a zone, and a probe whose
//     fault is over, so that health.csv has no main one.
//   - A fault that is missed is worst on a probe that is called fit; unknown is an
//     answer. Both are misses, and the former are counted apart.
//   - A false alarm is an unmasked finding that touches the window and overlaps no
//     fault of its subject, whether the subject has no fault at all or has it at
//     another time. One fault of one subject counts once, a logger's or a zone's
//     too. Faults without a verdict are no alarm for a probe; settling is none on a
//     probe that is new in the ground.
//   - Causes of false alarms are counted beside them: one fault cried on several
//     probes of a logger is one cause, and of a zone where all of the zone is what it
//     is mistaken for. A logger or a zone is of the class of most of its probes.
//   - Healthy probe-weeks are those of probes that the truth calls healthy and that
//     sent a reading in the window.
//   - A bad reading is one that arrived with a value and differs from what the probe
//     would have read without its fault, by more than scatter (Differs). A good
//     reading is any of a healthy probe, and of another one those before its fault
//     began or after it ended. Readings on a faulty probe that happen to be right
//     are in neither class, and so are those of a logger whose clock is wrong.
//   - Confidence is held against two outcomes: that the subject is at fault then, and
//     that it has the fault that the finding names.
//
// A Tally is a sum: tallies of several farms add up.
package score
