package detect

// Maybe is a value that may be absent. Absent is not zero.
type Maybe[T any] struct {
	V  T
	OK bool
}

// Some is a value that is there.
func Some[T any](v T) Maybe[T] { return Maybe[T]{V: v, OK: true} }

// Kind is the kind of sensor in the register.
type Kind string

// The kinds.
const (
	GranularMatrix  Kind = "granular_matrix"
	Tensiometer     Kind = "tensiometer"
	Dielectric      Kind = "dielectric"
	SoilTemperature Kind = "soil_temperature"
	Other           Kind = "other"
)

// Quantity is what a series holds once its unit is made standard.
type Quantity uint8

// The quantities. Raw is a count or a voltage that no scale turns into anything.
const (
	Raw          Quantity = iota
	Ohms                  // ohm
	Tension               // kPa, positive when dry
	WaterContent          // m3/m3
	Celsius               // degC
)

// Unit in which values of the quantity are held and printed.
func (q Quantity) Unit() string {
	return [...]string{"raw", "ohm", "kPa", "m3/m3", "degC"}[q]
}

// Wiring says at which logger and port a probe was, and when.
type Wiring struct {
	Logger, Port string
	Span
}

// Moist says whether the quantity tells of soil water.
func (q Quantity) Moist() bool { return q == Ohms || q == Tension || q == WaterContent }

// Probe is what the register knows about a probe. Text that the register leaves
// empty is empty here.
type Probe struct {
	Index    int // its place in the register, sorted by name
	Name     string
	Farm     string
	Block    string
	Zone     string
	Post     string
	Kind     Kind
	Unit     string   // as exported
	Quantity Quantity // after the unit is made standard
	Scale    float64  // standard value = Scale × (exported − Offset)
	Offset   float64
	Wirings  []Wiring // sorted by start

	DepthCM       Maybe[float64]
	Texture       string
	InstalledOn   Maybe[int64]
	RemovedOn     Maybe[int64]
	Conditioned   Maybe[bool]
	CableM        Maybe[float64]
	ReferenceTemp Maybe[float64] // the temperature that a kPa export's conversion assumed, degC
}

// Moisture says whether the probe measures soil water at all.
func (p *Probe) Moisture() bool {
	return p.Kind == GranularMatrix || p.Kind == Tensiometer || p.Kind == Dielectric
}

// TellsWater says whether its values tell how much: of a moisture probe, and made
// standard.
func (p *Probe) TellsWater() bool { return p.Moisture() && p.Quantity.Moist() }

// Series is one probe's readings in time order, no stamp twice, from the start of
// the look-back to the end of the window. Blanks are stamps at which the logger
// spoke and this port gave no value: they are not in Time, so no detector can
// read them as a value.
type Series struct {
	Time        []int64   // strictly increasing
	Value       []float64 // in the standard unit of the quantity, finite
	Temperature []float32 // degC beside each value, NaN where there is none; nil when there is none at all
	Battery     []float32 // V beside each value, NaN where there is none; nil when there is none at all
	Blank       []int64   // strictly increasing
	Coded       []Coded   // stamps at which the logger wrote a fault code, sorted
}

// Coded is a fault code that a logger wrote in place of a value, as configured.
type Coded struct {
	Time int64
	Code uint8 // schemas.CodeOpen, CodeShort or CodeFault
}

// Water is one watering of a zone, or one spell of rain.
type Water struct {
	Span
	MM Maybe[float64] // applied or fallen depth
}

// Demand is the reference evapotranspiration of a stretch of time.
type Demand struct {
	Span
	MM float64
}

// Context is what is known beside the readings: about the probe's zone, the
// weather, and the farm's data as a whole.
type Context struct {
	Irrigation    []Water // of the probe's zone, sorted by start, not overlapping
	HasIrrigation bool    // a log exists and names this zone
	Rain          []Water // sorted
	HasRain       bool
	Demand        []Demand // sorted
	HasDemand     bool
	// ScaleEnd is the value, in the standard unit, that many probes of this
	// quantity reach and none passes: the dry end of the exported scale.
	ScaleEnd Maybe[float64]
	// Siblings counts the other moisture probes of the zone that have readings.
	Siblings int
}

// Period is what a run looks at: the window that it judges, and the look-back
// before it. Window.End is the run's until.
type Period struct {
	Window   Span
	Lookback int64 // start of the look-back, at or before Window.Start
}

// Whole is the look-back and the window together.
func (p Period) Whole() Span { return Span{p.Lookback, p.Window.End} }
