// Package missingresponse finds a probe that no longer answers water that it used
// to answer.
//
// # Looks like
//
// A probe that wetted at nearly every watering of its zone, by about the same
// amount, and from one watering to the next does so no more: it dries on, or
// stands, while the valve opens again and again. Behind it is a block that lost
// its contact to the soil, a membrane or ceramic that is clogged or cracked, rods
// in air, or a reading that is not the probe's any more.
//
// # Often mistaken for
//
// Deficit: under reduced watering a healthy probe loses its answers gradually, the
// deepest and driest first. A probe that never answered: water does not reach it,
// or it stands beside the wetted soil. A saturated probe, or one at the end of its
// scale, which has no room to answer. A watering that did not come, which all
// probes of the zone miss (the zone's own detector says so, and judge lets it
// prevail). A short watering, or a storm that takes the watering's place. A zone
// mixed up in the register.
//
// # Needs
//
// Readings of soil moisture over min_days (14 d) and a log of waterings that names the
// probe's zone. Siblings in the zone, at other posts and best at its depth, tell deficit
// and water that did not come from a fault; a probe without any is judged alone and with
// less confidence. It uses rain, to take out the waterings that a storm answers for.
//
// # Thresholds
//
// The working space is wetness: minus the logarithm of ohms or kPa, or water
// content. Waterings less than 6 h apart are one. The answer to a watering is the
// largest rise above the lowest wetness since the valve opened, in a rolling median over
// 3 h, until 36 h after it shut or the next watering. It is held against the probe's own
// quiet time, windows of half a day and more without water or rain: the unit is the
// median of their rises plus three robust standard deviations, and at least two
// scales of noise or resolution. A watering was answered when the rise is at least
// answer_units (1.5) units.
//
// A watering is not counted when a third of its window was not heard, or when it rains
// by 2 mm or more from half a day before it to the end of its window. One that
// was not answered is not counted, either, when the probe had no room: at the scale's
// end (within two percent; or within three of the driest value that it
// ever had, beyond 100 kPa, or 70 kPa of a tensiometer, where it stood for three days),
// or wetter than 12 kPa, where a granular block hardly responds, and nearer than
// an answer to the second wettest state that an answer led to. In that dead zone an
// answer is held against the room that is left.
//
// Among siblings: min_siblings (2) or more at other posts that answer most waterings,
// those within depth_class_cm (15 cm) if there are enough. What they did with a
// watering is the median of their rises, each as a share of its own usual one. The probe
// is expected to answer by its own size (the median of its answers over that share,
// up to memory (8) waterings back) times the share, or more_share (1.5) times theirs of
// before at most. A watering tells when the siblings answered it by came_share (0.5) of
// what they did before, and an answer of clear_units (2) units was expected; it is missed when
// the rise is within one unit, or weak_share (0.4) of what was expected. One answered by
// steady_share (0.6) or more speaks against the fault. After sibling_answers (3) answers,
// min_misses (2) misses prove it when a probe that answers as often as it did (the lower
// Wilson bound at wilson_z, 1.28) misses them all with a chance of max_chance (0.1) or
// less; or when, of a probe with min_answers (4) that answered reliable_share (0.75) of the
// waterings, they lie so far from the sizes before (Cantelli's bound; the spread is at
// least least_spread, 0.2 of the logarithm).
//
// Alone: the same with its own usual answer, after min_answers (4), and only where the
// siblings do not speak.
//
// A miss proves something only if the watering was as large as size_share (1) of the
// second smallest of those before with a full answer, or vouched_share (0.75) of it where
// siblings answered. Nor may break_share (0.5) of a usual answer have come since, not
// to a storm either: a probe that answers rain works.
//
// Against deficit the loss must be abrupt: the last two answers together are at
// least steady_share (0.6) of the usual size, and no rise since reaches break_share
// (0.5) of their mean. A probe that before stayed silent for min_misses waterings in a
// row, and came back by itself, has shown that silence is no loss. And the first of the
// missed waterings must find the soil no drier than two earlier ones that were answered
// (give or take dry_share, 0.1 of an answer), or wetter than moist_kpa (60 kPa, where
// roots and conductivity are not yet short of water). Where another probe of the post
// lost its answers at the same watering, the water no longer comes to the post, and
// neither is found. Nor is one that since dried by a usual answer or more, and at
// drying_share (0.7) or more of the rate at which it dried between waterings: it follows
// a soil that gets no water, and an emitter may be clogged.
//
// Confidence among siblings is 0.8 for two misses, and four tenths of the doubt less for
// each more, times one minus the chance; alone near 0.5 for two, schemas.Sureness
// (0.75) at four, and never more than 0.9. Readings are left out from the last good
// answer on.
//
// A probe that stood at the scale's end through its newest min_misses waterings or more,
// most of which the siblings at its depth answered, is not evaluated.
//
// # What to check at the post
//
// Open the valve and watch whether emitters drip at this post. Pour five litres at
// the probe: a healthy probe at 30 cm answers within the hour. If it does not, read
// it at the plug with a handheld reader; pull it if it can be pulled, look for a gap
// around it, wet it in a bucket: a block that reads below 1 kohm when soaked is
// good and had no contact.
//
// # Where the idea comes from
//
// The rise above the running minimum is the drawup of sequential analysis (Page
// 1954, Biometrika 41:100-115, from memory). Counting misses against the probe's own
// share of answers, with the score interval of Wilson (1927), and the demand for
// an abrupt loss come from trials on simulated vineyards in which fading under
// deficit was the largest source of false alarms. That a small watering without an
// answer proves nothing is in Shock, Barnum & Seddigh (1998) and the studies of
// granular blocks in sand: partial rewetting is answered late or not at all.
package missingresponse
