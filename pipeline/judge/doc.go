// Package judge turns what the detectors found into what people act on: which
// finding explains which, the quality of every reading, a verdict a probe, the
// readings to leave out, and what each zone can still be judged by. It sees no
// file and no clock: the same input gives the same result, in any order.
//
// # What explains what
//
// The table of masks (Masks) is ordered by cause: register, clock and silence,
// power, circuit, copy, the zone's water, sensor, placement. A finding that a row
// covers for at least half of its time is listed with the row's cause, and makes
// no verdict; its readings keep their flag, unless the cause leaves them true (the
// zone got no water). A fault that ended explains none that still stands; of a gap that
// stands, only the last hole must be explained. What a probe shows while it is not
// in the ground, as registered, explains itself.
//
// # Flags of readings
//
// A finding flags its parts, or all of [ExcludeFrom, End) when it has none; with
// parts, what lies between ExcludeFrom and Start gets the finding's own flag. Where
// several hold, the worst flag does, in the order fail, suspect, pass, not
// evaluated (QARTOD's roll-up, from memory); the bits are joined. A missing reading
// has no flag to compare. The readings of a probe of which too much was not
// evaluated are 2 wherever no fault flags them, never a pass. A logger's fault
// flags a probe only while it was wired to that logger, and only when it was so
// during the fault.
//
// # Verdicts
//
// The verdict is the state at the window's end. schemas.Faults gives each fault's
// verdict; the worst that counts is the probe's, in the order of
// schemas.Verdicts. A finding counts
//   - while it stands: it is open, or ended less than ten of the probe's own steps
//     before the window's end (fewer good readings prove no repair);
//   - with a verdict of unfit, also when it ended within the window: the probe is
//     then doubtful, since what failed for a while may fail again. Other verdicts
//     end with their fault;
//   - when the fault only lasts (gap, logger_silent): only while it is open;
//   - when the fault has to come back (dry_out_spike, out_of_range): from the
//     second separate stretch in the window on, or when one has stood at the
//     window's end for a day;
//   - never when all its parts leave the readings true (a device's clock that stamps
//     none of them); such a finding explains no other, either;
//   - never when it is masked, silenced by an override, ended by a visit (Mended), or
//     ended before the window.
//
// Without a fault that counts, a probe is fit only when the detectors that its
// quantity needs (Requirements) reached an answer, and its newest reading lies
// within a day, or ten of its own steps, of the window's end. Otherwise it is
// unknown, and NotEvaluatedWhy begins with the reason. A probe that is not in the
// ground or not wired at the window's end is unknown, and not part of coverage.
//
// The confidence of a verdict is that of its main finding; of fit, the share of
// the detectors that apply which reached an answer, at most 0.95; of unknown, 0.
//
// UsableNow says that the newest reading lies near the window's end (as above) and
// is not excluded, and that the verdict is fit or doubtful or a person accepts the
// reading.
//
// # A person's word
//
// An override "ignore" silences, for its probe, the findings whose last instant
// lies in its span, and no finding flags readings in it; one that goes on after it
// counts again. "accept" makes the readings in its span pass and leaves the verdict
// alone. "exclude" leaves them out with the reason "override", and wins over both.
//
// # Coverage
//
// A row a farm, zone and depth of moisture probes in the ground. A day is usable
// when a reading of any of them passes. Blind means that none is fit. LastTrusted
// is the newest reading that passes and, for a probe that is not fit, was taken
// before its fault began.
package judge
