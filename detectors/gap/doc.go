// Package gap finds probes whose readings are missing.
//
// # Looks like
//
// A hole: the last value, then half a day or more without one. Or many small holes
// that add up to a tenth of the window. Or a probe that the register has and that
// never gave a value in the period. Blanks count as missing, because the probe gave
// no value, but the evidence keeps them apart: with blanks the logger spoke and the
// port did not; without, no record came at all. A hole that reaches the end of the
// window is still open.
//
// # Often mistaken for
//
// Telemetry that drops a few records in a hundred: single readings, spread over the
// week. A logger set to a longer step: its readings are fewer and none is missing.
// A port that is read less often than its logger writes, and so shows a blank in
// every second row. A probe installed in the middle of the period, moved to another
// logger, or taken out: before and after, nothing is expected of it. A logger that
// fell silent as a whole (logger_silent), or whose readings went astray under wrong
// stamps (clock_error): both explain the holes of all their ports.
//
// # Needs
//
// Nothing but the readings. It uses the register's dates (installed_on, valid_from,
// valid_to) to know when readings are due. A hole before the first reading counts
// only from the first blank on, and only where the register dates the probe: an
// export that begins later, and a probe installed later, look the same.
//
// # Thresholds
//
// hole_hours (12 h): half a day without a value in one hole; shorter ones cost the
// agronomist no decision. window_share (0.10 of the window): what may be missing in
// all. min_missed (3 readings): at a slow step one or two lost records are ordinary.
// chance (0.001 a period): a hole counts only if records lost one by one, as often
// as this probe loses them, would give so long a run more rarely than this.
// usual_loss (0.05 of the records): healthy telemetry loses up to this; the tenth of
// the window is held against it by a binomial tail, a burst being one loss, and where the look-back lost
// less, against that, with the usual loss at a weight of prior (40 readings).
// step_agreement (0.6 of the steps): so many steps in a row
// alike are the logger's step there, so that a changed step is no loss. unknown_step
// (24 h): assumed where too few stamps show a step; nobody reports more slowly.
// register_grace (24 h): the register holds days, not hours, so that nothing is due
// this near to its dates. join_share (1): holes are one finding while the readings
// between them last less long than this share of the hole before. lasting_share
// (0.5 of the last day): scattered loss still stands where it takes this much of the
// window's last day. handover (36 h): a hole at the window's end that is shorter may
// be records that wait for their next handover, and claims less.
//
// Confidence: 0.95 for a hole, 0.6 for one shorter than handover at the end of the
// window, 0.9 for scattered loss, 0.9 for a probe that never gave a value and 0.75
// where not even blanks came. Judged, not measured.
//
// # What to check at the post
//
// With blanks: the plug of this port, then the lead; read the port at the logger
// with a probe known to be good. Without blanks, while the logger's other ports
// report: the logger's set-up (is the port switched on?), and whether the register
// names the right port. With all ports missing it is the logger's power, antenna or
// card.
//
// # Where the idea comes from
//
// The half day and the tenth of the window are this project's stated tolerance. The
// missing code 9 and the test for missing data are those of the open standard for
// in-situ sensors (QARTOD; from memory). The run of lost records by chance is the
// expected number of runs of k among n independent trials, n p^k; the share is a
// binomial tail.
package gap
