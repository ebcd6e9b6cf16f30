// Package fieldlog reads what happened in the field beside the readings: waterings,
// weather, what the crew found, and a person's word against the scan's.
//
// All four are kept by hand. A row that cannot be used becomes a Note with its line
// and column; what is left is sorted, and is the same whatever the order of the rows.
package fieldlog
