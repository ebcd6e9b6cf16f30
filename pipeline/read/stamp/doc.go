// Package stamp reads the time stamps of loggers. A Format turns text into the
// reading of a clock on the wall, or into an instant where the text holds an
// offset; a Clock turns the wall's reading into an instant of a zone, through the
// nights on which clocks are changed; a Guess finds the format that a file uses.
// Instants and wall readings are int64 microseconds, the latter counted as if the
// wall hung in UTC.
package stamp
