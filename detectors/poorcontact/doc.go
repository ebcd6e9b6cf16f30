// Package poorcontact finds a probe with air between it and the soil.
//
// # Looks like
//
// Where the gap opens and shuts with the swelling of the soil, the level jumps from
// one reading to the next and stays where it jumped to, towards dry as often as
// towards wet, with no water about.
//
// # Often mistaken for
//
// Spikes that come back within hours (dry_out_spike) and scatter (noise): a rolling
// median takes these out. Fronts that arrive within an hour, and a hole that drains.
// Somebody at work at the post for a day. Late and low answers from a dry level are
// signs of air as well, but deficit has just the same ones, and healthy places differ
// by more: in trials they cried for nothing at a dozen probes for each gap, so this
// does not go by them. A gap that stays as it is is not found.
//
// # Needs
//
// A log of waterings that names the zone, min_waterings (3) of them without rain,
// readings every two hours or more often over min_days (14 d), and an answer of
// answer_units (2) times what quiet time brings. It uses rain.
//
// # Thresholds
//
// A jump is a step of the level, smoothed over three hours, from one reading to the
// next, by six scales of noise or resolution, 8 % of ohms or kPa or 0.008 m3/m3 (an
// hour, where the step is longer) and jump_share (0.15) of the usual answer, of which
// most is there five hours later. One towards wet counts only far from water. It takes
// min_jumps (4), drying_jumps (2) of them towards dry and wetting_jumps (1) towards
// wet, on jump_days (3 d). Two clean_days (7 d) without any begin anew, and one closes
// the finding.
//
// Confidence is 0.7 for four jumps and grows with them up to 0.92: judged, not
// measured.
//
// # What to check at the post
//
// Push a rod beside the probe: is there a hole, a crack, a stone? Pour five litres at
// it. If it answers late or in steps, pull it, refill the hole with slurry of the same
// soil and set it again; it settles for a week or two.
//
// # Where the idea comes from
//
// A sensor behind air follows the soil like a first-order lag whose time constant
// grows with the gap, so that a gap which changes its width shows as steps (derived). A
// soil does not dry in one step, hence the demand for jumps towards dry. The
// numbers are common practice, no source, where the table gives none.
package poorcontact
