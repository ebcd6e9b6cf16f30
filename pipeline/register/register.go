package register

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
	"probeward/schemas"
)

// Note is what the register's reader has to say about a row.
type Note = table.Note

// Register is the farm's probes and loggers, as the tables declare them.
type Register struct {
	Probes   []detect.Probe // one a probe name, sorted by name; Index is the place
	Details  []Detail       // at the same places
	Loggers  []Logger       // sorted by name
	Notes    []Note         // sorted by file, line and column
	Rejected int            // rows of the probes table that could not be used

	names  map[string]int
	folded map[string][]string // names by what is left of them in table.Fold
	claims map[socket][]Claim
	ports  map[string][]string
	known  map[string]bool
}

// Row is one usable row of the probes table. Text that is empty there is empty here.
type Row struct {
	Line                                 int
	Probe, Farm, Logger, Port, Post, Tag string
	Row, Block, Zone                     string
	Latitude, Longitude, DepthCM         detect.Maybe[float64]
	Kind, Unit                           string // as written
	ValidFrom, ValidTo                   detect.Maybe[int64]
	Adrift                               bool // valid_from or valid_to stands there and cannot be read: the wiring does not count
	InstalledOn, RemovedOn               detect.Maybe[int64]
	SoilTexture                          string
	Conditioned                          detect.Maybe[bool]
	Splice, CableProtection              string
	CableM                               detect.Maybe[float64]
	CableAWG                             detect.Maybe[int64]
	EmitterOffsetCM, AreaHA              detect.Maybe[float64]
	Scale, Offset                        detect.Maybe[float64]
	Conversion                           string
	ReferenceTempC                       detect.Maybe[float64]
	TemperatureProbe, Serial             string
	WarrantyUntil                        detect.Maybe[int64]
	Note                                 string
	Cells                                map[string]string // by column, as written; empty cells left out
}

// Detail is what the register knows of a probe beside what detectors see.
type Detail struct {
	Tag, Row                string
	Latitude, Longitude     detect.Maybe[float64] // deg, WGS 84; both or none
	AreaHA                  detect.Maybe[float64]
	EmitterOffsetCM         detect.Maybe[float64]
	Splice, CableProtection string
	CableAWG                detect.Maybe[int64]
	Conversion              string // how a kPa export was made from ohms
	TemperatureProbe        string // its name in the register
	Serial                  string
	WarrantyUntil           detect.Maybe[int64]
	Note                    string
	Rows                    []Row // the probe's rows, oldest first
}

// Logger is where one logger stands.
type Logger struct {
	Name, Post          string
	Latitude, Longitude detect.Maybe[float64] // deg, WGS 84; both or none
	Serial, Note        string
	Listed              bool // in the loggers table; else known from the probes alone
}

type socket struct{ logger, port string }

// Claim says that a probe holds a logger's port for a time.
type Claim struct {
	Probe int // place in Probes
	detect.Span
}

// Load reads the register; loggersPath may be empty. zone is where stamps without
// an offset are taken from. The error says that a table cannot be read, or that no
// row of the register can be used; everything else is in Notes.
func Load(probesPath, loggersPath string, zone *time.Location) (*Register, error) {
	if probesPath == "" {
		return nil, fmt.Errorf("there is no register: write a probes.csv with the columns probe, kind and unit (%s; %s), one row a probe",
			strings.Join(kinds, ", "), strings.Join(units, ", "))
	}
	probes, err := table.Load(probesPath, schemas.Probes, zone)
	if err != nil {
		return nil, fmt.Errorf("register: %w", err)
	}
	var loggers *table.File
	if loggersPath != "" {
		if loggers, err = table.Load(loggersPath, schemas.Loggers, zone); err != nil {
			return nil, fmt.Errorf("loggers: %w", err)
		}
	}
	return build(probes, loggers)
}

// build makes the register of the tables as read; loggers may be nil.
func build(probes, loggers *table.File) (*Register, error) {
	r := &Register{Notes: probes.Notes, Rejected: probes.Rejected}
	rows := r.rows(probes)
	if len(rows) == 0 {
		return nil, fmt.Errorf("register: %s has no usable row: each needs probe, kind (%s) and unit (%s)%s",
			probes.Name, strings.Join(kinds, ", "), strings.Join(units, ", "), first(probes.Notes))
	}
	r.lacks(probes)
	r.merge(probes.Name, rows)
	r.index(probes.Name)
	r.gather(loggers, probes.Name)
	r.pairs(probes.Name)
	table.SortNotes(r.Notes)
	return r, nil
}

// first cites the first error among the notes.
func first(notes []Note) string {
	for _, n := range notes {
		if n.Severity == table.Error {
			return fmt.Sprintf("; line %d: %s", n.Line, n.Problem)
		}
	}
	return ""
}

// Named finds a probe by its exact name.
func (r *Register) Named(name string) (int, bool) { i, ok := r.names[name]; return i, ok }

// At gives who holds a logger's port, sorted by start; open ends are
// math.MinInt64 and math.MaxInt64.
func (r *Register) At(logger, port string) []Claim { return r.claims[socket{logger, port}] }

// HasLogger says whether the register or the loggers table names the logger.
func (r *Register) HasLogger(name string) bool {
	_, ok := slices.BinarySearchFunc(r.Loggers, name, func(l Logger, n string) int { return strings.Compare(l.Name, n) })
	return ok
}

// PortsOf lists the ports of a logger that probes hold at some time, sorted.
func (r *Register) PortsOf(logger string) []string { return r.ports[logger] }

// KnowsPort says whether any logger has a port of that name.
func (r *Register) KnowsPort(port string) bool { return r.known[port] }

// Nearest gives the registered probe name that was probably meant: the only one
// that differs from name in case, blanks, hyphens, underscores or points alone.
func (r *Register) Nearest(name string) (string, bool) {
	same := r.folded[table.Fold(name)]
	if len(same) != 1 || same[0] == name {
		return "", false
	}
	return same[0], true
}
