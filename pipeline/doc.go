// Package pipeline is the scan: read exports into Arrow, arrange them by probe,
// examine each probe, corroborate per logger and zone, judge, rank the visits,
// publish the tables. Run reads as that sentence, a line a stage; each stage is a
// package beside the others and takes what the stage before it gives.
//
// Stages are pure: the same input gives the same bytes, whatever the number of
// workers. Only read and publish touch files.
package pipeline
