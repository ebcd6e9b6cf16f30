// Package noise finds probes that scatter more than they used to.
//
// # Looks like
//
// From one day on the readings jump up and down from one to the next, several times
// as far as on any usual day before, and go on so for days, at events and between
// them. The level may still follow the soil.
//
// # Often mistaken for
//
// Steps of the export: a whole kPa is a tenth of the reading at 10 kPa and a
// two-hundredth at 200, so a probe that wets seems noisier. Scatter is held against
// the resolution, carried to the level. Waterings and rain, which bend the curve:
// those hours are left out where a log has them. Snow melt and frost that comes and
// goes every day, which bend it as far, but one way for hours. A changed cadence, at which the day's curve bends more from one
// reading to the next: days are held against days of the same cadence only. Contact
// that comes and goes, which leaps (cable_damage), and spikes (dry_out_spike): single
// leaps are left out, and those faults explain this one.
//
// # Needs
//
// A moisture series, with past_days of scatter before the days that are judged. It
// uses the log of waterings and the rain.
//
// # Thresholds
//
// A day's scatter is the mean of the lower nine tenths of its absolute second
// differences: in wetness, which is minus the logarithm of ohms or kPa, or water
// content, and in kPa for tensiometers, whose gauges scatter alike over their range.
// min_triples (8): fewer second differences make no day. past_days (10 d): so many
// days of the same cadence, or of a slower one, make its past, those of the
// last past_lag (21 d) left out where there are as many without them, since noise may
// grow; the usual day is the usual (0.9) quantile of them. A day is noisy above ratio (2.5) times the usual day,
// in kPa of a block ratio_converted (3.5) times while two deviations stay below bears, and
// the least scatter of a sensor (0.5 % or 0.0005 m3/m3), and above beyond_counts
// (1.75) times counts (1) of the resolution there, the most that rounding alone shows.
// It is noisy as well where its noisiest quarter, of six hours, is all this beside the
// noisiest quarters of the days before: a pump runs for hours. In kPa of a block the
// steps from one reading to the next must be of all sizes, filled (0.25) of those that
// are not small being middling: a block at a seam of its logger's conversion goes over
// it and back. days_in_row (3 d) of
// noisy days without a calm one between are noise, if turns (0.6) of their second
// differences have the other sign than the one before; it is over when two calm days
// follow. event_hours (6 h): how long after its water an hour is left out.
//
// Left out are whole days whose scatter is so large that a twentieth of the readings is
// further off than a decision bears, bears (5 %; 1 kPa of a tensiometer at the least)
// or bears_water (0.01 m3/m3); on other noisy days the readings that lie more than
// apart (0.7) of it from the median of the nine about them. The rest stay in, as
// suspect.
//
// Confidence is 0.8, and 0.9 where the scatter is twice what is needed. These
// shares are judged, not measured.
//
// # What to check at the post
//
// The shield and the earth of the cable, a charger, pump or radio beside it that is
// new; then the splice and the terminals for damp. Measure ohms at the logger's end
// of the lead while somebody moves the cable.
//
// # Where the idea comes from
//
// Second differences take out level and slope and leave the scatter (von Neumann
// 1941, from memory, for first differences). A day against the probe's own days is
// the authors' trial on simulated faults.
package noise
