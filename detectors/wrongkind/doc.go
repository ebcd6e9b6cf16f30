// Package wrongkind finds probes whose readings are not those of the registered
// kind of sensor.
//
// # Looks like
//
// The values live where no such sensor does, and yet they move as soil does: water
// contents of 20 to 180 that fall when it is watered (kPa), tensions of 600 to 20000
// (ohms) or of 0.12 to 0.35 (water contents), ohms of 8 to 200 (kPa), a thousand times
// too much where kohm are registered and ohms come, or any of them that goes up and
// down with the soil's temperature, degree by degree. Or they answer water the wrong
// way: kPa or ohms go up at once when it comes, and slowly down again until the next,
// or water contents the other way about.
//
// # Often mistaken for
//
// A broken circuit, which stands still at the end of a scale or scatters between
// rails, and does not follow itself smoothly from reading to reading. Soil at the
// end of what the sensor can show: near zero a kPa export shows steps of a tenth,
// with zeros among them. A sensor that drifts out of its range came from within it;
// another sensor at the port comes by a leap, or was there from the first. The
// temperature in a block's own readings: warmer makes it read wetter, by a fiftieth
// a degree, and not one for one.
//
// # Needs
//
// A series in ohms, kPa or m3/m3. With soil temperature it knows a thermometer, with a
// log of waterings what answers the wrong way.
//
// # Thresholds
//
// Judged are the newest judged_days (7 d). share (0.95) of their values must be
// ones that the registered sensor cannot give: above least_foreign (1.5) as m3/m3,
// above most_kpa (450) as kPa, below 300 ohm as ohms; as kPa also all between
// least_fraction (0.02) and most_fraction (0.6) at a resolution of fraction_step
// (0.005) or finer. Since such values began they must have moved: distinct (8)
// different values on move_days (3 d) or more, the high ones (95 %) spread (1.05)
// times the low ones (5 %), 1.5 times in ohms; and smoothly: the median step from
// reading to reading is at most smooth (0.1) of that range. Where the registered
// kind's values stand before them, a leap of a factor of leap (3) must lie between.
// Where kohm or % are registered, values of the unit without its factor count too, if
// all of the series has them.
//
// A thermometer, of the exported numbers, or of ohms as a thermistor's: the swings
// within the day follow those of the soil temperature with a correlation of
// heat_correlation (0.8) at least, by 0.4 to 2.5 degrees a degree, each at least
// heat_swing (0.5) on average, and the level is within heat_level (8 degC) on average
// and wanders by no more than heat_drift (4 degC) either way, through the whole
// series. The level of a thermistor says nothing: it must also follow the days' means
// one for one, where these spread by heat_spread (1.5 degC).
//
// The wrong way: water contents, or kPa or ohms whose high values (95 %) are no more
// than inverse_spread (6) times the low ones, that at inverse_answers (3) waterings,
// inverse_share (0.75) of those at which they moved at all, dry more than twice as far
// as the day before explains, by its drying, its swing and their noise, and come back
// by inverse_return (0.3) of that before the next watering; and go the right way at no
// more than one for eight of these. And the steps of three hours must be steeper that
// way by inverse_skew (0.2; the sum of their cubes over that of their sizes), which is
// not so where the water of another zone is answered.
//
// Confidence is 0.95, for a thermometer 0.9, for the wrong way 0.85. These shares are
// judged, not measured.
//
// # What to check at the post
//
// Nothing at first: compare the register's kind, unit, scale and port with the
// wiring sheet. Then read the label of the sensor at that port. No sensor is broken.
//
// # Where the idea comes from
//
// That a block shows no less than 300 ohm is common practice. No soil holds more
// than its own volume of water. The driest tension that a block's published form
// gives for a lead that is not open is below 450 kPa (Shock, Barnum & Seddigh 1998;
// Allen 2000; derived). The rest is common practice, no source.
package wrongkind
