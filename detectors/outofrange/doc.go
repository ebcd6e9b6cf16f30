// Package outofrange finds readings that the sensor or the soil cannot give.
//
// # Looks like
//
// Single or scattered values beyond the limits of the quantity: ohms under 300 or
// from 35000 up, tension below zero or above what the driest published form gives,
// water content below air or above 0.60 m3/m3, soil colder than -40 or hotter than
// 80 degC. Or values that wander out there for days with their own noise. Where the
// register has the texture, half a day or more beyond what it can hold is suspect.
//
// # Often mistaken for
//
// A broken lead or a short (open_circuit, short_circuit): a row of min_electrical
// readings or more that a leap led to, or that stand still, is left to them, and so
// are any in ohms that were there from the first. Contact that comes and goes
// (cable_damage), which shows itself here as single values. A tensiometer under
// ponding, slightly negative: its limit is the water that can stand above its cup.
// A unit or a scale that the register has wrong, which puts all readings out.
//
// # Needs
//
// Nothing but readings in a unit with limits. It uses soil_texture where the
// register has it, and the depth of a tensiometer.
//
// # Thresholds
//
// min_electrical (3 readings): from so many on it may be a lead's state; water content
// that moves out there must have come by a leap and last moving_hours (24 h).
// gauge_kpa (2 kPa): how far off a tensiometer's gauge usually is. residual_margin
// (0.08 m3/m3) below the residual water content of the texture, and porosity_margin
// (0.05 m3/m3) above the larger of two published porosities: beyond them readings are
// suspect once they stayed there for min_suspect (12 h). dry_end (0.25 of the limit): a
// block that dried to the open guard by small steps may read so far beyond it. A row
// beyond the open guard that moves and comes back by less than half a leap is no open
// lead, and counts here. offset_ohms (50 ohm): what wanders further below zero is no
// lead's state. In kPa below zero a row counts here unless most of it lies between
// short_least (-20 kPa) and short_most (-7 kPa), where a short converts to, and of a
// tensiometer unless it stands still. Above most_water (1.5 m3/m3) no lead leads.
// rejoin (24 h): what comes back within a day is one finding, whose parts
// are the readings concerned.
//
// Confidence runs from 0.45 for one reading just past the limit, and 0.75 for one far
// out, to 0.99 for a day's worth; far is ten times the noise and resolution there. Beyond a texture
// alone it is half of that. These shares are judged, not measured.
//
// # What to check at the post
//
// The register first: unit, scale, offset, kind. Then read the probe by hand: the
// same value at the logger and at a second reader means the probe, two different
// ones the logger or the cable. A dielectric probe below air: check that it is in
// the soil along its whole length and that its plug is dry. A whole series near the
// limit is an offset, and wants a calibration.
//
// # Where the idea comes from
//
// The gross range test of the open quality standards (IOOS QARTOD, test 4; from
// memory), and flags C01 to C03 of Dorigo et al. (2013; from memory) for water
// content. Air reads -0.0243 m3/m3 by Topp, Davis & Annan (1980), and the lower
// limit leaves 0.03 for a probe's offset: zero itself is no limit, since many sound
// probes in dry sand read just below it. The textures are those of Carsel & Parrish
// (1988) and Saxton & Rawls (2006).
package outofrange
