// Package drift finds drift: it wanders away from its neighbours.
//
// # Looks like
//
// What the readings do, in words that a technician would use.
//
// # Often mistaken for
//
// The healthy look-alikes, and how each is told apart.
//
// # Needs
//
// Which columns and which parts of the register, and what it says without them.
//
// # Thresholds
//
// Each parameter by its name, with its unit, its reason and its source.
//
// # What to check at the post
//
// In the order in which the crew should look.
//
// # Where the idea comes from
//
// A source, or: common practice, no source.
package drift
