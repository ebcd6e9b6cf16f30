// Package chart draws the series of a run as small static SVG, and packs the same
// series for a reader who wants to look closer.
//
// All charts of a page share one time axis and one width in pixel columns, so what
// they have in common is drawn once and used many times: the axis, the judged
// window, the rain, a zone's waterings, and the line of each probe. A line is held
// in levels, whole steps of the working space in which up is wetter, and each chart
// moves and stretches it to its own range.
//
// A line is thinned to the least and the greatest level of each pixel column, in
// the order in which they came: no spike is lost, however short.
package chart
