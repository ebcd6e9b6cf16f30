// Package bypassflow finds a probe that water reaches down its hole or along its
// cable, and not through the soil.
//
// # Looks like
//
// Minutes after the valve opens the deep probe of a hole wets, before the shallow one
// above it has moved, and half a day after the water it is back where it was. Watering
// after watering. The probe is sound, but what it shows is the water in a hole that
// was not tamped, or beside a cable that leads down like a gutter.
//
// # Often mistaken for
//
// Cracks in dry clay: there the shallow probe wets first, and most deep probes of the
// zone do the same. A register that has two depths mixed up: then the one that answers
// early keeps its water for days, like soil. A splice that water gets into, which
// takes a block near a short (cable_damage prevails). A log or a clock that is late,
// which makes all answers early. A flood that stands on the surface (flood_mm_h, 25 mm/h
// and more) fills cracks and worm holes, too, and is not counted.
//
// # Needs
//
// A log of waterings that names the zone, and depth_cm and post in the register, with
// a shallower probe at the same post by below_cm (15 cm) or more. It uses rain, to
// leave out the waterings that it blurs.
//
// # Thresholds
//
// A watering went down the hole when the probe stood clear of its level (two readings
// in a row by five scales of noise or resolution) within quick_hours (2 h) of the
// valve, before any probe above it at the post; when it rose by rise_units (1.5) times
// what its own quiet time brings, half of it (soon_share, 0.5) within the first two
// hours or all of it by peak_hours (3 h) after the water's end; and when no more than
// left_share (0.5) of the rise was left twelve hours after the end. From the first such
// watering on there must be min_events (2), and most_share (0.6) of those that were
// heard without rain. Where more than others_share (0.5) of the deep probes at other
// posts do it too, it is the soil, the log or a clock, and no finding.
//
// Confidence is the share of the waterings times 0.8 for two, and half of the doubt
// less for each more, at most 0.95: judged, not measured. Only the day after each such
// watering is marked; between them the probe tells of its soil.
//
// # What to check at the post
//
// Look for a funnel or a gap around the cable at the surface, and whether an emitter
// drips on it. Pour a litre there and watch the deep probe: an answer within minutes
// proves it. Tamp the hole with slurry, give the cable a drip loop, move the emitter.
//
// # Where the idea comes from
//
// That a deep sensor which answers before the shallow one shows preferential flow
// along the installation is common in the manuals of soil moisture sensors; the
// order of arrival as a test of preferential flow is in the literature on soil
// moisture networks (from memory). The numbers are common practice, no source.
package bypassflow
