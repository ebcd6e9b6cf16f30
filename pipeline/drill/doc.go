// Package drill puts known faults into a farm's own fit probes and looks whether the
// scan finds them. It answers what this scan can and cannot see on this farm, with
// these exports and logs.
//
// # How
//
// The scan runs once as it is. Of the probes that it calls fit, some are chosen by the
// seed for each form of a fault, each class of depth and each kind of sensor. The
// fault goes into a copy of the probe's readings, from a known hour on, in one of three
// strengths; the copy is rounded to the probe's own steps and ends where its scale
// ends. Then the probe is examined again, its logger, its zone and the farm are
// corroborated again, and all is judged again. Trials that share neither a logger nor a
// zone are judged together, so that siblings stay healthy and time is saved.
//
// A trial counts as found when the fault is found under its own name, on the right
// subject, unmasked, and while it lasted; as named when it is also what makes the
// verdict. The delay is from the hour of the fault to the first reading that the finding
// names. A false alarm is a finding on anything that was not touched, which the plain
// run does not have.
//
// # Where the formulas come from
//
// They are this package's own: simple, written beside each form, and they share no
// threshold with any detector. Granular blocks are carried between kPa and ohms by
// Shock, Barnum & Seddigh (1998) at 24 degC, with a straight line below 10 kPa.
//
// # What it cannot say
//
// An injected fault is simple: it begins at one hour, follows one formula, and comes
// alone. A natural one is messier, and may be found less often or sooner. Faults that
// no formula here makes are not tried at all. The probes were chosen among those that
// the scan already calls fit, so a fault that it never sees may be among them. Trials
// on one probe are not independent; the intervals take them to be.
package drill
