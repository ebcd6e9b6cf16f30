package score

import (
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Groups of bad readings.
const (
	Electrical = "electrical"   // values that no soil gives: cables, supply, impossible readings
	Response   = "response"     // plausible values that are not the soil's
	Suspect    = "suspect only" // faults whose readings the table of faults calls suspect, not failed
)

var groups = map[string]string{
	"open_circuit": Electrical, "short_circuit": Electrical, "cable_damage": Electrical, "out_of_range": Electrical, "logger_power": Electrical,
	"dry_out_spike": Response, "missing_irrigation_response": Response, "flat_line": Response, "lost_suction": Response,
	"wrong_kind": Response, "duplicate_series": Response,
}

// Names of the classes of good readings.
const (
	goodHealthy = "healthy probes"
	goodBefore  = "before the fault began"
	goodAfter   = "after the fault ended"
)

// readings counts the good readings that are left out, and the bad ones.
func (w *work) readings() {
	for name := range w.run.Probes {
		w.readingsOf(name)
	}
}

func (w *work) readingsOf(name string) {
	faults := w.faultsOn(name)
	if slices.ContainsFunc(faults, func(f *Fault) bool { return f.Fault == "clock_error" }) {
		return // which of its readings are good depends on stamps that are not the true ones
	}
	onset, end := int64(math.MaxInt64), int64(math.MinInt64)
	for _, f := range faults {
		onset, end = min(onset, f.Start), max(end, f.End)
	}
	bad := w.truth.Bad[name]
	out := w.run.Exclusions[name]
	add := func(to map[string]Share, key string, excluded bool) {
		s := to[key]
		s.Of++
		if excluded {
			s.N++
		}
		to[key] = s
	}
	for _, t := range w.run.Readings[name].Time {
		if !w.run.Window.Holds(t) {
			continue
		}
		excluded := holds(out, t)
		if w.truth.Healthy[name] {
			add(w.tally.Good, goodHealthy, excluded)
			continue
		}
		if _, is := slices.BinarySearch(bad, t); is {
			if f := causing(faults, t); f != nil {
				group := groups[f.Fault]
				if group == "" {
					group = Suspect
				}
				add(w.tally.Bad, group, excluded)
				row := w.tally.fault(f)
				row.Bad.Of++
				if excluded {
					row.Bad.N++
				}
			}
			continue
		}
		switch {
		case t < onset:
			add(w.tally.Good, goodBefore, excluded)
		case t >= end:
			add(w.tally.Good, goodAfter, excluded)
		}
	}
}

// causing is the fault that holds at an instant, the probe's own before its logger's.
func causing(faults []*Fault, t int64) *Fault {
	for _, f := range faults {
		if f.Subject == schemas.SubjectProbe && f.Holds(t) {
			return f
		}
	}
	for _, f := range faults {
		if f.Holds(t) {
			return f
		}
	}
	return nil
}

// holds says whether an instant lies in one of some sorted, disjoint spans.
func holds(spans []detect.Span, t int64) bool {
	n, _ := slices.BinarySearchFunc(spans, t, func(s detect.Span, t int64) int {
		if s.End <= t {
			return -1
		}
		return 1
	})
	return n < len(spans) && spans[n].Holds(t)
}
