package simulate

import (
	"cmp"
	"errors"
	"fmt"
	"time"
	_ "time/tzdata" // the stamps must not depend on the machine's zone files
)

// Timezone is that of the farm's clocks.
const Timezone = "America/Los_Angeles"

// columnStep is the time step of the soil columns; a cadence is a multiple of it.
const columnStep = 5 * time.Minute

// Options say what to invent. A zero field takes the default of Defaults, but
// for Faults, whose zero is a healthy farm.
type Options struct {
	Seed    uint64
	Probes  int           // moisture probes in the register, at least 4
	Weeks   int           // length of the record, at least 2
	Start   time.Time     // first reading, cut to the hour
	Cadence time.Duration // of most loggers; some write half as often
	Faults  bool          // inject faults
	Measure bool          // faults of every form from hardly visible to gross, on more probes; look-alikes by seed
	Export  string        // mixed, kPa, ohm or vwc: what the loggers write
	Shape   string        // mixed, long or wide: how they write it
	Workers int           // loggers written at a time; changes no byte
}

// Defaults is the vineyard of the demonstration: 120 probes, 8 weeks to look
// back on and 1 to judge, every 15 minutes, with faults.
func Defaults() Options {
	return Options{
		Probes:  120,
		Weeks:   9,
		Start:   time.Date(2026, 4, 6, 7, 0, 0, 0, time.UTC), // midnight of the farm
		Cadence: 15 * time.Minute,
		Faults:  true,
		Export:  "mixed",
		Shape:   "mixed",
	}
}

// Summary counts what was written.
type Summary struct {
	Probes   int       // in the register
	Loggers  int       //
	Readings int       // distinct ones with a value; what is written twice counts once
	Faults   int       // injected
	Until    time.Time // end of the record, not included
}

func (o Options) filled() (Options, error) {
	d := Defaults()
	o.Probes, o.Weeks = cmp.Or(o.Probes, d.Probes), cmp.Or(o.Weeks, d.Weeks)
	if o.Start.IsZero() {
		o.Start = d.Start
	}
	o.Cadence, o.Export, o.Shape = cmp.Or(o.Cadence, d.Cadence), cmp.Or(o.Export, d.Export), cmp.Or(o.Shape, d.Shape)
	o.Start = o.Start.UTC().Truncate(time.Hour)

	var errs []error
	if o.Probes < 4 || o.Probes > 20000 {
		errs = append(errs, fmt.Errorf("cannot simulate %d probes; choose 4 to 20000", o.Probes))
	}
	if o.Weeks < 2 || o.Weeks > 52 {
		errs = append(errs, fmt.Errorf("cannot simulate %d weeks; choose 2 to 52", o.Weeks))
	}
	if o.Cadence < columnStep || o.Cadence > time.Hour || time.Hour%o.Cadence != 0 || o.Cadence%columnStep != 0 {
		errs = append(errs, fmt.Errorf("cannot simulate a reading every %v; choose 5, 10, 15, 20, 30 or 60 minutes", o.Cadence))
	}
	if !oneOf(o.Export, "mixed", "kPa", "ohm", "vwc") {
		errs = append(errs, fmt.Errorf("no export is called %q; choose mixed, kPa, ohm or vwc", o.Export))
	}
	if !oneOf(o.Shape, "mixed", "long", "wide") {
		errs = append(errs, fmt.Errorf("no shape is called %q; choose mixed, long or wide", o.Shape))
	}
	return o, errors.Join(errs...)
}

func (o Options) until() time.Time { return o.Start.AddDate(0, 0, 7*o.Weeks) }

func oneOf(s string, choices ...string) bool {
	for _, c := range choices {
		if s == c {
			return true
		}
	}
	return false
}
