package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"probeward/detectors"
	"probeward/pipeline"
	"probeward/pipeline/drill"
)

type drillFlags struct {
	config, since, until, week, out string
	faults                          []string
	json, quick                     bool
	probes, workers                 int
	seed                            uint64
}

func drillCommand() *cobra.Command {
	var f drillFlags
	c := &cobra.Command{
		Use:   "drill [FOLDER]",
		Short: "put known faults into your fit probes: what a scan sees here",
		Long: "drill reads FOLDER as a scan would, puts known faults into copies of the probes\n" +
			"that the scan calls fit, and judges again. It prints how many were found, by\n" +
			"fault, depth and kind of sensor, with 95 % intervals; how long after the fault\n" +
			"began; which false alarms came with it; and what each input of the farm buys.\n" +
			"Your files stay as they are.\n\n" +
			"n: trials. found: under the fault's own name. mild, mid, gross: found of tried,\n" +
			"by strength. named: the fault also made the verdict. delay: median time from the\n" +
			"fault's first hour to the first reading that the finding names.\n\n" +
			"Injected faults are simple and come alone; natural ones are messier.\n\n" +
			"The faults:\n" + drill.Manual(),
		Example: "  probeward drill exports --faults open_circuit,noise --probes 20\n" +
			"  probeward drill exports --out trials.csv",
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o := pipeline.Options{Config: f.config, SinceText: f.since, UntilText: f.until, Week: f.week, Workers: f.workers,
				Detectors: detectors.All(), Version: version}
			if len(args) == 1 {
				o.Folder = args[0]
			}
			if err := f.check(&o); err != nil {
				return err
			}
			b := newBars(c.ErrOrStderr())
			if b != nil {
				o.Progress = b
			}
			r, err := pipeline.Drill(c.Context(), o, drill.Options{Faults: f.faults, Probes: f.probes, Seed: f.seed, Help: !f.quick})
			if b != nil {
				b.Wait()
			}
			if errors.Is(err, drill.ErrFault) {
				return usage{err}
			}
			if err != nil {
				return err
			}
			if f.out != "" {
				if err := writeTrials(f.out, r); err != nil {
					return err
				}
			}
			if f.json {
				return r.JSON(c.OutOrStdout())
			}
			return r.Print(c.OutOrStdout())
		},
	}
	fl := c.Flags()
	fl.StringVar(&f.config, "config", "", "the configuration; FOLDER/scan.yaml if not given and there")
	fl.StringVar(&f.since, "since", "", "start of the window, as for scan")
	fl.StringVar(&f.until, "until", "", "end of the window, as for scan")
	fl.StringVar(&f.week, "week", "", "an ISO week as the window, like 2026-W21")
	fl.StringSliceVar(&f.faults, "faults", nil, "only these faults, by the names above, with commas between")
	fl.IntVar(&f.probes, "probes", drill.DefaultProbes, "trials for each fault, depth and kind, each on another probe while there are any")
	fl.Uint64Var(&f.seed, "seed", 1, "same seed, same trials")
	fl.StringVar(&f.out, "out", "", "also write a CSV file with a row a trial")
	fl.BoolVar(&f.json, "json", false, "print JSON in place of the tables")
	fl.BoolVar(&f.quick, "quick", false, "leave out what each input buys, which takes as long again")
	fl.IntVar(&f.workers, "workers", 0, "processors to use; 0: all")
	return c
}

func (f *drillFlags) check(o *pipeline.Options) error {
	switch {
	case o.Folder == "" && o.Config == "":
		return usage{fmt.Errorf("say what to drill: a FOLDER with the exports, or --config FILE")}
	case f.week != "" && (f.since != "" || f.until != ""):
		return usage{fmt.Errorf("--week is a window of its own: leave out --since and --until")}
	case f.probes < 1:
		return usage{fmt.Errorf("--probes %d: give 1 or more", f.probes)}
	}
	if f.out != "" {
		if _, err := os.Stat(f.out); err == nil {
			return usage{fmt.Errorf("--out %s is there already; name a new file", f.out)}
		}
	}
	return nil
}

// writeTrials writes a new file, and nothing over an old one.
func writeTrials(path string, r *drill.Result) (err error) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return fmt.Errorf("--out: %w", err)
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	return r.CSV(file)
}
