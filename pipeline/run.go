package pipeline

import (
	"context"
	"fmt"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
	"probeward/pipeline/config"
	"probeward/pipeline/corroborate"
	"probeward/pipeline/feedback"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
	"probeward/pipeline/publish"
	"probeward/pipeline/rank"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/pipeline/table"
)

// ErrFolder says that the folder to scan, or to write, is not one that can be.
var ErrFolder = publish.ErrFolder

// Options of one scan.
type Options struct {
	Folder         string // with the exports; its scan.yaml holds when Config is empty
	Config         string
	Out            string // the run's folder
	Previous       string // an earlier run's folder; empty: none
	SinceText      string // as a person writes it, in the farm's zone where it has no offset; empty: from the data
	UntilText      string
	Week           string // like 2026-W21; instead of since and until
	ExcludeSuspect bool
	Shift          *Shift // plan a working day; nil: none
	Detectors      []*detect.Detector
	Version        string
	Workers        int      // 0: one a processor
	DryRun         bool     // read and arrange, judge nothing, write nothing
	Progress       Progress // may be nil
}

// Progress is told how far a stage is. Calls come from several goroutines.
type Progress interface {
	Stage(name, unit string, total int64)
	Add(n int64)
}

// Summary is what a run leaves to be said. Of a dry run only Arranged, Probes, Zone
// and the notes are there.
type Summary struct {
	Manifest *publish.Manifest
	Arranged *arrange.Result
	Judged   *judge.Result
	Visits   []rank.Visit
	Quiet    []rank.Quieted // findings that wait because of what visits found
	Feedback *feedback.Book // what visits say; nil: there were none
	Probes   []detect.Probe
	Zone     *time.Location
	Notes    []string
	// TableNotes are about rows of the register and of the logs.
	TableNotes []table.Note
}

// scan is one run: what each stage gave, for the stages after it.
type scan struct {
	Options
	ctx        context.Context
	seconds    []publish.Stage
	notes      []string
	tableNotes []table.Note
	config     *config.Resolved
	examiner   *detect.Examiner
	register   *register.Register
	water      fieldlog.Irrigation
	weather    fieldlog.Weather
	words      []fieldlog.Override
	before     *previous.Run
	readings   *read.Result
	arranged   *arrange.Result
	reports    []detect.Report
	groups     []corroborate.Verdict
	judged     *judge.Result
	visits     []rank.Visit
	quiet      []rank.Quieted
	seen       []fieldlog.Visit // rows of visits.csv
	book       *feedback.Book   // what they say; nil: there are none
	mended     []judge.Mended
	manifest   *publish.Manifest
}

// Run scans: every stage in turn, each taking what the one before it gave.
func Run(ctx context.Context, o Options) (*Summary, error) {
	if o.Progress == nil {
		o.Progress = quiet{}
	}
	s := &scan{Options: o, ctx: ctx}
	for _, stage := range []struct {
		name string
		run  func() error
	}{
		{"open", s.open},               // configuration, register, logs of the field
		{"read", s.read},               // exports into Arrow
		{"arrange", s.arrange},         // by probe, in time order
		{"examine", s.examine},         // the detectors, probe by probe
		{"corroborate", s.corroborate}, // loggers and zones
		{"judge", s.judge},             // verdicts and exclusions
		{"rank", s.rank},               // visits
		{"publish", s.publish},         // tables
	} {
		start := time.Now()
		if err := stage.run(); err != nil {
			return nil, err
		}
		s.seconds = append(s.seconds, publish.Stage{Name: stage.name, Seconds: time.Since(start).Seconds()})
		if s.DryRun && stage.name == "arrange" {
			break
		}
	}
	return &Summary{Manifest: s.manifest, Arranged: s.arranged, Judged: s.judged, Visits: s.visits, Quiet: s.quiet, Feedback: s.book,
		Probes: s.register.Probes, Zone: s.config.Zone, Notes: s.notes, TableNotes: s.tableNotes}, nil
}

type quiet struct{}

func (quiet) Stage(string, string, int64) {}
func (quiet) Add(int64)                   {}

func (s *scan) note(format string, args ...any) {
	s.notes = append(s.notes, fmt.Sprintf(format, args...))
}
