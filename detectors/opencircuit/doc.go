// Package opencircuit finds probes whose lead is broken or unplugged.
//
// # Looks like
//
// In ohms: open_ohms or more, at least min_readings in a row. In kPa: one leap to
// the dry end of the scale, where the readings then stand still; or values that no
// published form gives. In water content: a dead constant below what air reads, or
// one leap down to a dead constant near air. From a tensiometer: a dead constant
// below any water that could stand above its cup. From some loggers: their own code
// for an open circuit. Never a smooth arrival: a sensor that slid to the scale's
// end by steps that a soil makes is dry.
//
// # Often mistaken for
//
// Very dry soil: it reaches the scale's end too and may sit there for weeks, and a
// series that stands there from first to last is not evaluated in kPa, since both
// read alike. Frozen soil, whose ice neither conducts nor shows in permittivity.
// Contact that comes and goes within a reading or two (cable_damage). Values that
// wander below air or above the ohm limit without a leap (out_of_range). A logger
// whose ports fail together (logger_power). A probe out of the ground reads near
// air too, but flickers.
//
// # Needs
//
// A moisture series in ohms, kPa or m3/m3, or the logger's fault codes. It uses
// the dry end of the scale where the farm's data show one, and else the greatest
// value of the series itself where that repeats; soil temperature, to leave frost
// alone; and when the probe was installed. Ohms show this fault best: in kPa a lead that broke while the soil
// was at the scale's end cannot be seen.
//
// # Thresholds
//
// open_ohms (35000 ohm): above what a block shows within its calibration.
// min_readings (3): fewer are a flip of the contact. near_air (0.03 m3/m3): the
// usual offset of a dielectric probe; air reads -0.0243. A leap is the step that a
// sensor with a lag cannot take between two readings, a factor of three in ohms or
// kPa or 0.10 m3/m3, and twelve times the noise; where the end is too near for one,
// half a leap counts if it is rate_ratio (12) times the largest step of the day
// before. Or own_leap (0.25) of one counts in ohms and kPa, if it is own_step (3)
// times the largest step towards dry that the probe makes anywhere else in own_days
// (14 days) or more, and it then stands exactly at the end for own_hours (12 h).
// seen_steps (3 cadences): an arrival over a longer gap proves nothing, and neither does
// one from an impossible value, or from a dead one of dead_wet (10 kPa) or less that a
// step led to: then the last good reading before that is what counts. Nor does one within
// a day of the probe's installation or wiring in the register. frost (1 degC):
// a leap in soil as cold as this is none. air_days (3 days): how long a constant near
// air must have stood if nobody saw it come. moving_hours (24 h): how long water
// content below air must last after a leap if it moves. dry_end (190 kPa): where the
// farm shows no scale's end, a constant above this may be one. Readings beyond the
// limit that move and come back by less than half a leap are a spike. rejoin (24 h):
// spells that come back within a day are one finding, in parts.
//
// Confidence is 0.97-0.98 for impossible values after a leap and for the logger's
// own word, 0.93 for a leap onto the scale's end, 0.88 for impossible values whose
// beginning was not seen, 0.80 for half a leap or less, 0.60 for a constant near air
// without an arrival, and 0.15 less for a spell that ended within half a day.
// These shares are judged, not measured.
//
// # What to check at the post
//
// The plug and terminals at the logger, then the lead for cuts by a hoe, mower or
// animal, then the splice. Measure ohms at the logger's end of the lead: more than
// a megohm is open. Cut back to bright copper, splice with gel and measure again.
// If the lead is whole up to the sensor, the sensor is dead.
//
// # Where the idea comes from
//
// The limit in ohms is common practice and has no source. The piecewise form of
// Allen (2000) turns 35 kohm into 268.37 kPa at 24 degC, a plausible very dry soil:
// so the guard comes before any conversion. Air in water content is eq. 7 of Topp,
// Davis & Annan (1980) at a permittivity of one. That a sensor cannot cross much of
// its range in one step, so that a jump tells a fault from a drought, is the
// authors' own trial on simulated faults.
package opencircuit
