// Package flatline finds a probe that repeats itself beyond what its resolution
// and its soil explain.
//
// # Looks like
//
// One and the same value, to the last digit, reading after reading, while the days
// get warm and cold, the vines drink and the valve opens. A logger that repeats its
// last value because the sensor's answer fails to come; a converter that hangs; a
// cache between logger and export that serves old values.
//
// # Often mistaken for
//
// Healthy stands: a whole-kPa export at depth, where a day moves less than one
// count; a granular matrix sensor wetter than 12 kPa, where it hardly responds,
// or at zero all winter; the end of the scale, for weeks in a dry summer; a water
// content that has drained and waits for spring. At an impossible value it is an
// open or a shorted lead, which have their own detectors.
//
// # Needs
//
// Readings of soil moisture over three days. A log of waterings adds the strongest
// witness: an event that it used to move at and slept through. Evapotranspiration
// tells a slower season from a stand, the scale's end (where the data show one) a
// dry soil from a stuck probe.
//
// # Thresholds
//
// Values are compared exactly; nothing is rounded. A stand counts from stand_hours
// (12 h): a night is no stand, and shorter ones do no harm. What speaks against it
// is added up in nats, minus the logarithm of the chance that a healthy probe of
// this one's own habits would have stood so long, and evidence_nats (7, one in
// 1,100) is a finding. The witnesses:
//
// Flicker. Noise moves a reading to and fro; a soil that comes to rest stops
// drying, but its sensor does not stop to flicker. Turns to and fro are counted for
// each day outside the stand, a day being comparable when it lies like the stand
// inside or outside the dead zone (dead_kpa, 12 kPa, or as many ohms), and carried to
// the level of the stand by how far one count reaches there. The habit is that of
// the calmest tenth of the days (calm_share, 0.1); at least history_days (3) days are
// needed. Where readings come slower than two-hourly, twelve of them are taken for a
// day: what moves within fewer says nothing. There a reading that repeats the one
// before is worth no more than how rarely one does in the calm of these days
// (calm_share), and a stand that ended no more than the counts by which it was left:
// what hung comes back to where the soil has gone. It is a witness only from flicker_share (0.25 turns a reading) on:
// below, the noise is smaller than a count and vanishes between two. turn_weight (0.5)
// nats for each turn that this habit would have brought. In the dead zone a granular
// matrix sensor's kPa have no say: the conversion flattens the flicker of the ohms.
//
// Drift and swing. The same with the range of each day in counts of the resolution,
// less the one that flickers; outside the dead zone, and less where the demand during
// the stand was less than on the other days; and no more than the median of the three
// days before and the three after it, for a soil may come to rest. count_weight (1)
// nat each.
//
// Record. How many times as long it is as the longest other stand outside the dead
// zone, carried to its level: record_weight (2) nats for each time beyond the first,
// at most record_most (6), since a soil that comes to rest has no bound.
//
// The best of these three is taken, not their sum.
//
// Waterings. Each one that began and ended within the stand, with answer_hours
// (24 h) after it: minus the logarithm of the chance to sleep through it, from the
// lower Wilson bound (at wilson_z, 1.28) of the share of other waterings at which
// the value moved wetter by more than move_counts (2) counts and move_noise (4)
// standard deviations of the noise. Not in the dead zone.
//
// A stand needs no evidence, being explained, at the end of the scale, at zero kPa
// of a granular matrix sensor, and at an extreme of the series in which the series
// stood before (rail_stands, 2 stands at the same value, outside of which the series
// has moved): a clipped export shows no more there.
//
// Nor does it where few probes are so dry that the scale's end is not known from
// others, if it may be one: a stand beyond never_dry_kpa (100 kPa, or as many ohms) at
// the driest value of the whole period (within a count), into which the series slid
// (by no step of more than move_counts or move_noise) and which it did not leave by a
// leap. When such a stand fills the window, the answer is not evaluated. A probe that
// happens to hang at its own driest, so dry, is missed; at a value that it passes at
// another time, or leapt to, it is found.
//
// A series that never moved at all has no habit. From never_days (28 d) on, it is a
// finding of confidence 0.6 if it lies between the dead zone and never_dry_kpa
// (100 kPa, beyond which it may be the end of a scale that no other probe shows);
// for water content always. When the stand fills most of the window (most_share,
// 0.5) and the evidence is short of the threshold, the answer is not evaluated: its
// resolution is too coarse to tell.
//
// Confidence is 0.6 plus 0.03 for each nat, at most 0.96: of some ninety simulated
// stands that were found none was healthy, which bounds the share of errors at three
// in that number (the rule of three), and no lower.
//
// A stand at the scale's end is no finding. But where it fills the window and slept
// through asleep (4 waterings) or more, or through so many that they weigh evidence_nats,
// and the probe moved at half of the others, it is not evaluated.
//
// # What to check at the post
//
// Read the port live, twice, and warm the sensor's plug or wet the soil between: if
// the number stays, unplug the probe. If it stays even then, the logger repeats old
// values: restart it and look at its version and its sensor list. If it goes, the
// probe or its converter hangs: replace it.
//
// # Where the idea comes from
//
// The flat line test of the open ocean standard (IOOS QARTOD, test 8) counts repeats
// and leaves the number to the operator. Dorigo et al. (2013, Vadose Zone Journal
// 12(3), flags D09 and D10) ask for 12 hours of little variance beside a drop or at
// saturation. Neither knows the resolution; on whole-kPa exports both fire every
// night. Counting what the series' own calmest days would have brought instead is
// our own reasoning. In one study constants were up to 97 % of all abnormal values
// of 37 stations, which is why the fault is worth the trouble.
package flatline
