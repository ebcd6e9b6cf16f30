package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"probeward/pipeline/simulate"
)

func simulateCommand() *cobra.Command {
	var o simulate.Options
	var out, start string
	var healthy bool
	c := &cobra.Command{
		Use:   "simulate --out DIR",
		Short: "write an invented vineyard: feed/, which a scan reads, and truth/",
		Long: prose(
			"simulate writes an invented vineyard: in feed/ what loggers, a register and the " +
				"logs of the field would hold, and in truth/ which faults are in it and when. No " +
				"scan reads truth/. The same seed gives the same vineyard.",
		),
		Example: "  probeward simulate --seed 7 --out vineyard\n" +
			"  probeward scan vineyard/feed --out run",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if out == "" {
				return usage{fmt.Errorf("say where to: --out DIR")}
			}
			if start != "" {
				t, err := time.Parse("2006-01-02", start)
				if err != nil {
					return usage{fmt.Errorf("--start: %w; write 2026-04-06", err)}
				}
				o.Start = t
			}
			o.Faults = !healthy
			s, err := simulate.Write(out, o)
			if err != nil {
				return err
			}
			fmt.Fprintf(c.ErrOrStderr(), "%d probes at %d loggers, %d readings, %d faults, until %s: %s\n",
				s.Probes, s.Loggers, s.Readings, s.Faults, s.Until.Format(time.RFC3339), out)
			return nil
		},
	}
	f := c.Flags()
	f.Uint64Var(&o.Seed, "seed", 1, "same seed, same vineyard")
	f.IntVar(&o.Probes, "probes", 120, "how many")
	f.IntVar(&o.Weeks, "weeks", 9, "how long")
	f.DurationVar(&o.Cadence, "cadence", 15*time.Minute, "time between readings")
	f.StringVar(&o.Export, "export", "mixed", "mixed, kPa, ohm or vwc")
	f.StringVar(&o.Shape, "shape", "mixed", "mixed, long or wide")
	f.StringVar(&start, "start", "", "first day, like 2026-04-06")
	f.BoolVar(&healthy, "healthy", false, "a vineyard without faults")
	f.StringVar(&out, "out", "", "the folder to write")
	for flag, words := range map[string][]string{"export": {"mixed", "kPa", "ohm", "vwc"}, "shape": {"mixed", "long", "wide"}} {
		_ = c.RegisterFlagCompletionFunc(flag, completeWords(words...)) // both flags are there
	}
	_ = c.MarkFlagDirname("out")
	return c
}
