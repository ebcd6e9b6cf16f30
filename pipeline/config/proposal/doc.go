// Package proposal writes the scan.yaml that says what a scan of a folder would
// otherwise guess, with the evidence beside each line, and where the folder has no
// register, the rows of a probes.csv for what is heard in its files.
//
// It guesses nothing about the exports: read.Look says how the reader lays each file
// out (group.go puts those together that one entry can describe). What is written is
// then read both ways, and a line with which one reading would come out otherwise is
// taken back into a comment (make.go). Only the register's rows are found here
// (skeleton.go), since a scan has no register to guess: a kind or a unit stands there
// where the names and the sizes of the values leave one, and is empty otherwise.
package proposal
