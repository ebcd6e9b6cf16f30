// Package config finds, reads and checks the configuration of a scan.
//
// A scan.yaml is read into positions and plain values, held against the JSON Schema
// that is derived from schemas.Config, and then against what a schema cannot say:
// regular expressions, zones, time layouts, files. All that is wrong is said at once,
// each as file:line:col: /pointer: message. What the file leaves out, or all of it
// when there is none, is guessed from the names of the files in the folder, and
// every guess is kept in words (Resolved.Guessed).
package config
