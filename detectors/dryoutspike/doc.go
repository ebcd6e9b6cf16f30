// Package dryoutspike finds spikes towards dry: the probe dries, and wets again
// without water, faster than soil can.
//
// # Looks like
//
// A series that goes its way, leaves it towards dry within minutes or a few hours,
// stays there for a reading or for hours, and comes back to where it was with
// nobody having watered. Often it comes back again on other days: when it is hot,
// when a pump runs, when the soil around the probe cracks or the joint is shaken.
//
// # Often mistaken for
//
// The trough between two waterings (which is not drier than the day before them);
// the daily swing of a shallow probe, whose trough is as deep but takes half a day
// each way; frozen soil, which reads dry until it thaws; the seam of a conversion
// from ohms to kPa, a step of up to 15 % near 8000 ohm; one count of a
// whole-kPa export, 10 % at 10 kPa; a replaced sensor, whose step does not come
// back. A flip to an impossible value is a cable's and is left to that detector;
// so is what judge can lay at a contact that flips to the end of the scale.
//
// # Needs
//
// Readings of soil moisture in ohms, kPa or m3/m3 over three days. A log of
// waterings and rain, where they are there, tell a spike's return from an answer
// to water; without a log of waterings only excursions with both legs within
// quick_hours count. soil_texture makes the bound for ohms and kPa sharper:
// without it the bound of the texture that dries soonest holds (sand, at most
// tensions), and that bounds next to nothing beyond 30 kPa. Evapotranspiration
// takes the place of et0_limit. Soil temperature tells frost.
//
// # Thresholds
//
// The working space is wetness: minus the logarithm of ohms or kPa, or water
// content. The depth of a spike is from its trough to the lower of the levels
// before and after it; a leg's time is taken between 80 % and 20 % of the depth.
//
// max_hours (24 h): a longer stay is no spike but another state of the probe.
// min_fall (0.22, in logarithms: a quarter drier) for kPa, min_fall_ohms (0.14) for
// ohms, and min_fall_water (0.02 m3/m3): less is not worth a reading's loss, and the
// seams of conversions to kPa, 15 % or 0.14, stay below. noise_scales (8): the depth in standard
// deviations of the series' own noise, and local_scales (6) in those of the readings
// within near_hours (2 h) around it, which may be noisier: among readings that jump
// about a far one is noise; counts (4): the depth in counts of its
// resolution, as far as they reach at that level.
//
// The soil's bound: what a layer of layer_m (0.15 m) loses at crop_factor (1.20)
// times the day's reference evapotranspiration (et0_least, 1 mm/d, at the least),
// or et0_limit (12 mm/d) where none is known; peak_share (3): noon's rate over the day's mean. With these a layer
// loses at most 0.012 m3/m3 in an hour. Ohms and kPa are taken to water content
// through the texture's retention curve. A fall beyond the bound is a proof by
// physics. Within it, in a soil that may be sand, a spike must be gross_factor (2)
// times as deep as otherwise.
//
// speed_factor (3): both legs are to be faster than so many times the probe's own
// usual hour (the 80 % quantile of its changes over an hour): a daily swing never
// is, whatever its size. return_share (0.35): how far from the level before it the
// level after may be, as a share of the depth. fresh_share (0.5): the trough is to
// lie below the driest tenth of the day before by this share of the depth, which
// the trough between two waterings never does.
//
// water_hours (24 h): with water in the zone so shortly before the return, or
// during it, the spike must be gross_factor times as deep and its fall beyond the
// bound. quick_hours (1 h, and never less than one reading): see Needs. frost_c
// (1 degC): with soil as cold as that, dry readings are ice.
//
// A spike that begins from one reading to the next and comes back counts less deep
// where it repeats itself: repeats (3) or more of them in the period, each at least
// repeat_share (0.5) of the least fall deep, local_scales of the readings before it
// and counts, and over within a third of max_hours. Of a tensiometer it is repeat_kpa
// (1 kPa) instead. In kPa of a block it is seam (0.18), since a block that lies at a seam
// of its conversion steps over it and back. The same is looked for towards wet: noise
// goes there as often, so that no more than mirrored (0.25) as many may be found
// there, away from water. Where they are half as many the probe scatters, and none
// is a spike.
//
// Only the readings of the spikes are marked, with the whole of the flank on which
// they come back. Confidence starts at 0.70 for one
// spike beyond the bound of the soil and 0.55 for one within it, and each further
// spike halves what is missing to 1.
//
// # What to check at the post
//
// Move the lead, the splice and the plug at the logger while someone reads the
// port: a spike on command is a contact. Look for cracks in the soil down to the
// probe, roots or animal holes at it, and a second device on the same supply that
// runs at the hours of the spikes. Firm the soil, remake the joint; replace the
// probe if the spikes go on.
//
// # Where the idea comes from
//
// The spike test of the open ocean standard (IOOS QARTOD, test 6) and flag D06 of
// Dorigo et al. (2013, Vadose Zone Journal 12(3)) compare one reading with its two
// neighbours; here a spike may last a day, so that the neighbours are levels. The
// bound is the water balance of a layer with FAO-56's upper crop factor (Allen,
// Pereira, Raes & Smith 1998, eq. 72) and the retention of Carsel & Parrish (1988).
// That nothing but water wets a soil within hours, and so the return is the proof
// where the fall is none, is our own reasoning.
package dryoutspike
