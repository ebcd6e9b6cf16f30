package simulate

import (
	"sync"
	"time"
)

// Vineyard is an invented farm: where everything stands, when water came, and
// what is wrong. Indices join its slices.
type Vineyard struct {
	Farm         string
	Start, Until time.Time // the record, half-open
	Zones        []Zone
	Posts        []Post
	Positions    []Position
	Probes       []Probe
	Faults       []Fault

	options Options
	sky     climate
}

// Zone is what one valve waters.
type Zone struct {
	Name, Block, Texture string
	AreaHa               float64
	EveryDays            float64 // between waterings, on average
	RateMMPerHour        float64 // over the zone's area
	Replaced             float64 // share of the vines' demand that a watering gives back
	OpensAt              float64 // hour of the farm's day
	Waterings            []Watering
	Look                 string // the look-alike that all of it is; empty: none
}

// Watering is one opening of a valve. A healthy one is logged and delivered.
type Watering struct {
	Start, End time.Time
	DepthMM    float64
	Logged     bool
	Delivered  bool
	Lost       float64       // share of a delivered one that did not come
	LoggedSoon time.Duration // by how much the log has it too early
}

// Post carries one logger and its probes, all of one kind.
type Post struct {
	Name, Tag, Row      string
	Logger, Serial      string
	Zone                int // of Zones
	Latitude, Longitude float64
	Cadence             time.Duration
	Long                bool      // layout of its exports
	BatteryV, SwingV    float64   // at night, and what the sun adds
	HoleShare           float64   // of readings lost on the way
	Look                string    // the look-alike that all of its probes are; empty: none
	ChangedAt           time.Time // its cadence did then; zero: never
	Slower, WasSlower   int       // then, and until then: one reading in so many was kept
	Resends             bool      // much of what it sent came twice

	model model
}

// Position is one hole's worth of soil at a post, with probes at some depths.
type Position struct {
	Post      int       // of Posts
	Coupling  float64   // the zone's water here as a multiple of its mean: above 1 in the bulb, near 0 outside
	Uptake    float64   // the same of the vines' demand
	Macropore float64   // share of the water that runs down cracks at once
	Swing     float64   // daily temperature swing as a multiple of the usual
	DripMM    float64   // an hour, from an emitter right above
	ClogsAt   time.Time // its emitter does; zero: never

	texture textureDraw
}

// textureDraw is how this hole's soil differs from the block's mean soil.
type textureDraw struct{ alpha, n, ks float64 }

// Probe is one row of the register. Where a port was re-used, two probes share it.
type Probe struct {
	Name, Port       string
	Post, Position   int
	DepthCM          int
	Kind, Unit       string
	Serial           string
	RegisteredZone   int // as the register says; the post's own is the true one
	Installed        time.Time
	ValidFrom        time.Time // zero: from before the record
	ValidTo          time.Time // zero: still so
	Meant            string    // the look-alike it was laid out to be; whether it became one shows afterwards
	Predecessor      bool
	wrongBlock       bool // the register has the block of the registered zone, not its own
	offset, noise    float64
	lagHours, deadAt float64
	hotPerC          float64 // share of the reading, or m3/m3, for each degC of its cable in the air
}

// Fault is one injected fault. Visible and Why are known once the farm has run.
type Fault struct {
	Subject  string // probe, logger or zone
	Name     string // of the subject
	Probe    string // empty for a logger or a zone
	Fault    string
	Form     string
	Start    time.Time
	End      time.Time // zero: to the end of the record
	Strength float64   // in the unit that Why names
	Visible  bool
	Why      string

	zone, post, probe int  // -1: none
	peer              int  // the other one of a pair, where the fault is one of two probes
	source            bool // of the pair, the one whose readings are its own
	ports             []int
}

// local is the farm's own zone. Stamps of a wide export are in it without an
// offset, so that a record over the end of summer time has an hour twice, as the
// exports of such loggers do.
var local = sync.OnceValue(func() *time.Location {
	zone, err := time.LoadLocation(Timezone)
	if err != nil {
		panic("the embedded zone table lacks " + Timezone)
	}
	return zone
})

// ends is where a fault ends, or the record.
func (f *Fault) ends(until time.Time) time.Time {
	if f.End.IsZero() || f.End.After(until) {
		return until
	}
	return f.End
}
