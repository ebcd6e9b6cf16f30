// Package register reads the register: which probe of which kind is where, in
// which unit it exports, and at which logger and port it was wired when.
//
// The register is kept by hand, so it is read with patience: what cannot be used
// becomes a Note with file, line and column, and the rest of the register still
// counts. A probe may have several rows, one for each span at one logger and port;
// they become one detect.Probe with several wirings. Where its rows contradict each
// other in anything else, the newest row wins and a note says so.
//
// Units are settled here, once: standard value = Scale × (exported − Offset), in
// ohm, kPa (positive when dry), m3/m3 or degC; see conversion. What cannot be made
// standard stays Raw, and a note says what would help.
package register
