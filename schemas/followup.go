package schemas

// The tables that follow a probe through its days, its runs, its start and its
// entry in the register.
var (
	// UsableDaily is a row a probe and day with usable readings.
	UsableDaily = Table{Name: "usable_daily", Doc: "what each probe measured each day, over the readings that are not excluded", Files: []string{"usable_daily.parquet"}, Columns: []Column{
		{Name: "day", Type: Time, Required: true, Doc: "the day, from its midnight at the farm"},
		{Name: "zone", Type: Text, Doc: "the irrigation zone"},
		{Name: "block", Type: Text, Doc: "the block"},
		{Name: "depth_cm", Type: Number, Unit: "cm", Doc: "below the surface"},
		{Name: "probe", Type: Text, Required: true, Doc: "the probe"},
		{Name: "unit", Type: Text, Required: true, Doc: "of the values, standard: ohm, kPa (positive when dry), m3/m3 or degC; the register's where it cannot be made standard"},
		{Name: "minimum", Type: Number, Required: true, Doc: "lowest usable value of the day"},
		{Name: "mean", Type: Number, Required: true, Doc: "mean of the usable values"},
		{Name: "maximum", Type: Number, Required: true, Doc: "highest usable value of the day"},
		{Name: "last", Type: Number, Required: true, Doc: "newest usable value of the day"},
		{Name: "readings", Type: Integer, Required: true, Doc: "usable readings of the day"},
		{Name: "excluded", Type: Integer, Required: true, Doc: "readings of the day that are left out"},
	}}

	// Installs is a row a probe that is new.
	Installs = Table{Name: "installs", Doc: "probes that are new since the run before, or still settling, and whether they came up as registered", Files: []string{"installs.csv"}, Columns: []Column{
		{Name: "probe", Type: Text, Required: true, Doc: "the probe"},
		{Name: "installed_on", Type: Time, Doc: "when it went into the ground, as registered"},
		{Name: "first_reading", Type: Time, Doc: "its first value since"},
		{Name: "hours_to_first", Type: Number, Unit: "h", Doc: "from the one to the other"},
		{Name: "on_registered_port", Type: Boolean, Doc: "its values came on the port that the register names; empty: none came"},
		{Name: "fits_kind", Type: Boolean, Doc: "the values are such as its kind of sensor gives; empty: not evaluated"},
		{Name: "usable_from", Type: Time, Doc: "when its settling time is over"},
		{Name: "accepted", Type: Boolean, Required: true, Doc: "it reports, as its kind, and nothing else is wrong: only time is wanting, or nothing"},
		{Name: "why", Type: Text, Required: true, Doc: "in words"},
	}}

	// RegisterMends is a row a problem of the register.
	RegisterMends = Table{Name: "register", Doc: "what is wrong in the register, and the row that would mend it", Files: []string{"register.csv"}, Columns: []Column{
		{Name: "severity", Type: Text, Required: true, Doc: "error: something cannot be judged or is judged wrongly; warning: something looks odd"},
		{Name: "subject", Type: Text, Required: true, Doc: "probe, logger, port or row"},
		{Name: "name", Type: Text, Required: true, Doc: "the subject's name; of a row its file and line"},
		{Name: "problem", Type: Text, Required: true, Doc: "in words"},
		{Name: "evidence", Type: Text, Doc: "what says so"},
		{Name: "suggested_row", Type: Text, Doc: "the row of the probes table that would agree with the data, in the order of its columns (probeward schema probes); to be checked by a person"},
	}}

	// Quiet is a row a finding that visits took out of the queue.
	Quiet = Table{Name: "quiet", Doc: "findings that would make a visit and wait, since visits found nothing wrong; they come back when their evidence grows", Files: []string{"quiet.csv"}, Columns: []Column{
		{Name: "subject", Type: Text, Required: true, Doc: "probe, logger or zone"},
		{Name: "name", Type: Text, Required: true, Doc: "the subject's name"},
		{Name: "fault", Type: Text, Required: true, Doc: "the fault"},
		{Name: "visits", Type: Integer, Required: true, Doc: "visits that found nothing wrong"},
		{Name: "last_visit", Type: Time, Required: true, Doc: "the newest of them"},
		{Name: "confidence", Type: Number, Doc: "of the finding in the run that sent that visit, 0 to 1"},
		{Name: "distance", Type: Number, Doc: "of what was measured from the threshold in that run, in the finding's unit"},
		{Name: "why", Type: Text, Required: true, Doc: "in words"},
	}}

	// History is a row a probe and run.
	History = Table{Name: "history", Doc: "the verdict of each probe in each run, carried on from the run before", Files: []string{"history.parquet"}, Columns: []Column{
		{Name: "window_start", Type: Time, Required: true, Doc: "of the run"},
		{Name: "window_end", Type: Time, Required: true, Doc: "of the run; a run with the same window replaces the earlier one's rows"},
		{Name: "probe", Type: Text, Required: true, Doc: "the probe"},
		{Name: "zone", Type: Text, Doc: "its irrigation zone then"},
		{Name: "verdict", Type: Text, Required: true, Doc: "the verdict"},
		{Name: "main_fault", Type: Text, Doc: "its main fault"},
		{Name: "usable_share", Type: Number, Doc: "usable of expected readings, 0 to 1"},
	}}
)
