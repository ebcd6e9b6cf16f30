// Package feedback takes what the crew brought back (visits.csv) into the next run:
// what was mended, what was found sound, what nobody got to, and how often each
// detector sent the crew for something. Rows count in any order, and a row that
// stands there twice counts once. Visits after the window's end are not yet known
// then, and wait for a later run.
//
// # Which row is about what
//
// A probe, logger or post that the row names, as the register spells it; else what
// the visit's name says: the place in front of its family (post, logger, probe, or a
// zone's valve). A row that names a post or a visit alone is about all probes that the
// run before had on that visit, else all that the runs before the visit held for
// faulty there, else all of the post. A fault of a logger that is found at a probe is
// one of its logger. What sent the crew is the main fault of the newest run that ended
// before the visit (history.parquet of the run before); at a valve it is
// irrigation_failure. A row that is about nothing known is noted with its line.
//
// # Hit rates
//
// Per detector: a hit when a fault was found where it had sent the crew (named: that
// very fault), a miss when nothing was wrong. not_seen and could_not_reach are neither;
// nor is a sound probe beside the fault of its logger, found on the same visit. A row
// counts once a detector. The interval is Wilson's (1927) at 95 %.
//
// In the ranking a confidence c becomes (Weight·c + hits) / (Weight + hits + misses):
// the mean of a beta distribution of which the detector's own word is worth Weight (8)
// visits, kept within a quarter of c and Highest (0.99). findings.csv keeps c. A visit
// that found nothing wrong where the finding stood already divides its odds by Doubt
// (4): a crew misses a fault that comes and goes about one time in four (common
// practice, no source, as is the weight).
//
// # Mended
//
// A row with the outcome repaired and a fault, or replaced, ends what its subject showed
// before the work was done: visited_on and the minutes; a day
// without an hour is over at the next midnight at the farm. A probe's mend covers all of
// its faults but those of the register, since the crew stood there; a logger's covers
// its own and what judge.Masks lets them explain on its probes; a valve's its zone's.
// Faults of the register end when the register does: until then the run says that it
// still says so.
//
// A finding that began before the work and goes on after it may be evidence from after
// it, or the memory of the detector. So the detectors look again at the readings since
// the work alone: what they find there is a finding of its own (the fault is back), and
// otherwise the finding ends with the work. (A probe that was to answer water again has
// nothing to be held against since the work: it is back after two waterings that half
// of its zone's others answered and it did not.) What ended with it is listed as explained
// by the visit and makes no verdict. A fault that is back continues its visit.
//
// # Watch
//
// A mended probe is watched until it has proven itself:
//   - by readings without the fault: three times the mean clean stretch between the
//     fault's shows while it stood, and ten of the probe's own steps at least. With
//     shows at random, the chance of none in three mean intervals is e⁻³, 5 % (the rule
//     of three; Hanley & Lippman-Hand 1983). Four weeks at most;
//   - after a fault of the answer to water, also by a watering of its zone that it
//     answered: a rise of one and a half times what quiet time brings.
//
// # Nothing wrong
//
// Once: the odds above. Twice at one finding: it leaves the queue, and stays in
// findings.csv and in its verdict, until its evidence has grown since the last such
// visit: half the doubt (1 − confidence) or twice the distance from the threshold
// (Grown), or four times the time it stands (GrownTime: time alone says the same for
// longer). The evidence at that visit is carried from run to run
// in quiet.csv. A fault that has not shown
// since such a visit leaves the queue after the first; a finding that visits and hit
// rates have brought below one half (more likely nothing than something) waits there
// too, for as long.
package feedback
