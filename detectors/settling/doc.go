// Package settling marks a probe that is new in the ground: no fault, and not
// yet to be used.
//
// # Looks like
//
// Nothing in particular, and that is the trouble: in the first days a new probe
// reads its own slurry, the water it was soaked in and the soil that was dug up
// around it. A granular matrix sensor goes in wet and dries towards the soil's
// tension; a dielectric probe drifts while the soil closes around its rods; the
// first waterings run down the fresh hole. Each of these has the shape of some
// fault, so the readings are marked instead of judged.
//
// # Often mistaken for
//
// Drift and poor contact (the slow approach to the soil), bypass flow (the fresh
// hole) and a missing answer. A replaced probe starts again: its step at the
// change is no fault either.
//
// # Needs
//
// installed_on in the register. Without it nothing tells a new probe from an old
// one that was silent, so it is not evaluated.
//
// # Thresholds
//
// settling_days (14 d): how long a new probe is not yet used. Handbooks ask for
// the first days up to two weeks, or the first one to three waterings; the longer
// of these is taken, since a number too high costs a few days of one probe and a
// number too low lets a wrong reading steer a zone. Common practice, no source.
// An end by answers ("it has answered two waterings") was left out: an answer
// down the fresh hole looks like a good one.
//
// The finding runs from installed_on and is made only while the probe still
// settles at the end of the window: the verdict is the state at that end. Readings
// from before installed_on belong to it as well when they begin no more than
// settling_days earlier, for then the probe lay on a bench or hung on the post. A
// record that reaches further back is another sensor's on the same port, in good
// use until then, and is left alone. An installed_on beyond the end of the window
// means that the probe is not in the ground yet: the same rule holds.
//
// # What to check at the post
//
// Nothing: wait. If the date is wrong, mend it in the register. If the probe is
// still strange after the settling time, look for air at the probe (water it by
// hand at the hole and see whether it answers within the hour), and whether the
// hole was filled and tamped.
//
// # Where the idea comes from
//
// Installation sheets of granular matrix and dielectric sensors, which all ask to
// leave out the first readings; the figures between them differ, and none gives a
// measurement (common practice, no source).
package settling
