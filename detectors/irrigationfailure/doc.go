// Package irrigationfailure finds waterings of the log that did not reach a zone.
//
// # Looks like
//
// A watering stands in the log, and as good as none of the zone's probes that
// normally answer such waterings does: at several posts, from one watering to the
// next, in full before and, as soon as the valve opens again, in full after. The
// probes are healthy and their readings true: the soil stayed dry.
//
// # Often mistaken for
//
// Deficit: answers that fade from watering to watering, the deepest probes first,
// and stop one after the other. A watering that is smaller than usual, or that comes
// while the soil is still wet from a storm or from the watering before. A logger that
// is silent, or ports that fail together: who was not heard has not missed. A clock
// that is off moves the answers of a whole logger away from the water (clock_error);
// so does a post that stands in another zone (wrong_zone). A log that is filled in
// from the plan and not from the valve: then the watering failed on paper.
//
// # Needs
//
// A log of waterings that names the zone, with depths if there are any (without, the
// lengths are compared), and three probes at two posts that normally answer. It uses
// rain: a storm can answer in a failed watering's place, and wet soil answers
// nothing. Post names in the register; where there are none, loggers count as posts.
//
// # Thresholds
//
// Pulses nearer than merge_hours (6 h) are one watering. An answer begins between
// early_hours (2 h) before it and response_hours (36 h) after its end, and before
// the next one or the next rain. Rises are those of turning points; one that was
// under way for up to plateau_hours (24 h) when the window opened counts, since the
// lowest reading of a calm series may be so old, and one under way for longer blurs
// the watering for that probe.
//
// A probe's usual answer is the median of its rises at waterings that are at least
// quiet_times (1.5) what quiet days bring, in their upper quartile, of which
// quiet_days (3 d) must be known. An answer is a rise of answer_share (0.4) of that
// and of quiet_times the quiet days' rise; a miss is less than miss_share (0.2) or
// than a quiet day's rise; what lies between is a weak answer and counts as neither.
// A probe is held to a watering only if covered_share (0.7) of the window was heard,
// without a stretch at an impossible value, and until grace_hours (6 h) after the lag
// that nine in ten of its answers keep to.
//
// Rain counts from rain_mm (2 mm) a spell on. A watering is not judged within
// rain_hours (48 h) after rain, or as long as the vines take to use it up at
// soak_mm_a_day (3.5 mm/d), or sooner after another watering than rest_share (0.5)
// of the usual interval.
//
// Normal is a probe whose share of answers, at the other waterings of size_share
// (0.5) to size_times (1.5) its depth, has a lower Wilson bound (wilson_z, 1.28: 90 % one-sided)
// of at least normal_share (0.6). Waterings that as good as no probe answered are
// left out of that, unless they are more than a third. A watering failed when at least
// min_probes (3) normal probes at min_posts (2) posts are held to it, and all but one,
// or dissent_share (0.17) of them, missed it, at two posts or more; when no more
// answered weakly than missed; when probes that each miss on their own, as often as the bound
// allows, would do so with a chance of max_chance (0.005) or less; and when the loss is
// abrupt: at the last watering that did not fail (the next one, if none is before)
// steady_probes (0.67) of them answered, at a median of steady_share (0.6) of the
// usual size.
//
// What counts is the rise on top of the level at the valve's opening: a rise by turning
// points that is older, and of which less than answer_share came since, is no answer.
//
// A watering came only in part, by low pressure or a valve that opened late, or not at
// all, when the probes say so by size. Each one's rise is held against the median of its
// rises a millimetre at partial_events (4) or more other waterings of about that depth, of
// which it answered partial_share (0.75), where that is clear_units (2) times what its
// quiet time brings; one of more than partial_wild (2.5) times as much is left out. After
// a storm or soon after a watering, only probes count that answered before from a
// level as wet. The zone's median must be at most partial_middle (0.6),
// partial_quantile (0.8) of the probes must stand under partial_all (0.85), and the
// logarithm must lie partial_scales (4) spreads, each at least partial_spread (0.12),
// under that of the zone's other waterings; some must stand low at min_posts or more,
// and more than min_probes of them, where the median is below miss_share; the last
// watering before must have been answered by partial_before (0.75) or more.
//
// Failures in a row are one finding; it ends a day after the last, or with the next
// watering. Confidence is one minus the square root of that chance, at most 0.95: as
// if half of the probes were independent witnesses. Judged, not measured.
//
// # What to check at the post
//
// The zone, not the probes: valve, solenoid and controller, filter, pressure at the
// head and at the end of a line, the flow meter's record of that night. Then whether
// the log was kept from the plan.
//
// # Where the idea comes from
//
// Holding all probes of a zone to one event, and each to its own share of answers,
// comes from trials on simulated vineyards, in which judging probe by probe blamed a
// dozen probes for one valve. The interval is that of Wilson (1927). That a small
// watering proves nothing is in Shock, Barnum & Seddigh (1998) (from memory). The
// demand behind soak_mm_a_day is from FAO-56, tables 2 and 12 (from memory).
package irrigationfailure
