// Package crew writes what the service crew holds in their hands: a page to read in
// the row and to print, and the same stops for a navigator.
//
// # The files
//
//   - crew.html: one file, no network. It reads in full without scripts, on a phone
//     and on A4 or Letter paper. With scripts it can be put in another order, and
//     takes down what was found.
//   - queue.geojson: the stops as points (RFC 7946). A stop without coordinates is a
//     feature without geometry.
//   - queue.gpx: GPX 1.1; a waypoint for each stop in rank order, and the round as a
//     route. Stops without coordinates are not in it.
//
// Everything follows from the judgement: the page names the end of the window, not
// the clock, and the same input gives the same bytes.
//
// # What comes back
//
// The page keeps what the crew writes in the browser, under the run's name, and
// gives it as visits.csv: a row for each probe of which both what was found and what
// was done are chosen. A fault of a logger or a zone has one row for the logger or the
// visit, and rows for single probes only where the crew adds them. Parts, minutes
// and the note are the stop's: they stand in its first row alone, so that a sum counts
// them once. visited_on is the phone's local time with its offset.
//
// # What to bring
//
// Things that are used up are counted by the probes that need one (a logger or a
// valve is one), tools once. The package knows the tools by name; everything else is
// taken for something that is used up, so that nobody stands in a row without it.
package crew
