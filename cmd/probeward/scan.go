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
	workers                                                    int
	dryRun                                                     bool
}

func scanCommand() *cobra.Command {
	var f scanFlags
	c := &cobra.Command{
		Use:   "scan [FOLDER] --out DIR",
		Short: "judge the probes of an export: health, findings, exclusions, queue",
		Long: "scan reads the exports in FOLDER (or those that --config names), judges every\n" +
			"probe of the register, and writes one folder of tables. It never replaces a\n" +
			"folder that it did not write. FOLDER, --out, --previous and the paths of the\n" +
			"configuration may be s3://bucket/prefix; AWS_ACCESS_KEY_ID,\n" +
			"AWS_SECRET_ACCESS_KEY, AWS_REGION and AWS_ENDPOINT_URL say which store.",
		Example: "  probeward scan exports --out runs/2026-W23 --previous runs/2026-W22",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o, err := f.options(args)
			if err != nil {
				return err
			}
			b := newBars(c.ErrOrStderr())
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
			summarise(c.ErrOrStderr(), s, o.Out, time.Since(start))
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
	if f.failOn != "" && !slices.Contains([]string{"unfit", "silent", "doubtful"}, f.failOn) {
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

// reached says whether a probe has the verdict of --fail-on, or a worse one.
func (f *scanFlags) reached(s *pipeline.Summary) error {
	if f.failOn == "" {
		return nil
	}
	order := schemas.Verdicts()
	limit := slices.Index(order, schemas.Verdict(f.failOn))
	var names []string
	for i, st := range s.Judged.States {
		if slices.Index(order, st.Verdict) <= limit {
			names = append(names, s.Probes[i].Name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	shown := names
	if len(shown) > 5 {
		shown = shown[:5]
	}
	return fmt.Errorf("%w %s: %d probes, %s", errFailOn, f.failOn, len(names), strings.Join(shown, ", "))
}
