// Package season holds a season of weekly runs against the truth of a simulated
// farm: how late faults were reported, whether the first visits of each queue met a
// fault, which false findings came again and again, and on how many days bad
// readings stood as usable.
//
// It reads folders as an outsider would: feed/visits.csv, the truth, and of each
// run health.csv, findings.csv, exclusions.csv and queue.csv. The rules, so that no
// figure can be had cheaply:
//
//   - A fault counts when it showed in the readings of at least one week while it
//     stood (visible in the truth). Settling is none: a new sensor has to settle.
//   - It is reported in the first week with an unmasked finding on its subject, or
//     on the logger that it hangs on, whose time and the fault's meet within the
//     judged window, and that begins no earlier than two days, or a tenth of the
//     fault's age, before the fault. A fault of the register makes the whole record
//     wrong, so that last rule does not hold there.
//   - The delay runs from the onset, or from the start of the first judged week where
//     that is later, to the end of the week that reported it. A fault
//     that was never reported has no delay and is counted as never found, so the
//     quantiles are over all visible faults, with these at the far end.
//   - A fault of the answer to water is also counted in the waterings that came to
//     its zone in between: without water there is nothing to miss.
//   - A visit is real when one of the things it was about was at fault at that hour.
//     What was looked at is counted too, thing by thing, so that a visit that names a
//     whole farm gains nothing. A visit to what the crew itself had mended is for
//     nothing.
//   - A false finding is an unmasked one with a verdict, or about a zone, that
//     touches the judged window while nothing is wrong with its subject within the
//     two's common time. One that still stands when its fault was mended before the
//     window is false. It is a repeat when the same subject had a false finding of
//     the same name in the week before.
//   - Bad readings stood as usable when the run that judged their week did not leave
//     them out. They are counted in probe-days at the logger's own cadence, apart for
//     faults whose readings the table of faults calls failed and those that it calls
//     suspect. Readings with a false stamp are left aside.
//   - Good time left out is what exclusions cover within the judged window on a probe
//     that stood in the ground and had no fault then.
package season
