// Package clockerror finds loggers whose clock jumped, or whose stamps cannot be.
//
// # Looks like
//
// In the file as it was written, a stamp leaps years ahead or back from one line to
// the next, to 2057 or to the year at which its clock starts anew, and maybe back
// again some lines on. Or a whole file stands years outside the time in which the
// farm's loggers report. Or stamps step back by some hours and run on, at a visit:
// a time zone, or the halves of the day mixed up. After sorting nothing of this can
// be seen but a hole, and readings beside water that they do not answer.
//
// Where an export has both clocks, the device's and that of what received its
// message: many messages in a row that are off by the same half hour or more, in
// steps at restarts, or by whole hours for a zone.
//
// Where the stamps look well, the day tells. The sun lifts the voltage of a panel's
// battery, the warmth of the soil and with it a probe's reading at hours that all
// loggers of a farm share. A clock that was set wrong puts all swings of its logger
// early or late by the same amount, from one day on or all along; one that loses
// time puts them further off day by day.
//
// # Often mistaken for
//
// Records sent again: a block of stamps that were seen before, after which the file
// goes on where it was. A logger's whole memory copied behind a file. The hour that
// autumn has twice. A file sorted as text or shuffled on its way: its order proves
// nothing, and it is left alone. A pilot logger, or a first season, from before the
// rest of the farm: a year or two early, in files of its own, and no true time
// missing. A jump that another file covers with right stamps costs no reading and is
// not reported. Messages that waited for a connection: each is late by its own time
// of waiting, and none is early. A panel in the shade, a thermometer that was moved, a
// probe that lies deeper than its register says: one swing is off, the others are
// not. A log of waterings that is off by hours: the swings are not touched by it.
//
// # Needs
//
// The stamps of the logger's files in the order written, or daily swings of battery,
// temperature or moisture on swing_loggers, or more. With fewer than min_loggers
// the farm's span says little, and only leaps within a file count. Steps forward of
// less than a day look like silence in the stamps alone: the swings tell them apart.
// Of a small farm, or without a clear swing on two channels, only the stamps are told.
//
// # Thresholds
//
// outside (180 d): how far beyond the farm's span a segment must lie; exports of one
// logger may be a season staler or fresher than the rest. early_years (3 years): a
// segment earlier than the farm by less than this may be a pilot, and needs a witness:
// a missing stretch of true time of its length. min_loggers (3): so many must make
// the farm's span. sure_leap (8766 h, a year): within one file of a small farm only
// a leap as long as this counts; loggers sleep through winters. written_twice (0.25 of
// the hours): a clock set back writes its hours again, with new values; rows that
// only stand out of order do not. clock_change (1 h):
// a step back of no more is the night on which clocks change. grid (0.1 of a step):
// stamps sent again stand exactly where they stood; a clock that was set stands
// elsewhere by more than this. zone_hours (14 h): the longest step that a time zone
// or a mixed-up half of the day makes. missing_share (0.8 of the segment's
// length): so much true time must be missing to be a witness. least_rerun (24 h): a
// shorter block seen before is one sent again, whatever is missing. lag_least (0.5
// h): by so much the two clocks must differ, in lag_messages (10) messages or more,
// within two minutes of each other; a clock behind also in lag_share (0.8) of the
// messages of that time. Readings that have the receiver's stamps stand, whatever
// the device's clock says, and no verdict comes of it.
//
// Swings: their hour is compared day by day with the median of the farm's loggers,
// channel by channel, and by depth and kind within one. How loggers, weeks and days
// differ on this farm is the measure. swing_loggers (5) must have a channel.
// swing_days (2) on either side make a change, and swing_channels (2) must each show
// it by swing_clear (4 standard deviations), or one, and the stamps a step or, but
// for the battery, which a failing supply moves as well, a rare hole of the same length; no thermometer or battery that could tell may be off
// the others by more than swing_agree (0.25 of the shift); moisture may, since its
// swing goes over from the roots' to the heat's as the soil dries. A change counts from least_shift (0.4 h) on, a logger
// that differs all along from standing_shift (2 h), or by whole hours within
// whole_hour (0.15 h), and only if the battery is among its witnesses. A drift takes
// drift_days (8) and ends half a step away or more, and least_drift (0.2 h). Readings off by fail_shift (1 h)
// or more fail, others are suspect. Where swings that could tell show no change, a
// step back of the stamps is rows out of order and is not reported.
//
// Confidence: 0.97 for stamps outside the farm's span with good ones in the same
// file, 0.9 for a whole file with a missing stretch beside it, 0.8 without any good
// stamp, 0.5 where the farm is too small, 0.7 for a small step with the missing time
// as its witness, 0.6 for one off the grid or a clock that runs through the past
// again, 0.35 for whole hours in a file that lost no record and whose clock had
// started anew after a hole, without another witness: the readings of that stretch
// are suspect, no more. Two clocks: 0.95 for one ahead, since no message arrives
// before it is sent, 0.85 for one behind. Swings: 0.95 for a change that the stamps show as well, 0.9 without,
// 0.85 for a logger off all along and for a drift. Judged, not measured.
//
// # What to check at the post
//
// Date, time and zone on the logger's display against a phone; the clock's own
// battery, if the date is that of a factory. Set the clock, write down both times,
// and keep the file: the shift named here puts its readings back in place.
//
// # Where the idea comes from
//
// A published rangeland data set, in which one logger leaps to 2057 and back, one
// file stands in 2002, and five loggers step back at one visit, with the true
// shifts found by hand by its author. Judging stamps before sorting is common
// practice, no source. That time is conserved, so that a clock set back leaves as
// much missing elsewhere, tells it from records sent again. That the daily wave of heat
// reaches a depth at an hour of its own is textbook physics; holding it against the
// other loggers as a clock is derived.
package clockerror
