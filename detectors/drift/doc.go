// Package drift finds probes of water content that wander away from their soil.
//
// # Looks like
//
// Week by week the whole curve slides: the level to which a watering brings the probe,
// and the level to which it dries before the next, both move the same way, while its
// siblings come back to where they always did. Or the probe sinks, day by day, below
// what any soil of its texture holds.
//
// # Often mistaken for
//
// Drying and wetting of the soil, which go along the curve and not across it: the
// siblings at the depth go with it, or the level after waterings stays. A step, which
// a knock, a repair or another sensor makes. A probe that always read too low: that is
// its calibration.
//
// # Needs
//
// Water content. In ohms and kPa a drift of two or three times lies within what
// healthy places do over a season, so such probes are not evaluated. For the level
// after waterings a log of waterings, the soil_texture and two siblings of its kind at
// its depth; for the lower bound the soil_texture, or the least residual water of all.
//
// # Thresholds
//
// Of its answered waterings, answers (6) or more, the median level of the first half is
// held against the newest two. It must have been at field capacity (capacity_kpa, 10
// kPa, by the soil_texture) or wetter, less moved, and must have moved by moved (0.03
// m3/m3) and scatters (6) times the scatter of the first half; the level before
// waterings by dry_end (0.3) of that, the same way; none of siblings (2) or more may
// have moved by sibling_share (0.5) of it that way; and no jump down or impossible
// value may have come since.
//
// Below means: all of stay_days (3 d) or more up to the newest under the residual water
// of its texture (residual, 0.034 m3/m3, where none is registered) less below (0.04
// m3/m3), after it came down by sunk (0.015 m3/m3) over as many days without a jump, in
// the newer half of that time by steady (0.5) of what it did in the older one.
//
// Confidence is 0.75 below, 0.6 by the level: judged, not measured.
//
// # What to check at the post
//
// Take a sample of soil beside the probe, weigh it, dry it and weigh it again: the
// difference by volume is what it should read. Read the probe with a hand-held meter,
// to tell the sensor from the logger's input.
//
// # Where the idea comes from
//
// That drift moves a curve and soil moves along it comes from trials on simulated
// vineyards. Residual water contents are those of Carsel & Parrish (1988).
package drift
