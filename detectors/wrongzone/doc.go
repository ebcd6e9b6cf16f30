// Package wrongzone finds posts that answer the water of another zone than the
// registered one.
//
// # Looks like
//
// The probes of a post, or of one of its holes, wet when another zone is watered and
// not when their own is, week after week. The sensors are sound and the readings true;
// the register is wrong, and everything that is held against the zone's water with it.
//
// # Often mistaken for
//
// Slow soil that answers its own zone a day or two late, when the other zone is always
// watered the next day. Storms, which all zones answer on one day. A border row that
// gets the water of both zones. A clock that is off (clock_error). A log in which two
// zones changed names: then all posts of the zone seem to be in the other, and the
// finding says so and claims less. Zones that are watered together cannot be told
// apart.
//
// # Needs
//
// A log of waterings of two zones or more, and a register with post and zone. It uses
// rain, to leave out what a storm brought. It is not evaluated where no probe had
// enough onsets, or no zone enough waterings that the registered one does not share.
// One answer covers the farm: a post that could not be judged stands under its clear.
//
// # Thresholds
//
// Pulses nearer than merge_hours (6 h) are one watering. A spell of rain from rain_mm
// (2 mm) on blots out the time from early_hours (2 h) before it to rain_hours (48 h)
// after. Of a probe's wettings, by turning points, those count that reach large_share
// (0.6) of the rise that one in ten passes, and in further tries half and a quarter of
// that (size_steps, 3), since the size of an answer is not known before its zone is;
// min_onsets (5) are needed.
//
// A zone is tried at every lag from swing_hours (12 h) before the valve, since the low
// of the daily swing dates a rise too early, to max_lag_hours (24 h) after it, the
// registered one to own_lag_hours (48 h), in steps of lag_step_hours (6 h). Its
// windows begin early_hours before the lag and last window_hours (12 h) after it. The
// likelihood is that of onsets of which one share falls into the windows and the rest
// anywhere, against all falling anywhere in the time that was heard. The zone that
// fits must be margin (3.9: fifty times) likelier than the registered one at its
// best, after the logarithm of all zones, lags, sizes and probes that were tried; must
// have min_separating (3) waterings whose windows, heard to covered_share (0.7), none
// of the registered zone's touches, of which min_recall (0.5) were answered; and a
// larger share of them than of the registered zone's own. The clearest probe
// of a hole speaks for it, unless another fits the registered zone better by tie (3).
// Zones within tie of the best one are named as well.
//
// Confidence is the posterior with prior (0.02 of the holes are registered wrongly), at
// most 0.95; at most 0.6 where most posts of the zone answer the same other one.
//
// # What to check at the post
//
// Open the other zone's valve and see whether the emitters at this post drip. Then
// mend the register: zone, block, or the logger and port of a probe that was moved.
// Nothing has to be dug up.
//
// # Where the idea comes from
//
// A likelihood of onsets under every schedule with a free lag, a clear margin and
// recall over the waterings that separate two zones come from trials on simulated
// vineyards. The price of the trials is Bonferroni's bound. It is a two-component
// mixture of uniform densities, with its share of the first by maximum likelihood
// (derived).
package wrongzone
