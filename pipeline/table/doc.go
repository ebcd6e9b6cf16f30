// Package table reads the small CSV tables that people keep by hand: the register,
// the logs and the weather, as package schemas declares them.
//
// It is tolerant of how spreadsheets write (separator, byte order mark, character
// set, case of the header, decimal commas, packed files) and strict about what is
// meant: a cell that cannot be read is never taken for zero, and a row that cannot
// be used becomes a Note with its line and column, never an error and never
// nothing. The lines count from 1 as an editor counts them.
package table
