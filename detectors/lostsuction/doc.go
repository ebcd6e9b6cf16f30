// Package lostsuction finds tensiometers whose water column broke.
//
// # Looks like
//
// # Often mistaken for
//
// # Needs
//
// # Thresholds
//
// # What to check at the post
//
// # Where the idea comes from
package lostsuction
