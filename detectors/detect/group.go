package detect

// Hole is a stretch without a value from a probe, or without a word from its port.
type Hole struct {
	Span         // from the last reading before it to the first after it, or the edge of the period
	Blanked bool // the logger kept speaking and gave blanks
}

// Excursion is a stretch in which a probe's readings stood at one impossible or
// dead value, entered and left by a jump that no soil makes.
type Excursion struct {
	Span
	Value    float64 // standard unit: the median of the stretch
	Readings int
	Open     bool // it still stands at the end of the series
}

// Wetting is one time that a probe wetted, as its turning points show it.
type Wetting struct {
	Onset, Peak int64
	Rise        float64 // in wetness
}

// Level is the lowest battery of one day.
type Level struct {
	Time  int64
	Volts float64
}

// DayLevel is what one UTC day of a probe's readings leaves.
type DayLevel struct {
	Start int64 // of the day
	// Readings with a value within the probe's limits, and their median, least and
	// greatest in the standard unit. Without one there is no level: all are zero.
	Readings         int
	Median, Min, Max float64
	// Values counts all readings with a value, Changes those that differ from the
	// one before them in the day, Distinct how many of at most MaxDistinct values
	// there are. Digest is a hash of all of them and of their stamps: equal for two
	// probes that said the same at the same times, and else equal by a chance of
	// one in 2^64.
	Values, Changes, Distinct int
	Digest                    uint64
}

// MaxDistinct is up to where the distinct values of a day are counted.
const MaxDistinct = 32

// Summary is what a probe's series leaves for the group detectors: small, and the
// same whoever made it.
type Summary struct {
	Probe       Probe
	Period      Period
	Cadence     int64 // median step between stamps, blanks included; 0 when unknown
	First, Last Maybe[int64]
	Values      int // readings with a value
	Blanks      int
	// Silences are the holes in what the port said at all, blanks counted as
	// speech, longer than one and a half cadences; sorted.
	Silences   []Hole
	Excursions []Excursion // sorted
	Wettings   []Wetting   // sorted; empty when the probe measures no moisture
	Battery    []Level     // sorted
	Daily      []DayLevel  // days with a value, sorted
	Quantum    float64     // resolution of the values, as the data show it; 0 when they show none
	Prints     []Print     // fingerprints of its changes of value, sorted
	Waterings  Waterings   // what it did at the waterings of its zone
	Swings     Swings      // its daily swings, and its logger's
}

// Segment is a stretch of lines of one file whose stamps run forward in steps that
// a logger makes.
type Segment struct {
	FromLine, ToLine int // both included
	Rows             int
	First, Last      int64 // stamps
}

// Stamps is one file's digest of its stamps in the order written, taken before
// sorting and joining.
type Stamps struct {
	File    string
	Logger  string
	Rows    int
	Cadence int64 // median step
	// Segments, split where a stamp steps backwards, or forward by more than a
	// day and ten cadences. At most MaxSegments; then Unordered.
	Segments []Segment
	// Repeats counts rows whose stamp equals the one before.
	Repeats int
	// Lags say how far the device's clock stood from that of what received its
	// messages, where the file has both; sorted by start.
	Lags []Lag
	// ByDevice: the readings have the device's stamps; else the receiver's, where
	// there are Lags.
	ByDevice bool
	// Unordered: so many backward steps that the file was sorted or shuffled on
	// its way (as text, say); its order proves nothing about a clock.
	Unordered bool
}

// Lag is a stretch of messages that stood equally far from the clock of what
// received them.
type Lag struct {
	Span        // by the receiver's clock: the first message and the last
	Shift int64 // device's stamp minus receiver's; mean
	Rows  int   // messages
	Among int   // messages of the file from the first of them to the last
}

// MaxLags is how many stretches a file's digest keeps.
const MaxLags = 256

// MaxSegments is how many segments a file's digest keeps.
const MaxSegments = 64

// Group is what a group detector is about: a logger, a zone or the farm, and its
// probes.
type Group struct {
	Scope   Scope
	Name    string
	Period  Period
	Members []Summary // sorted by probe name
	// Stamps of the logger's files, sorted by file; nil when the input has no order.
	Stamps []Stamps
	// Contradictions are the stamps at which the logger's files give two different
	// values for one probe, sorted: a clock that was set back writes its hours twice,
	// rows that only stand out of order do not. Nil when nobody looked.
	Contradictions []int64
	// Farm is the span in which most loggers of the farm report, as the stamps of
	// all files show it: what a stamp can be held against.
	Farm Span
	// Loggers counts the loggers that the farm's span was drawn from.
	Loggers int
	// Beats say by how much a logger's daily swings come ahead of those of the farm.
	Beats      []Beat
	Irrigation []Water // of the zone; nil when no log names it
	Rain       []Water
	HasRain    bool // a dry record is not the same as none
	// Zones are the waterings of every zone that the log names, sorted; of a farm.
	Zones map[string][]Water
}
