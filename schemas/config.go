package schemas

import "time"

// Config is the configuration file, scan.yaml, as written. Its JSON Schema is
// derived from this struct. Durations are written like "7d", "8w" or "36h".
type Config struct {
	Timezone  string                    `yaml:"timezone" json:"timezone,omitempty" jsonschema:"description=the zone of stamps without an offset and of pages; an IANA name,example=America/Los_Angeles"`
	Units     Units                     `yaml:"units" json:"units,omitempty" jsonschema:"description=on pages only"`
	Window    Span                      `yaml:"window" json:"window,omitempty" jsonschema:"description=what is judged: this long before until"`
	Lookback  Span                      `yaml:"lookback" json:"lookback,omitempty" jsonschema:"description=what may be looked at before the window"`
	Readings  []Source                  `yaml:"readings" json:"readings,omitempty" jsonschema:"description=where the exports are and how each kind is laid out"`
	Probes    string                    `yaml:"probes" json:"probes,omitempty" jsonschema:"description=the register"`
	Loggers   string                    `yaml:"loggers" json:"loggers,omitempty"`
	Irrig     string                    `yaml:"irrigation" json:"irrigation,omitempty"`
	Weather   string                    `yaml:"weather" json:"weather,omitempty"`
	Visits    string                    `yaml:"visits" json:"visits,omitempty"`
	Overrides string                    `yaml:"overrides" json:"overrides,omitempty"`
	Detectors map[string]map[string]any `yaml:"detectors" json:"detectors,omitempty" jsonschema:"description=parameters by detector"`
}

// Units are those of the pages; tables keep theirs.
type Units struct {
	Depth string `yaml:"depth" json:"depth,omitempty" jsonschema:"enum=cm,enum=in"`
	Area  string `yaml:"area" json:"area,omitempty" jsonschema:"enum=ha,enum=acre"`
}

// Source is one kind of export: some files and their layout.
type Source struct {
	Path       string            `yaml:"path" json:"path" jsonschema:"description=a glob below the folder of the configuration"`
	Shape      string            `yaml:"shape" json:"shape,omitempty" jsonschema:"enum=long,enum=wide"`
	Logger     string            `yaml:"logger" json:"logger,omitempty" jsonschema:"description=filename[:REGEXP] or name:NAME or column:NAME or header:REGEXP,pattern=^(filename(:.+)?|name:.+|column:.+|header:.+)$"`
	Ports      []string          `yaml:"ports" json:"ports,omitempty" jsonschema:"description=regexps; the first group names the port"`
	Columns    map[string]string `yaml:"columns" json:"columns,omitempty" jsonschema:"description=our column to the export's"`
	Names      []string          `yaml:"names" json:"names,omitempty" jsonschema:"description=for a file without a header line"`
	TimeFormat string            `yaml:"time_format" json:"time_format,omitempty" jsonschema:"description=as the reference time Mon Jan 2 15:04:05 2006 would be written"`
	Missing    []string          `yaml:"missing" json:"missing,omitempty" jsonschema:"description=what the logger writes where it has no value"`
	FaultCodes map[string]string `yaml:"fault_codes" json:"fault_codes,omitempty" jsonschema:"description=what the logger writes in place of a value and the fault it stands for"`
	Decimal    string            `yaml:"decimal" json:"decimal,omitempty" jsonschema:"enum=comma,enum=point,description=the decimal mark of the export's numbers; left out: as the file shows"`
	Ignore     []string          `yaml:"ignore" json:"ignore,omitempty" jsonschema:"description=columns to leave"`
}

// Span is a length of time written as digits and a unit: m, h, d or w.
type Span time.Duration
