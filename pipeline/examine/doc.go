// Package examine runs the probe detectors over the partitions, a probe at a time
// while its series is in cache, and gives a report for every probe of the
// register, those that were never heard included.
package examine
