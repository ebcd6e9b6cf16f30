// Package robust holds the statistics that the detectors stand on: medians and
// scales, rolling windows, slopes, turning points, runs, intervals and tests,
// all on plain []float64.
//
// A series carries no NaN: the caller has left missing readings out. Functions
// that hand out one number return NaN where the statistic does not exist (no
// values, a single value's spread); the caller's minimum of samples keeps that
// from happening. Kernels that meet every reading take a scratch or destination
// slice and allocate nothing once it is large enough; a scratch shorter than
// asked for is a programming error and panics.
//
// After a test for constant values compare the largest with the smallest, not a
// spread with zero.
package robust
