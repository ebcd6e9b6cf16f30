// Package detecttest holds every detector to the same laws. A detector's test is
// one line:
//
//	func TestDetector(t *testing.T) { detecttest.Run(t, Detector) }
//
// It reads the folder testdata beside that test. The end of a file's name is the
// answer that it must get: NAME.find.csv, NAME.clear.csv (a healthy look-alike) or
// NAME.skip.csv (not evaluated). All three must be there.
//
// # A case
//
// A case is one CSV with comment lines that say what is known, and one section a
// probe:
//
//	# period: lookback=2026-04-06 window=2026-06-01/2026-06-08
//	# cadence: 15m
//	# water: 2026-06-02T06:00Z/2026-06-02T12:00Z 12
//	# rain: 2026-06-03T00:00Z/2026-06-03T05:00Z 8
//	# demand: 6
//	# scale_end: 239
//	# probe: name=A kind=granular_matrix unit=kPa depth_cm=60 logger=L1 port=1
//	time,value,temperature_c,want
//	2026-06-01T00:00Z,30+0.05x96~0.2,18,
//	,120x4,18,find
//
// water, rain (start/end and mm) and demand (mm a day) may be left out, and then
// they are absent. "# water: none" is a log in which the zone was not watered. A
// row whose time is empty goes on from the row before, at the cadence.
//
// A value is one or more terms with blanks between:
//
//	30          one reading of 30
//	30x96       96 readings of 30
//	30+0.05x96  96 readings from 30 in steps of 0.05 (minus: 30-0.05x96)
//	30*0.99x96  96 readings from 30, each 0.99 of the one before
//	30^2@14x96  96 readings around 30 that swing by 2 over the day, highest at 14:00 UTC
//	…~0.2       the same, with scatter of up to 0.2 either way: fixed, never random
//	_x10        ten blanks: the port was heard and gave nothing
//	.x10        ten readings that never came
//	!open       the logger's own fault code (also !short, !fault)
//
// temperature_c and battery_v hold for all of a row's readings; they may swing (18^3@15).
//
// In find cases, a row's want cell says what the detector must find there: "find",
// or a fault's name where a detector has several. A finding belongs to the row in
// which it starts. Behind the word may stand "open" (it still stands at the end),
// "sure" (confidence of at least schemas.Sureness) or "unsure". Every finding must
// be wanted and every want found. In skip cases a comment says why:
//
//	# want: absent       (or: too short, no chance)
//
// For a group detector all sections are members of one group, and the file names
// it; a find case says in a comment which members the finding must touch:
//
//	# group: logger L1
//	# stamps: file=a.csv cadence=15m segments=2-75@2026-05-01T00:00Z/2026-05-02T00:00Z,76-90@2057-01-01T00:00Z/2057-01-02T00:00Z
//	# farm: 2026-04-01/2026-06-08 loggers=6
//	# contradictions: 2026-06-02T00:00Z/2026-06-02T06:00Z
//	# want: find start=2026-06-02T00:00Z touches=A,B
//
// contradictions are the stamps (at the cadence) for which the logger's files give
// two values; "none" says that there are none, and no such line that nobody looked.
//
// A file with a second clock has "by=device" where the readings have the device's
// stamps, and "lags=-57m@START/END*86:90,...": the shift, its span by the receiver's
// clock, its messages and all of that time.
//
// A probe with elsewhere=yes is of the farm and not of the group: a logger's daily
// swings are held against those of its logger.
//
// The group is a logger, a zone or a farm. A farm's zones are named, each before the
// waterings that its log has:
//
//	# group: farm F
//	# zone: Z1
//	# water: 2026-06-02T06:00Z/2026-06-02T12:00Z 12
//	# zone: Z2
//	# water: none
package detecttest
