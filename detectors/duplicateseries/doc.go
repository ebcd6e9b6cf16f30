// Package duplicateseries finds probes that give one and the same series.
//
// # Looks like
//
// Two probes say the same to the last digit, at the same stamps, day after day,
// through all their ups and downs. Or one of them says the same some readings later,
// or in coarser steps.
//
// # Often mistaken for
//
// Probes that stand still: at zero, at the scale's end, in a dead zone or at a
// constant any two are equal, so only days on which a probe moved count. Twins in
// the same soil, which move together and never alike to the last digit for days. A
// probe that was replaced on its port: its successor has the same port at another
// time, which the register's dates tell.
//
// # Needs
//
// Two probes that move. It compares standard values over the whole farm. A copy that
// was converted to another unit on its way, or that is both late and rounded, is not
// seen.
//
// # Thresholds
//
// day_changes (6): a day counts on which a probe's reading changed so often. changes
// (60) in all over equal days and equal_days (3) of them make a copy, if at least
// equal_share (0.8) of the days between the first and the last equal one agree, on
// which both moved and had as many readings. distinct (8): at least one of the equal
// days has so many different values.
//
// A late copy is known by fingerprints: eight changes of value in a row, with the
// number of readings that each of them stood. prints (6) shared ones that lie equally
// far apart in time, no further than lag_hours (48 h), make a copy, if they are
// print_share (0.5) of what either had in that time.
//
// A rounded copy is known by its days: the least and the greatest value of a day stay
// what they are when a series is rounded. At rounded_changes (40) changes of one of
// these from day to day, to distinct different values, the other must show the same,
// rounded to the coarser resolution, and so on equal_share of all days and changes; half
// as many are enough where not one day or change of all disagrees.
//
// Confidence is 0.97, of a rounded copy 0.9: judged, not measured.
//
// # What to check at the post
//
// Nothing at first: look at the register and at the export. Two rows with one port;
// a column that was copied in a spreadsheet; a logger that writes one input for two
// addresses. Then, at the logger, unplug one of the two and see which columns stop.
//
// # Where the idea comes from
//
// Sensors have noise of their own, so that equal readings for days are the work of
// people or programs. Comparing hashes by day is common practice, no source; keeping
// the fingerprints that their own hash picks is content-defined sampling (winnowing:
// Schleimer, Wilkerson & Aiken 2003).
package duplicateseries
