package schemas

// The tables that come out, one folder a run.
var (
	// Health is a row a probe.
	Health = Table{Name: "health", Doc: "the state of each probe at the end of the window", Files: []string{"health.csv", "health.parquet"}, Columns: []Column{
		{Name: "farm", Type: Text, Doc: "the farm"},
		{Name: "block", Type: Text, Doc: "the block"},
		{Name: "zone", Type: Text, Doc: "the irrigation zone"},
		{Name: "post", Type: Text, Doc: "the post"},
		{Name: "probe", Type: Text, Required: true, Doc: "the probe"},
		{Name: "logger", Type: Text, Doc: "its logger at the end of the window"},
		{Name: "port", Type: Text, Doc: "its port at the end of the window"},
		{Name: "depth_cm", Type: Number, Unit: "cm", Doc: "below the surface"},
		{Name: "kind", Type: Text, Required: true, Doc: "kind of sensor"},
		{Name: "window_start", Type: Time, Required: true, Doc: "start of what is judged"},
		{Name: "window_end", Type: Time, Required: true, Doc: "end of what is judged, not included"},
		{Name: "readings_expected", Type: Integer, Doc: "at its own cadence, in the window"},
		{Name: "readings_received", Type: Integer, Required: true, Doc: "with a value, in the window"},
		{Name: "readings_rejected", Type: Integer, Required: true, Doc: "read for it and not used, from the look-back on"},
		{Name: "readings_usable", Type: Integer, Required: true, Doc: "received and not excluded"},
		{Name: "usable_share", Type: Number, Doc: "usable of expected, 0 to 1"},
		{Name: "last_reading", Type: Time, Doc: "the last one with a value"},
		{Name: "usable_now", Type: Boolean, Required: true, Doc: "its newest readings may be used"},
		{Name: "verdict", Type: Text, Required: true, Doc: "fit, doubtful, unfit, silent, settling or unknown"},
		{Name: "previous_verdict", Type: Text, Doc: "in the run before"},
		{Name: "main_fault", Type: Text, Doc: "the first of its unmasked faults, or its logger's"},
		{Name: "family", Type: Text, Doc: "of the main fault"},
		{Name: "faults", Type: Text, Doc: "all of them, blank between"},
		{Name: "confidence", Type: Number, Doc: "of the verdict, 0 to 1"},
		{Name: "since", Type: Time, Doc: "when the main fault began"},
		{Name: "detectors_run", Type: Integer, Required: true, Doc: "detectors that reached an answer"},
		{Name: "detectors_not_evaluated", Type: Integer, Required: true, Doc: "detectors that did not"},
		{Name: "not_evaluated_why", Type: Text, Doc: "each of them and its reason"},
		{Name: "rank", Type: Integer, Doc: "of its visit in the queue"},
		{Name: "watch", Type: Text, Doc: "when and what was mended, and what is wanting before it is proven"},
		{Name: "override", Type: Text, Doc: "a person's word that holds at the window's end: action, until when, why"},
	}}

	// Findings is a row a finding.
	Findings = Table{Name: "findings", Doc: "every fault found, and what hides it", Files: []string{"findings.csv", "findings.parquet"}, Columns: []Column{
		{Name: "subject", Type: Text, Required: true, Doc: "probe, logger or zone"},
		{Name: "name", Type: Text, Required: true, Doc: "the subject's name"},
		{Name: "probe", Type: Text, Doc: "empty for a logger or zone"},
		{Name: "fault", Type: Text, Required: true, Doc: "the fault"},
		{Name: "family", Type: Text, Required: true, Doc: "its family"},
		{Name: "start", Type: Time, Required: true, Doc: "when it began"},
		{Name: "end", Type: Time, Doc: "when it ended; empty: it still stands"},
		{Name: "readings", Type: Integer, Required: true, Doc: "readings it touches"},
		{Name: "flag", Type: Integer, Required: true, Doc: "what these readings get; 0: they are true"},
		{Name: "confidence", Type: Number, Required: true, Doc: "0 to 1"},
		{Name: "measured", Type: Number, Doc: "what was measured"},
		{Name: "threshold", Type: Number, Doc: "against what"},
		{Name: "unit", Type: Text, Doc: "of both"},
		{Name: "evidence", Type: Text, Required: true, Doc: "in words"},
		{Name: "detector", Type: Text, Required: true, Doc: "which detector said so"},
		{Name: "masked_by", Type: Text, Doc: "the fault that explains it, and whose"},
	}}

	exclusionColumns = []Column{
		{Name: "probe", Type: Text, Required: true, Doc: "the probe"},
		{Name: "start", Type: Time, Required: true, Doc: "from when"},
		{Name: "end", Type: Time, Required: true, Doc: "until when, not included"},
		{Name: "flag", Type: Integer, Required: true, Doc: "the worst flag within"},
		{Name: "reasons", Type: Text, Required: true, Doc: "the faults, blank between"},
		{Name: "confidence", Type: Number, Required: true, Doc: "the highest of its faults, 0 to 1"},
	}

	// Exclusions is what to leave out: half-open, disjoint, sorted.
	Exclusions = Table{Name: "exclusions", Doc: "the readings to leave out", Files: []string{"exclusions.csv", "exclusions.parquet"}, Columns: exclusionColumns}

	// ExclusionsChanged is what differs from the run before.
	ExclusionsChanged = Table{Name: "exclusions_changed", Doc: "readings newly withdrawn or given back since the run before", Files: []string{"exclusions_changed.csv"}, Columns: []Column{
		{Name: "zone", Type: Text, Doc: "the irrigation zone"},
		{Name: "day", Type: Time, Required: true, Doc: "the day, from its midnight at the farm"},
		{Name: "probe", Type: Text, Required: true, Doc: "the probe"},
		{Name: "change", Type: Text, Required: true, Doc: "withdrawn or restored"},
		{Name: "hours", Type: Number, Unit: "h", Required: true, Doc: "how much of the day"},
		{Name: "reasons", Type: Text, Doc: "the faults, blank between"},
	}}

	// Flags is a row for each reading used.
	Flags = Table{Name: "flags", Doc: "every reading used, with its quality", Files: []string{"flags.parquet"}, Columns: []Column{
		{Name: "time", Type: Time, Required: true, Doc: "when it was measured"},
		{Name: "probe", Type: Text, Required: true, Doc: "the probe"},
		{Name: "value", Type: Number, Doc: "as exported, never changed; empty: a blank"},
		{Name: "unit", Type: Text, Required: true, Doc: "of the value, from the register"},
		{Name: "tension_kpa", Type: Number, Unit: "kPa", Doc: "soil water tension, positive"},
		{Name: "water_content", Type: Number, Unit: "m3/m3", Doc: "volumetric"},
		{Name: "qc_flag", Type: Integer, Required: true, Doc: "1 pass, 2 not evaluated, 3 suspect, 4 fail, 9 missing"},
		{Name: "qc_bits", Type: Integer, Required: true, Doc: "a bit a fault, in the order of the table of faults"},
	}}

	// Coverage is a row a zone and depth.
	Coverage = Table{Name: "coverage", Doc: "what each zone can still be judged by", Files: []string{"coverage.csv"}, Columns: []Column{
		{Name: "zone", Type: Text, Doc: "the irrigation zone"},
		{Name: "block", Type: Text, Doc: "its block"},
		{Name: "depth_cm", Type: Number, Unit: "cm", Doc: "below the surface"},
		{Name: "probes", Type: Integer, Required: true, Doc: "registered and in the ground"},
		{Name: "fit", Type: Integer, Required: true, Doc: "of these"},
		{Name: "doubtful", Type: Integer, Required: true, Doc: "of these"},
		{Name: "unfit", Type: Integer, Required: true, Doc: "of these"},
		{Name: "silent", Type: Integer, Required: true, Doc: "of these"},
		{Name: "settling", Type: Integer, Required: true, Doc: "of these"},
		{Name: "unknown", Type: Integer, Required: true, Doc: "of these"},
		{Name: "usable_days", Type: Integer, Required: true, Doc: "days of the window with a usable probe"},
		{Name: "blind", Type: Boolean, Required: true, Doc: "no probe can be trusted at the window's end"},
		{Name: "blind_since", Type: Time, Doc: "since when"},
		{Name: "last_trusted", Type: Time, Doc: "the last reading that could be trusted"},
	}}

	// Queue is a row a visit.
	Queue = Table{Name: "queue", Doc: "where to go, in which order, and why", Files: []string{"queue.csv"}, Columns: []Column{
		{Name: "rank", Type: Integer, Required: true, Doc: "1 first"},
		{Name: "visit", Type: Text, Required: true, Doc: "the visit's name"},
		{Name: "farm", Type: Text, Doc: "the farm"},
		{Name: "block", Type: Text, Doc: "the block"},
		{Name: "zone", Type: Text, Doc: "the zones, blank between"},
		{Name: "post", Type: Text, Doc: "the post"},
		{Name: "tag", Type: Text, Doc: "what is painted on it"},
		{Name: "row", Type: Text, Doc: "the row of vines"},
		{Name: "latitude", Type: Number, Unit: "deg", Doc: "WGS 84"},
		{Name: "longitude", Type: Number, Unit: "deg", Doc: "WGS 84"},
		{Name: "loggers", Type: Text, Doc: "blank between"},
		{Name: "ports", Type: Text, Doc: "one for each probe; / between"},
		{Name: "probes", Type: Text, Doc: "blank between"},
		{Name: "depths_cm", Type: Text, Unit: "cm", Doc: "one for each probe, blank between"},
		{Name: "suspected_cause", Type: Text, Required: true, Doc: "in words"},
		{Name: "family", Type: Text, Required: true, Doc: "of the main fault"},
		{Name: "faults", Type: Text, Required: true, Doc: "blank between"},
		{Name: "confidence", Type: Number, Required: true, Doc: "that something is wrong there, 0 to 1"},
		{Name: "last_reading", Type: Time, Doc: "the newest of its probes'"},
		{Name: "check", Type: Text, Required: true, Doc: "what to look at, in order"},
		{Name: "bring", Type: Text, Required: true, Doc: "what to take along"},
		{Name: "minutes", Type: Number, Unit: "min", Required: true, Doc: "of work there, driving not counted"},
		{Name: "priority", Type: Number, Required: true, Doc: "what is lost while it stands, per minute of work"},
		{Name: "why", Type: Text, Required: true, Doc: "why it stands at this rank, in words"},
		{Name: "open_since", Type: Time, Doc: "when its oldest fault began"},
		{Name: "runs_open", Type: Integer, Required: true, Doc: "runs in a row in which it was open, this one counted"},
		{Name: "route_order", Type: Integer, Doc: "place on the round"},
	}}

	// Rejects is every row that was not used, and why.
	Rejects = Table{Name: "rejects", Doc: "what was read and not used, and why", Files: []string{"rejects.csv"}, Columns: []Column{
		{Name: "file", Type: Text, Required: true, Doc: "the file"},
		{Name: "line", Type: Integer, Doc: "the line, from 1; the row for Parquet"},
		{Name: "column", Type: Text, Doc: "the column; empty: the whole row"},
		{Name: "why", Type: Text, Required: true, Doc: "why, and what would mend it"},
		{Name: "text", Type: Text, Doc: "what stood there"},
		{Name: "last_line", Type: Integer, Doc: "where one reason holds for a stretch of lines, the last of them"},
		{Name: "readings", Type: Integer, Required: true, Doc: "how many readings this leaves out"},
	}}
)
