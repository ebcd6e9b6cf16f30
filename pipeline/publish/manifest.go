package publish

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/amend"
	"probeward/pipeline/arrange"
	"probeward/pipeline/changes"
	"probeward/pipeline/config"
	"probeward/pipeline/daily"
	"probeward/pipeline/feedback"
	"probeward/pipeline/installs"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
	"probeward/pipeline/rank"
	"probeward/pipeline/register"
	"probeward/pipeline/table"
	"probeward/schemas"
)

const program = "probeward"

// Input is what a run has to tell.
type Input struct {
	Ctx          context.Context
	Out          string
	Version      string
	Config       *config.Resolved
	Register     *register.Register
	Arranged     *arrange.Result
	Judged       *judge.Result
	Visits       []rank.Visit
	Notes        []string     // of the run as a whole
	TableNotes   []table.Note // of the register and the logs
	StageSeconds []Stage
	Previous     *previous.Run    // nil: none
	Changes      []changes.Change // against the previous run
	Days         []daily.Day
	Installs     []installs.Install
	Mends        []amend.Mend
	Pages        []Page // what people read, made before
	Quiet        []rank.Quieted
	Feedback     *feedback.Book // what visits say; nil: there were none
}

// Page is a file of the run that is no table of schemas.
type Page struct {
	Name  string
	Rows  int64
	Bytes []byte
}

// Stage is how long one took.
type Stage struct {
	Name    string  `json:"stage"`
	Seconds float64 `json:"seconds"`
}

// Output is one file of the run.
type Output struct {
	Name   string `json:"name"`
	Rows   int64  `json:"rows"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// Manifest describes a run. Everything in it but Run follows from the input alone.
type Manifest struct {
	Program   string         `json:"program"`
	Tables    int            `json:"tables_version"`
	Period    ManifestPeriod `json:"period"`
	Totals    Totals         `json:"totals"`
	Verdicts  map[string]int `json:"verdicts"`
	Detectors []Detector     `json:"detectors"`
	Inputs    []FileEntry    `json:"inputs"`
	Outputs   []Output       `json:"outputs"`
	Warnings  []string       `json:"warnings"`
	Overrides []Override     `json:"overrides"`
	Field     *FieldEntry    `json:"visits,omitempty"`
	Config    any            `json:"configuration"`
	Run       RunEntry       `json:"run"`
}

// ManifestPeriod is what was looked at.
type ManifestPeriod struct {
	Lookback string `json:"lookback_start"`
	Start    string `json:"window_start"`
	End      string `json:"window_end"`
	Why      string `json:"why"`
	Zone     string `json:"timezone"`
}

// Totals counts readings over all files: read = used + repeated + rejected.
type Totals struct {
	Files    int   `json:"files"`
	Failed   int   `json:"files_failed"`
	Rows     int64 `json:"rows"`
	Read     int64 `json:"read"`
	Used     int64 `json:"used"`
	Repeated int64 `json:"repeated"`
	Rejected int64 `json:"rejected"`
	Probes   int   `json:"probes"`
	Findings int   `json:"findings"`
	Visits   int   `json:"visits"`
}

// Detector is one detector's row of the matrix.
type Detector struct {
	Name     string `json:"detector"`
	Scope    string `json:"scope"`
	Subjects int    `json:"subjects"`
	Found    int    `json:"found"`
	Clear    int    `json:"clear"`
	NotRun   int    `json:"not_run"`
	Absent   int    `json:"absent"`
	TooShort int    `json:"too_short"`
	NoChance int    `json:"no_chance"`
}

// FileEntry is one input file's ledger.
type FileEntry struct {
	Path     string   `json:"path"`
	SHA256   string   `json:"sha256,omitempty"`
	Bytes    int64    `json:"bytes"`
	Rows     int64    `json:"rows"`
	Read     int64    `json:"read"`
	Used     int64    `json:"used"`
	Repeated int64    `json:"repeated"`
	Rejected int64    `json:"rejected"`
	First    string   `json:"first,omitempty"`
	Last     string   `json:"last,omitempty"`
	Loggers  []string `json:"loggers,omitempty"`
	Layout   string   `json:"layout,omitempty"`
	Ignored  []string `json:"ignored_columns,omitempty"`
	Error    string   `json:"error,omitempty"`
}

// Override is a person's word that this run heard.
type Override struct {
	Probe    string `json:"probe"`
	Action   string `json:"action"`
	Why      string `json:"why"`
	Ends     string `json:"ends,omitempty"`
	Expired  bool   `json:"expired"`
	Findings int    `json:"findings_silenced"`
	Readings int    `json:"readings_in_span"`
}

// RunEntry is what differs between two runs on the same input.
type RunEntry struct {
	Version string  `json:"version"`
	Stages  []Stage `json:"stages"`
}

// Folder writes the run and says what it wrote. On an error, and when the context
// ends, nothing is left and what stood there stands.
func Folder(in Input) (*Manifest, error) {
	start := time.Now()
	f, err := newFolder(in.Ctx, in.Out)
	if err != nil {
		return nil, err
	}
	defer f.drop()
	queue, zones, days := in.queue(), in.coverage(), in.usableDaily() // these are spreadsheets, too
	for _, s := range []*sheet{in.health(), in.findings(), in.exclusions(), in.exclusionsChanged(), zones, queue, in.quiet(), in.rejects(),
		days, in.installs(), in.registerMends(), in.history()} {
		if err := f.sheet(s); err != nil {
			return nil, err
		}
	}
	flags := flagsWriter{ctx: in.Ctx, probes: in.Register.Probes, judged: in.Judged}
	if err := f.write(schemas.Flags.Files[0], in.Arranged.Kept(), func(w io.Writer) error {
		return flags.write(w, in.Arranged.Partitions)
	}); err != nil {
		return nil, err
	}
	for _, p := range in.Pages {
		if err := f.write(p.Name, p.Rows, func(w io.Writer) error {
			_, err := w.Write(p.Bytes)
			return err
		}); err != nil {
			return nil, err
		}
	}
	if err := in.spreadsheets(f, queue, zones, days); err != nil {
		return nil, err
	}
	words, err := describe(f.outputs())
	if err != nil {
		return nil, err
	}
	if err := f.write(packageName, 0, func(w io.Writer) error {
		_, err := w.Write(words)
		return err
	}); err != nil {
		return nil, err
	}
	m := in.manifest(f.outputs())
	if t := m.Totals; t.Read != t.Used+t.Repeated+t.Rejected || t.Used != in.Arranged.Kept() {
		return nil, fmt.Errorf("the ledger does not balance: %d read, %d used, %d repeated, %d rejected, %d flagged",
			t.Read, t.Used, t.Repeated, t.Rejected, in.Arranged.Kept())
	}
	m.Run = RunEntry{Version: in.Version, Stages: append(in.StageSeconds, Stage{"publish", time.Since(start).Seconds()})}
	b, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return nil, err
	}
	if err := f.write(manifestName, 1, func(w io.Writer) error {
		_, err := w.Write(append(b, '\n'))
		return err
	}); err != nil {
		return nil, err
	}
	return m, f.stand()
}

func (in *Input) manifest(outputs []Output) *Manifest {
	a := in.Arranged
	m := &Manifest{
		Program: program, Tables: schemas.Version, Outputs: outputs, Config: resolved(in.Config),
		Period: ManifestPeriod{Lookback: stamp(a.Period.Lookback), Start: stamp(a.Period.Window.Start), End: stamp(a.Period.Window.End),
			Why: a.Why, Zone: in.Config.Zone.String()},
		Totals:   Totals{Files: len(a.Files), Probes: len(in.Register.Probes), Findings: len(in.Judged.Findings), Visits: len(in.Visits)},
		Verdicts: map[string]int{}, Warnings: append([]string{}, in.Notes...), Inputs: []FileEntry{}, Overrides: []Override{},
	}
	for _, f := range a.Files {
		m.Inputs = append(m.Inputs, FileEntry{Path: f.Path, SHA256: f.SHA256, Bytes: f.Bytes, Rows: f.Rows, Read: f.Read, Used: f.Used,
			Repeated: f.Repeated, Rejected: f.Rejected, First: stampOrNone(f.First), Last: stampOrNone(f.Last), Loggers: f.Loggers,
			Layout: f.Layout, Ignored: f.IgnoredColumns, Error: f.Err})
		t := &m.Totals
		t.Rows, t.Read, t.Used = t.Rows+f.Rows, t.Read+f.Read, t.Used+f.Used
		t.Repeated, t.Rejected = t.Repeated+f.Repeated, t.Rejected+f.Rejected
		if f.Err != "" {
			t.Failed++
		}
	}
	for _, st := range in.Judged.States {
		m.Verdicts[string(st.Verdict)]++
	}
	for _, c := range in.Judged.Matrix {
		m.Detectors = append(m.Detectors, Detector{Name: c.Detector, Scope: c.Scope.String(), Subjects: c.Subjects, Found: c.Found, Clear: c.Clear,
			NotRun: c.Causes[detect.NotRun], Absent: c.Causes[detect.Absent], TooShort: c.Causes[detect.TooShort], NoChance: c.Causes[detect.NoChance]})
	}
	for _, n := range in.TableNotes {
		m.Warnings = append(m.Warnings, n.String())
	}
	for _, o := range in.Judged.Overrides {
		e := Override{Probe: in.Register.Probes[o.Probe].Name, Action: o.Action, Why: o.Why, Expired: o.Expired, Findings: o.Findings, Readings: o.Readings}
		if o.Ends.OK {
			e.Ends = stamp(o.Ends.V)
		}
		m.Overrides = append(m.Overrides, e)
	}
	m.Field = in.field()
	return m
}

// resolved is the configuration with what it left out filled in.
func resolved(c *config.Resolved) schemas.Config {
	out := c.Config
	out.Timezone = c.Zone.String()
	out.Window, out.Lookback = schemas.Span(c.Window()), schemas.Span(c.Lookback())
	return out
}

func stamp(t int64) string { return time.UnixMicro(t).UTC().Format(time.RFC3339) }

func stampOrNone(t int64) string {
	if t == 0 {
		return ""
	}
	return stamp(t)
}
