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
// Readings of soil moisture over two weeks and a log of waterings that names the
// probe's zone. Rain, where it is there, takes out the waterings that a storm
// answers for; the scale's end, where the data show one, the waterings at which
// the probe could not show an answer.
//
// # Thresholds
//
// The working space is wetness: minus the logarithm of ohms or kPa, or water
// content. Waterings less than merge_hours (6 h) apart are one.
//
// The answer to a watering is the largest rise above the lowest wetness since the
// valve opened, in a rolling median over smooth_hours (3 h), until response_hours
// (36 h) after it shut or the next watering. It is held against the probe's own
// quiet time, windows of at least quiet_hours (12 h) without water or rain: the
// unit is the median of their rises plus quiet_deviations (3) robust standard
// deviations, and at least noise_scales (2) scales of noise or resolution. The median, and not the
// largest, because an incomplete log puts real answers into quiet time. A watering
// was answered when the rise is at least answer_units (1.5) units.
//
// A watering is not counted when less than covered_share (0.7) of its readings are
// there, or when it rains by rain_mm (2 mm) or more from half a day before it to the
// end of its window. One that was not answered is not counted, either, when the
// probe had no room: at the scale's end (within a count, or two percent; where no end
// is known from others, at the driest value at which it stood for end_hours, 24 h,
// beyond end_kpa, 100 kPa, or gauge_kpa, 70 kPa, of a tensiometer), or, with
// ohms and kPa, wetter than dead_kpa (12 kPa, where a granular block hardly responds)
// and nearer than an answer to the second wettest state that an answer led to. A
// saturated block answers nothing, and is healthy. In the dead zone an answer is held
// against the room up to that state where it is less than the usual answer.
//
// A loss is supposed after each counted watering that was answered, and stands when
// all counted ones since, min_misses (2) or more, are missed: none rose by more than
// one unit, or weak_share (0.4) of the usual answer, the median of the last memory (8)
// counted waterings before. A miss proves something only if the watering was as
// large as size_share (1) of the second smallest of those before with a full answer.
// Of the waterings before at least min_answers (4) must have been
// answered, and the lower Wilson bound of their share (at wilson_z, 1.28: 90 %
// one-sided) must leave the run of misses a chance of at most max_chance (0.1): weak
// responders need more misses. Nor may break_share (0.5) of a usual answer have come
// since, not to a storm either: a probe that answers rain works.
//
// Against deficit the loss must be abrupt: the last two answers together are at
// least steady_share (0.6) of the usual size, and no rise since reaches break_share
// (0.5) of their mean; for each millimetre applied, where the depths are known, the
// last answer is at least steady_share of the usual one, too: a soil that fills up, or
// takes ever more water higher up, answers less and less though more is given. A probe
// that before stayed silent for min_misses waterings in a row, and came back by itself,
// has shown that silence is no loss. And the first of the missed waterings must find
// the soil no drier than two earlier ones that were answered (give or take
// dry_share, 0.1 of an answer), or wetter than moist_kpa (60 kPa, where roots and
// conductivity are not yet short of water).
//
// TODO reliable_share more_share least_spread vouched_share clear_units min_days min_siblings depth_class_cm came_share sibling_answers
// Confidence starts near 0.5 for two misses, reaches schemas.Sureness (0.75) at
// four, and never passes 0.9: this detector does not see whether the neighbours
// still answer.
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
