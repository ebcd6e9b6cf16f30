// Package cabledamage finds cables and splices that make contact only at times, or
// that water bridges.
//
// # Looks like
//
// Contact that comes and goes: the readings leap to an impossible or dead state and
// leap back to the level of before, again and again, a reading or two at a time or
// for hours; or the port gives blanks among values, in many short runs, while the
// logger itself speaks; or both, with values that scatter among the blanks. A
// leaking splice: within minutes of the valve the reading falls, to near a short in
// dry soil and by a half in wet, stays there while water drips, and within half a day
// of the valve's end it leaves again, to the level of before or to that of the soil
// which answered meanwhile, watering after watering. A gauge or a dielectric probe that
// sends a voltage loses a part of it in a wet plug: tension falls at once, and so does
// water content, though water comes. A plug of a dielectric probe that corrodes: water
// content sinks for weeks below all that it was, and scatters more as it sinks.
//
// # Often mistaken for
//
// A storm or a watering: it leaps up and then drains slowly, and never back to the
// level of before. Waterings of sand, which can dry within a day: a leak is not
// looked for there. Water down a crack or the hole (bypass_flow): it comes as
// early, and either stays, or goes on wetting for as long as water runs, where a bridge is
// all there at once. Where that does not tell the two apart, nothing is said here.
// A lead that broke once (open_circuit) or touches for good (short_circuit): one leap, or a spell at the end of which nothing flips again. A
// noisy probe (noise), whose steps stay below a leap. A logger that loses power and
// takes several of its ports along (logger_power). A port that never gave a value,
// or fell silent once (gap). Values that wander across a limit (out_of_range).
//
// # Needs
//
// A moisture series in ohms, kPa or m3/m3; blanks, where the export keeps them. It
// uses the zone's waterings and the texture for a leaking splice, and the dry end of
// the scale: where nearly all readings stand there, flips cannot be seen and it is
// not evaluated.
//
// # Thresholds
//
// A leap: leap_factor (3) in ohms or kPa, leap_water (0.10 m3/m3), and twelve times
// the noise, but never more than most_leaps (2) of the least ones, since flips in
// half of the readings look like noise themselves. It is taken back within
// hold_hours (24 h) when at most return_dry (0.5) of it is left, or return_wet
// (0.25) of a leap towards wet; readings outside all limits may last longer. A half
// of a flip is counted where only one of its ends was seen. Several readings that wander
// within what soil can be are no flip but a spike, and so is what went dry and came
// back by steps of less than snap_share (0.6) of the way each. Flips are one contact's when they
// include blanks or as many blanks lie between them, or last, or when half of them lie within same_level (0.15 in
// logarithms) or same_water (0.01 m3/m3) of each other; not where half of them wander
// within themselves, or where more than a quarter goes to the other side of what can be: readings
// scattered over impossible values, singly or for hours, are out_of_range's. min_flips (3 flips)
// within join_days (3 days) of each other, or within quiet_days where all of them fall
// to one and the same state, make a finding, which goes on
// until quiet_days (7 days) passed without one. Blanks count in a week
// with min_blank_runs (8 runs) and a blank_share (0.10) of the stamps or more; a run
// then weighs blank_weight (0.25 flips) beside flips of values, and so many runs are
// enough alone. hidden_share (0.95): readings at the scale's end from which it is
// not evaluated. A leak: leak_fall (a factor of 9) within leak_minutes (60 min, or
// two cadences) of the valve, back within leak_return (a factor of 1.35) of before
// by leak_hours (24 h) after its end, at leak_events (2 waterings) or more and at
// least half of those that found it dry enough. Or, in a registered texture other than
// sand and loamy sand: leak_step (a factor of 1.15) or more within leak_minutes and from
// there to the valve's end (leak_gauge, a factor of 1.12, of a tensiometer), and half as much back within
// leak_drain (12 h) of that, leak_back (0.4, in logarithms) of the fall or leak_dried (a factor of 1.5) or more, at
// leak_events or more and at leak_share (0.75) of the waterings since that found it dry
// enough; the fall own_factor (3 times, in logarithms) and the return own_back (1.5
// times) what it did at any of own_waterings (3 waterings) or more before; and at half of them either at most leak_left (0.25) of
// the fall left by leak_hours, or dried leak_faster (2 times) faster than its texture
// can when leak_demand (12 mm/d) comes out of leak_layer (0.3 m) alone, its dead zone
// not counted. Without a watering before, both of these at each of three or more. Either
// way it must be a circuit's doing: leak_plateau (0.75) of where it stands while water
// comes is there at once, or the falls of a gauge
// differ by leak_share_spread (0.35) of their median at most at own_waterings, with
// leak_sudden (0.6) of each from one reading to the next; the latter also stands for a
// fast return. The fall must be leak_clear (3) times what the hours before show. What
// moved by half of leak_calm (a factor of 1.5) in the three hours before tells nothing.
// Rain of leak_rain (5 mm) or more counts as a watering, where it is measured every
// leak_hourly (3 h) or more often; then the fall may come within leak_minutes at any
// time of it. In water content: while water comes, a fall towards dry of sag_step (0.015
// m3/m3) and sag_share (0.08) of the reading within leak_minutes that lasts as long, at
// leak_events and half of the waters since the first; at one more without own_waterings
// before them.
//
// A plug that corrodes, in water content: the median of the newest two days fade_share
// (0.05) or more below the lowest of fade_days (14 d) or more that are older than
// fade_old (28 d); lower than fade_recent (5 d) before, no day by half
// of the fall lower than the one before; a watering since; and their scatter fade_scatter (1.25
// times) that of the time before or more.
//
// The flips fail; what lies between them is suspect, up to the end of the window
// while they go on. Confidence is 0.80 with the least number of flips and 0.03 more
// for each beyond, to 0.95; 0.55 to 0.75 for blanks alone; 0.80 for a leak to near
// a short or for a lesser fall, and 0.75 for a fall of water content, at two waterings; 0.70 for a plug that corrodes. These shares are judged, not
// measured.
//
// # What to check at the post
//
// Wiggle the lead at the plug, at the terminals and at each splice while a second
// person reads the probe: the value that jumps names the place. Look for green
// copper, a splice without gel, a gland that holds water, teeth and hoe marks. After
// a leak: open the splice on a dry day and dry it before closing it again with gel.
//
// # Where the idea comes from
//
// Counting entries and exits of impossible states and alternating large steps comes
// from a trial on simulated faults, and so does the leak that answers the valve
// before soil can. That a leak of 8 kohm turns 20 kohm into 5.7 and is nearly
// invisible in wet soil is the arithmetic of parallel resistors. A corroded
// joint adds the same ohms to every reading of a block (500 ohm turn 0 kPa into 10.7), so
// that the wettest readings rise over weeks. It is not looked for: on simulated farms with 1,495 blocks
// the wettest readings of fifty rose by more, against those of the siblings at their
// depth, than those of the worst of eight corroded ones, and of nearly two hundred by more
// than those of the other seven; and their scatter in ohms told only the grossest, which
// show as noise. Measure each splice where a block reads drier than a spade says.
package cabledamage
