// Package unloggedwater finds water that came to a zone and stands in no log.
//
// # Looks like
//
// Most of the zone's probes that normally answer its waterings wet within hours, at
// two posts or more, as they do after a watering, and the log has none near and it
// did not rain. The readings are true. A valve was opened by hand, left leaking, or
// wired to another zone's; a line broke; or the row in the log was forgotten.
//
// # Often mistaken for
//
// A late answer to the last watering in heavy soil. A storm that no gauge on the farm
// saw. The swing of temperature, which wets shallow probes a little every afternoon.
// One probe's own onset, which is nothing. A logger whose clock is off shows logged
// water at another time, at its own ports only (clock_error). A log that has not been
// brought up to date: then every watering since is unlogged, and the evidence says
// that the log has none after it.
//
// # Needs
//
// A log of waterings that names the zone and shows how its probes answer, rain, and
// three probes at two posts that normally answer. Without rain it is not evaluated,
// since any storm would be found. Where waterings come nearly every day, no time is
// left that is far from them.
//
// # Thresholds
//
// Pulses nearer than merge_hours (6 h) are one watering, hours of rain nearer than
// that one spell, and a spell counts from rain_mm (2 mm) on. A probe's habit is
// learned as in irrigation_failure: an answer is a rise, by turning points, that
// begins from early_hours (2 h) before a watering to response_hours (36 h) after its
// end, of at least answer_share (0.4) of the usual one and quiet_times (1.5) what
// quiet days bring in their upper quartile, of which quiet_days (3 d) must be known; covered_share (0.7) of the window must
// have been heard. Normal is a probe whose share of answers has a lower Wilson bound
// (wilson_z, 1.28: 90 % one-sided) of normal_share (0.6) or more; a miss counts only at a
// watering of the middle size or larger.
//
// An onset is unexplained when it lies away_hours (12 h) or more after the end of the
// last watering and after the lag that nine in ten of the probe's answers keep to,
// likewise and rain_hours (48 h) after rain, and response_hours after the first
// reading; and when the rise was over, or had begun plateau_hours (24 h) before, when
// the next water came. Each onset is taken back by the probe's usual lag.
//
// Those within together_hours (12 h) tell of one water when they come from
// min_probes (3) at min_posts (2) or more, from most_share (0.6) of the normal probes
// that could have shown it (heard, not waiting for other water, not rising already),
// and when as many onsets as the probes have elsewhere would fall together so with
// a chance of max_chance (0.001 a period) or less. A watering of the log within
// misdated_hours (40 h) to which most probes gave no answer of its own explains them:
// its row has the wrong day. Those within join_hours (24 h) are one
// finding, from the first onset to the last peak, at most response_hours.
//
// A leak is slow, and water may come while earlier water still rises; neither makes an
// onset. So levels are looked at as well, in blocks of three hours. A lift is the largest
// rise within lift_hours (24 h), less that of a day before: what still rises from
// earlier water does so by less, and the swing of the day is the same. Looks keep off
// the time of water as above. A probe lifts when it does so by quiet_times what its own
// quiet time brings (the upper tenth of all looks, of which it takes lift_looks, 24, and
// the unit of missing_irrigation_response), and a storm's own day is left out. Water
// came when more than min_probes lift at half of the posts, lift_upper (0.4) of each
// post's shallowest among them, by a median of lift_share (0.1) of their usual answers;
// when that has a chance of lift_chance (0.001) or less; and when at no other look more
// than lift_others (0.5) of as many did.
//
// Confidence is one minus the square root of that chance, at most 0.95: as if half of
// the probes were independent witnesses. Judged, not measured.
//
// Water that came so shortly before the end of the window that the zone's longest
// watering could still be running is left for the next run: its row is written when
// the valve shuts.
//
// # What to check at the post
//
// Ask who opened the valve. Then the flow meter's record, the valve (closed, and no
// water at the line's end), broken laterals, and whether this zone's emitters run when
// another zone is watered. Write the watering into the log.
//
// # Where the idea comes from
//
// Onsets by turning points carry the comparison between probes; that one probe's
// onset is nothing and most of a zone's at two posts are proof comes from trials on
// simulated vineyards. The chance is a binomial tail over the windows of the period
// (a scan statistic with a bound in place of its distribution; derived). The interval
// is that of Wilson (1927).
package unloggedwater
