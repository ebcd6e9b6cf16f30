package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"probeward/detectors"
	"probeward/pipeline"
	"probeward/pipeline/table"
	"probeward/schemas"
)

type scanFlags struct {
	config, out, since, until, week, previous, exclude, failOn string
	start                                                      string
	shift                                                      string
	crews                                                      int
	speed                                                      float64
	workers                                                    int
	dryRun, json, quiet                                        bool
}

func scanCommand() *cobra.Command {
	var f scanFlags
	c := &cobra.Command{
		Use:   "scan [FOLDER] --out DIR",
		Short: "judge the probes of an export: health, findings, exclusions, queue",
		Long: prose(
			"scan reads the exports in FOLDER (or those that --config names), judges every probe "+
				"of the register, and writes one folder of tables. It never replaces a folder that it "+
				"did not write. FOLDER, --out, --previous and the paths of the configuration may be "+
				"s3://bucket/prefix; AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY, AWS_REGION and "+
				"AWS_ENDPOINT_URL say which store.",
			"The summary is words on stderr. --json prints it as one object on stdout besides: "+
				"out, window (start, end, timezone, why), files (given, failed), readings (read, "+
				"used, repeated, rejected), probes, verdicts (a count each), checks (found, clear, "+
				"not_evaluated), blind (zone, depth_cm, blind_since), zone_depths, visits (rank, "+
				"visit, post, probes, faults, confidence, minutes, priority), notes, fail_on "+
				"(verdict, probes; null when not asked for) and run (version, seconds), the only part "+
				"that differs between two runs on the same input. --quiet leaves the words out; "+
				"errors are still said.",
			"--shift plans a working day on the crew's page: which visits each crew makes, in "+
				"which order, from --start and back within the time.",
		),
		Example: "  probeward scan exports --out runs/2026-W23 --previous runs/2026-W22\n" +
			"  probeward scan exports --out run --json --quiet | jq .verdicts\n" +
			"  probeward scan exports --out run --shift 8h --crews 2 --start 41.374,-119.116",
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeFolders(1),
		RunE: func(c *cobra.Command, args []string) error {
			o, err := f.options(args)
			if err != nil {
				return err
			}
			var b *bars
			if !f.quiet {
				b = newBars(c.ErrOrStderr())
			}
			if b != nil {
				o.Progress = b
			}
			start := time.Now()
			s, err := pipeline.Run(c.Context(), o)
			if b != nil {
				b.Wait()
			}
			if err != nil {
				return err
			}
			if o.DryRun {
				return foretell(c.OutOrStdout(), s)
			}
			took := time.Since(start)
			if !f.quiet {
				summarise(c.ErrOrStderr(), s, o.Out, took)
			}
			if f.json {
				if err := writeJSON(c.OutOrStdout(), summaryOf(s, &f, took)); err != nil {
					return err
				}
			}
			return f.reached(s)
		},
	}
	fl := c.Flags()
	fl.StringVar(&f.out, "out", "", "the folder to write, or s3://bucket/prefix")
	fl.StringVar(&f.config, "config", "", "the configuration; FOLDER/scan.yaml if not given and there")
	fl.StringVar(&f.since, "since", "", "start of the window, like 2026-05-25 or an RFC 3339 stamp")
	fl.StringVar(&f.until, "until", "", "end of the window, not included; the newest day on which most loggers report if not given")
	fl.StringVar(&f.week, "week", "", "an ISO week as the window, like 2026-W21")
	fl.StringVar(&f.previous, "previous", "", "the run before: what is new, still open, withdrawn or given back")
	fl.StringVar(&f.exclude, "exclude", "fail", "which readings to leave out: fail, or suspect too")
	fl.StringVar(&f.failOn, "fail-on", "", "exit 1 when a probe has this verdict or a worse one: unfit, silent or doubtful")
	fl.BoolVar(&f.dryRun, "dry-run", false, "say what would be read and joined, and judge and write nothing")
	fl.IntVar(&f.workers, "workers", 0, "processors to use; 0: all")
	fl.BoolVar(&f.json, "json", false, "the summary as one JSON object on stdout, besides the words")
	fl.BoolVar(&f.quiet, "quiet", false, "no summary in words and no progress; errors are still said")
	fl.StringVar(&f.shift, "shift", "", "plan a working day of this length, like 8h or 7h30m")
	fl.IntVar(&f.crews, "crews", 1, "how many crews the shift has")
	fl.StringVar(&f.start, "start", "", "where the crews start and end: `LAT,LON` in degrees, like 41.374,-119.116")
	fl.Float64Var(&f.speed, "speed", 0, "of the crews on the way, in `KMH`; 25 if not given")
	for flag, words := range map[string][]string{"exclude": {"fail", "suspect"}, "fail-on": failOnVerdicts} {
		_ = c.RegisterFlagCompletionFunc(flag, completeWords(words...)) // both flags are there
	}
	_ = c.MarkFlagDirname("out")
	_ = c.MarkFlagDirname("previous")
	_ = c.MarkFlagFilename("config", "yaml", "yml")
	return c
}

func (f *scanFlags) options(args []string) (pipeline.Options, error) {
	o := pipeline.Options{
		Config: f.config, Out: f.out, Previous: f.previous, Week: f.week, Workers: f.workers,
		Detectors: detectors.All(), Version: version, DryRun: f.dryRun,
	}
	if len(args) == 1 {
		o.Folder = args[0]
	}
	if o.Folder == "" && o.Config == "" {
		return o, usage{fmt.Errorf("say what to scan: a FOLDER with the exports, or --config FILE")}
	}
	if o.Out == "" && !o.DryRun {
		return o, usage{fmt.Errorf("say where to: --out DIR")}
	}
	if f.week != "" && (f.since != "" || f.until != "") {
		return o, usage{fmt.Errorf("--week is a window of its own: leave out --since and --until")}
	}
	switch f.exclude {
	case "fail":
	case "suspect":
		o.ExcludeSuspect = true
	default:
		return o, usage{fmt.Errorf("--exclude %q: fail or suspect", f.exclude)}
	}
	if f.json && f.dryRun {
		return o, usage{fmt.Errorf("--json is the summary of a scan, and --dry-run makes none: leave out one of them")}
	}
	var err error
	if o.Shift, err = f.plan(); err != nil {
		return o, usage{err}
	}
	if f.failOn != "" && !slices.Contains(failOnVerdicts, f.failOn) {
		return o, usage{fmt.Errorf("--fail-on %q: unfit, silent or doubtful", f.failOn)}
	}
	// Stamps without an offset are the farm's, whose zone the configuration knows.
	o.SinceText, o.UntilText = f.since, f.until
	for _, flag := range []struct{ name, text string }{{"since", f.since}, {"until", f.until}} {
		if flag.text == "" {
			continue
		}
		if _, err := table.ParseTime(flag.text, time.UTC); err != nil {
			return o, usage{fmt.Errorf("--%s: %w", flag.name, err)}
		}
	}
	return o, nil
}

// failOnVerdicts are what --fail-on takes.
var failOnVerdicts = []string{"unfit", "silent", "doubtful"}

// worse lists the probes with the verdict of --fail-on, or a worse one.
func (f *scanFlags) worse(s *pipeline.Summary) (names []string) {
	order := schemas.Verdicts()
	limit := slices.Index(order, schemas.Verdict(f.failOn))
	for i, st := range s.Judged.States {
		if slices.Index(order, st.Verdict) <= limit {
			names = append(names, s.Probes[i].Name)
		}
	}
	return names
}

// reached says whether a probe has the verdict of --fail-on, or a worse one.
func (f *scanFlags) reached(s *pipeline.Summary) error {
	if f.failOn == "" {
		return nil
	}
	names := f.worse(s)
	if len(names) == 0 {
		return nil
	}
	shown := names
	if len(shown) > 5 {
		shown = shown[:5]
	}
	return fmt.Errorf("%w %s: %d probes, %s", errFailOn, f.failOn, len(names), strings.Join(shown, ", "))
}
