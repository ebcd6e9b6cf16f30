// Package shortcircuit finds probes whose two leads touch.
//
// # Looks like
//
// In ohms: under short_ohms, at least min_readings in a row. In kPa: an exact,
// noise-free low constant (0, or what else the export's conversion makes of a dead
// short: 5.76 kPa at 24 degC by the form of 1998) that a leap without water led
// to, or that stands still through dry weather in which every wet soil dries; a
// value that moves with nothing but the temperature, as that conversion does; or,
// where the export does not stop at zero, values under negative_kpa. In water
// content: beyond what any mineral soil holds, after a leap or standing still.
// From some loggers: their own code for a short circuit.
//
// # Often mistaken for
//
// A wet winter: a healthy probe near zero flickers at its resolution, or rises
// between rains. An export that stops at zero can stand there exactly while the
// soil is saturated, so a constant counts only against dry weather, and is called
// not evaluated where there was none or none is known. A new, unconditioned sensor
// of 300 to 550 ohm. A tensiometer under ponding, slightly negative. A leaking
// splice (cable_damage) comes near a short with each watering and leaves again. A
// tensiometer that lost its water (lost_suction) stands near zero through any dry
// weather, so that of a tensiometer only a step that water does not make counts.
// Water content that wanders above the limit (out_of_range).
//
// # Needs
//
// A moisture series in ohms, kPa or m3/m3, or the logger's fault codes. In ohms it
// needs nothing else. In kPa rain and the zone's waterings decide, and the
// reference evapotranspiration shortens the wait; soil temperature shows the
// conversion of a dead short for what it is. In m3/m3 the texture lowers the limit
// for what leapt and stands still.
//
// # Thresholds
//
// short_ohms (300 ohm): less than a saturated block shows. offset_ohms (50
// ohm): what wanders further below zero is no resistance. min_readings (3): fewer
// are a flip of the contact. negative_kpa (-7 kPa): what 300 ohm gives in warm soil
// by a wet branch that does not stop at zero; a row of which a fifth lies under least_kpa
// (-20 kPa), below no resistance at all, is out_of_range's, and so is what lies above
// most_water (1.5 m3/m3). dead_zone (10 kPa): the constants of
// a dead short lie below it. leap_hours (72 h): the least that any constant must
// last, and enough after a leap towards wet (a factor of three, twelve times the
// noise) with no water logged in the day before: what nobody logged has drained by
// then. own_step (3 times), own_hours (36 h), own_days (14 days): a step towards
// wet several times the largest of all its others, after two weeks in which those
// could be seen, and then exactly constant through a watering and the night after.
// From a few whole kPa own_quanta (3.5 steps of the resolution) are enough, with no
// water logged in the day before. A probe that mostly read above zero and stands at
// exactly zero at the end, for own_hours or more and longer than ever, is not evaluated
// where nothing tells wet soil from a short.
// drain_days (3 days): then the soil has drained. dry_days (7 days in a row) and demand_mm (30 mm): dry weather
// after drainage in which a wet probe must have moved. A constant above zero counts
// only at a resolution that would show the sensor's scatter: whole kPa stand still
// in any calm week. dry_days_alone (21 days): the same
// where no demand is known, or, after a leap, where rain or waterings are not.
// porosity_margin (0.05 m3/m3) above the saturated water content of the registered
// texture, for porosity_days (3 days) after a leap and standing still; 0.60 m3/m3
// in any soil, for moving_hours (24 h) after a leap where it moves. seen_steps (3 cadences): an arrival over a longer gap proves
// nothing, and neither does a way back from a dead stretch of an open lead. rejoin (24 h): spells that come back within a day are one finding.
//
// Confidence is 0.97 for values far beyond a limit and for the logger's own word,
// 0.95 for the conversion that follows the temperature, 0.90 for a dead leap
// without water, 0.85 through dry weather with demand, 0.78 without, 0.70 where no
// weather is known, 0.60 where a value slid there or only the texture speaks
// against it, and 0.15 less for a spell that ended within half a day. These shares
// are judged, not measured.
//
// # What to check at the post
//
// Measure ohms at the logger's end of the lead, both ways round, then with the
// lead unplugged: still low means lead or sensor, not the logger. Look for a
// crushed or pinched lead, a splice without gel, water in the box, two wires under
// one terminal. Cut above the splice and measure again to find the side.
//
// # Where the idea comes from
//
// The limit in ohms is common practice and has no source. That a dead short
// converts to a plausible wet soil follows from the form of Shock, Barnum & Seddigh
// (1998); the negative values from the wet branch of the piecewise form of Allen
// (2000). That a short stands noise-free and never rises in dry weather comes from
// a trial on simulated faults. The gross limit of water content is flag C02 of
// Dorigo et al. (2013), the textures' porosities are those of Carsel & Parrish
// (1988).
package shortcircuit
