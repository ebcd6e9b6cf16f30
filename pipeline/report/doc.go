// Package report writes report.html, the page of the analyst and of the agronomist:
// what can be trusted at which depth, where to go, what every detector answered
// about every probe, each finding with its chart, and the health of all probes.
//
// The page is one file that asks nothing of any network (its own content policy
// forbids it), and that can be read and printed without its script: that sorts,
// filters, and opens a chart to look closer. Its times are the farm's.
//
// The same input gives the same bytes.
package report
