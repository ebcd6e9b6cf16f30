// Package loggersilent finds loggers that send nothing from any port.
//
// # Looks like
//
// All ports stop together: no value and no blank from any of them, for longer than
// the grace period. Before a dead battery the silences often grow: six hours, ten,
// fourteen, then none but silence; and the battery level sinks. Blanks are speech:
// a logger that writes blanks is alive, whatever is wrong with its ports. A logger
// that the register names and that was never heard in the period is silent too.
//
// # Often mistaken for
//
// One dead port (gap). Records lost one by one on the way. A logger set to a longer
// step: the same silence again and again is its step. A logger installed in the
// middle of the period, or one whose probes were moved to another: it counts only
// while the register has probes at it. Ports of one logger with different steps.
// Records that wait for their handover at the end of the window. A clock that
// jumped away (clock_error): the logger speaks, under stamps that cannot be.
//
// # Needs
//
// The readings of the logger's probes. With battery levels it says what the battery
// did before; with the stamps of all loggers it knows when the farm's data begin, and
// so whether a logger was due before it was first heard, where the register dates
// its probes.
//
// # Thresholds
//
// grace (12 h): restarts and failures of a network mend themselves in an evening, and
// records may wait for their handover; the tolerance of gap, so that no port is
// blamed for its logger. min_missed (3 records of its fastest port): one or two lost
// records prove nothing at a slow step. chance (0.001 a period): a silence counts
// only if records lost one by one, as often as this logger loses them, would give it
// more rarely. step_run (3 silences) with a single record between them, of which
// step_agreement (0.6 of them) are of one length within step_likeness (0.2 of it),
// are a new step. growth_days (7 d): how far back from a silence the growing ones
// before it are looked for. battery_weeks (4 weeks): what the battery is held
// against. register_grace (24 h): the register holds days, not hours. long_hours
// (36 h): from here on a silence is neither a restart nor a handover.
//
// Confidence: 0.95 from long_hours on, 0.8 for a shorter silence that ended, 0.6 for
// a shorter one at the end of the window, 0.8 for a logger never heard; with a
// single port at most 0.7, since the port alone may have died. Judged, not measured.
//
// # What to check at the post
//
// Battery voltage under load and the panel's charge, fuse and cable; then antenna
// and signal; then the card and the clock. Fetch the logger's own memory first: what
// was not sent may still be there.
//
// # Where the idea comes from
//
// Growing holes before a long silence are those of a published rangeland data set,
// in which a logger missed 6, 10 and 14 hours and then nine weeks. Holding all ports
// together is an intersection of their silences by a sweep; the chance of a run of
// lost records is n p^k.
package loggersilent
