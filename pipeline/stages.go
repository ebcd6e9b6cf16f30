package pipeline

import (
	"fmt"
	"os"

	"probeward/detectors/detect"
	"probeward/pipeline/amend"
	"probeward/pipeline/arrange"
	"probeward/pipeline/changes"
	"probeward/pipeline/config"
	"probeward/pipeline/corroborate"
	"probeward/pipeline/daily"
	"probeward/pipeline/examine"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/installs"
	"probeward/pipeline/judge"
	"probeward/pipeline/publish"
	"probeward/pipeline/rank"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/pipeline/store"
	"probeward/pipeline/table"
)

// open reads the configuration, the register and the logs of the field.
func (s *scan) open() (err error) {
	if s.Folder != "" {
		if info, err := os.Stat(s.Folder); !store.Is(s.Folder) && (err != nil || !info.IsDir()) {
			return fmt.Errorf("%w: %s is no folder; name the one that holds the exports", ErrFolder, s.Folder)
		}
	}
	if !s.DryRun {
		if err := publish.Check(s.ctx, s.Out); err != nil {
			return err
		}
	}
	if s.config, err = Configuration(s.ctx, s.Folder, s.Config, detect.ParameterNames(s.Detectors)); err != nil {
		return err
	}
	for _, g := range s.config.Guessed {
		s.note("%s", g)
	}
	if s.examiner, err = detect.NewExaminer(s.Detectors, thresholds(s.config)); err != nil {
		return fmt.Errorf("%w: %w", config.ErrConfiguration, err)
	}
	c := s.config
	if s.register, err = register.Load(c.Path(c.Probes), c.Path(c.Loggers), c.Zone); err != nil {
		return fmt.Errorf("%w: %w", config.ErrConfiguration, err)
	}
	s.tableNotes = append(s.tableNotes, s.register.Notes...)
	if err := s.fieldLogs(); err != nil {
		return fmt.Errorf("%w: %w", config.ErrConfiguration, err)
	}
	if s.Previous != "" {
		if s.before, err = earlier(s.ctx, s.Previous); err != nil {
			return fmt.Errorf("%w: %w", ErrFolder, err)
		}
	}
	return nil
}

// fieldLogs reads the logs that there are.
func (s *scan) fieldLogs() (err error) {
	c := s.config
	var notes []table.Note
	if path := c.Path(c.Irrig); path != "" {
		if s.water, notes, err = fieldlog.LoadIrrigation(path, c.Zone); err != nil {
			return err
		}
		s.tableNotes = append(s.tableNotes, notes...)
	}
	if path := c.Path(c.Config.Weather); path != "" {
		if s.weather, notes, err = fieldlog.LoadWeather(path, c.Zone); err != nil {
			return err
		}
		s.tableNotes = append(s.tableNotes, notes...)
	}
	if path := c.Path(c.Config.Visits); path != "" {
		if s.seen, notes, err = fieldlog.LoadVisits(path, c.Zone); err != nil {
			return err
		}
		s.tableNotes = append(s.tableNotes, notes...)
	}
	if path := c.Path(c.Config.Overrides); path != "" {
		if s.words, notes, err = fieldlog.LoadOverrides(path, c.Zone); err != nil {
			return err
		}
		s.tableNotes = append(s.tableNotes, notes...)
	}
	return nil
}

// thresholds takes what the configuration sets for all probes.
func thresholds(c *config.Resolved) detect.Thresholds {
	out := detect.Thresholds{}
	for name, params := range c.Detectors {
		out[name] = map[string]float64{}
		for param := range params {
			if v := c.Param(name, param, nil); v.OK {
				out[name][param] = v.V
			}
		}
	}
	return out
}

func (s *scan) read() (err error) {
	s.Progress.Stage("read", "B", 0)
	done := int64(0)
	s.readings, err = read.Files(s.ctx, read.Input{
		Config: s.config, Register: s.register, Workers: s.Workers,
		Progress: func(n, total int64) {
			if done == 0 {
				s.Progress.Stage("read", "B", total)
			}
			s.Progress.Add(n - done)
			done = n
		},
	})
	if err != nil {
		return err
	}
	s.notes = append(s.notes, s.readings.Notes...)
	return nil
}

func (s *scan) arrange() (err error) {
	s.Progress.Stage("arrange", "", 0)
	ask := arrange.Ask{
		Zone:   s.config.Zone,
		Window: s.config.Window().Microseconds(), Lookback: s.config.Lookback().Microseconds(),
	}
	if ask.Since, err = instant("since", s.SinceText, s.config.Zone); err != nil {
		return err
	}
	if ask.Until, err = instant("until", s.UntilText, s.config.Zone); err != nil {
		return err
	}
	if s.Week != "" {
		week, err := weekSpan(s.Week, s.config.Zone)
		if err != nil {
			return err
		}
		ask.Since, ask.Until = detect.Some(week.Start), detect.Some(week.End)
	}
	s.arranged, err = arrange.Probes(s.readings, s.register, ask)
	return err
}

func (s *scan) examine() (err error) {
	s.Progress.Stage("examine", "probes", int64(len(s.register.Probes)))
	s.reports, err = examine.Probes(s.ctx, examine.Input{
		Probes: s.register.Probes, Partitions: s.arranged.Partitions, Period: s.arranged.Period,
		Contexts:  examine.Contexts(s.register.Probes, s.arranged.Peaks, s.water, s.weather, s.arranged.Period),
		Detectors: s.Detectors, Thresholds: thresholds(s.config), For: s.forProbe(), Workers: s.Workers,
		Progress: func(n int) { s.Progress.Add(int64(n)) },
	})
	return err
}

// forProbe gives what the configuration sets for single kinds, blocks or depths; nil
// when it sets nothing for any detector.
func (s *scan) forProbe() func(detector, param string, probe *detect.Probe) (float64, bool) {
	if len(s.config.Detectors) == 0 {
		return nil
	}
	return func(detector, param string, probe *detect.Probe) (float64, bool) {
		v := s.config.Param(detector, param, probe)
		return v.V, v.OK
	}
}

func (s *scan) corroborate() error {
	s.groups = corroborate.Groups(s.groupInput(s.reports))
	return s.settle()
}

func (s *scan) groupInput(reports []detect.Report) corroborate.Input {
	return corroborate.Input{
		Probes: s.register.Probes, Reports: reports, Stamps: s.readings.Stamps,
		Period: s.arranged.Period, Farm: s.arranged.Farm, Loggers: s.arranged.Loggers,
		Contradictions: s.arranged.Contradictions,
		Irrigation:     s.water, Rain: s.weather.Rain, Examiner: s.examiner,
	}
}

func (s *scan) judge() error {
	in := judge.Input{
		Probes: s.register.Probes, Period: s.arranged.Period,
		ProbeDetectors: s.examiner.ProbeDetectors(), GroupDetectors: s.examiner.GroupDetectors(),
		Reports: s.reports, Groups: s.groups, Mended: s.mended, ExcludeSuspect: s.ExcludeSuspect,
		Times: s.arranged.Times(), Rejected: s.arranged.Rejected, Zone: s.config.Zone,
	}
	for _, w := range s.words {
		place, ok := s.register.Named(w.Probe)
		if !ok {
			s.tableNotes = append(s.tableNotes, table.Note{File: s.config.Overrides, Line: w.Line, Column: "probe",
				Severity: table.Error, Problem: "no such probe in the register", Text: w.Probe})
			continue
		}
		in.Overrides = append(in.Overrides, judge.Override{Probe: place, Action: string(w.Action), Span: w.Span, Why: w.Why})
	}
	if s.before != nil {
		in.Previous = s.before.Verdicts
	}
	s.judged = judge.Judge(in)
	s.tableNotes = append(s.tableNotes, s.book.UnchangedRegister(s.judged)...)
	return nil
}

func (s *scan) rank() error {
	in := rank.Input{
		Probes: s.register.Probes, Details: s.register.Details, Loggers: s.register.Loggers,
		Judged: s.judged, Period: s.arranged.Period, Feedback: s.book, Cadence: s.cadence, Zone: s.config.Zone, Waterings: s.water,
	}
	if s.before != nil {
		in.Previous = s.before.Visits
	}
	s.visits, s.quiet = rank.Queue(in)
	return nil
}

func (s *scan) publish() (err error) {
	s.Progress.Stage("publish", "", 0)
	changed := changes.Exclusions(s.register.Probes, s.judged, s.before, s.config.Zone)
	pages, err := s.pages(changed)
	if err != nil {
		return err
	}
	s.manifest, err = publish.Folder(publish.Input{
		Ctx: s.ctx, Out: s.Out, Version: s.Version, Config: s.config, Register: s.register,
		Arranged: s.arranged, Judged: s.judged, Visits: s.visits, Notes: s.notes, TableNotes: s.tableNotes,
		StageSeconds: s.seconds, Previous: s.before,
		Changes:  changed,
		Days:     daily.Usable(daily.Input{Probes: s.register.Probes, Partitions: s.arranged.Partitions, Judged: s.judged, Zone: s.config.Zone}),
		Installs: s.installs(), Mends: s.mends(), Pages: pages, Quiet: s.quiet, Feedback: s.book,
	})
	return err
}

// installs follows the new probes.
func (s *scan) installs() []installs.Install {
	in := installs.Input{Probes: s.register.Probes, Judged: s.judged, Reports: s.reports, Detectors: s.examiner.ProbeDetectors(),
		Times: s.arranged.Times(), Zone: s.config.Zone}
	if s.before != nil {
		in.Previous = s.before.Verdicts
	}
	return installs.Installs(in)
}

// mends lists what the register has wrong.
func (s *scan) mends() []amend.Mend {
	c := s.config
	return amend.Mends(amend.Input{Register: s.register, Judged: s.judged, Files: []string{c.Path(c.Probes), c.Path(c.Loggers)},
		Notes: s.tableNotes, Strays: s.readings.Strays, Unheard: s.readings.Unheard, Row: amend.Rows(s.register), Replaced: s.replaced()})
}
