// Package schemas declares every table that probeward reads or writes, once:
// its name, its columns with type, unit and one sentence, and what is derived
// from them (CSV headers, Arrow schemas, the printed dictionary). It also holds
// the vocabulary that the tables share: faults, families, flags and verdicts,
// and the shape of the configuration file.
//
// Nothing here computes; everything here is data. A column may be added at the
// end of a table, and none is renamed or dropped without a new Version.
package schemas

// Version of the tables. It goes into the manifest of every run.
const Version = 1
