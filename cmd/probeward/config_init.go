package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"probeward/detectors"
	"probeward/detectors/detect"
	"probeward/pipeline/config"
	"probeward/pipeline/config/proposal"
)

// configInit is the command that proposes a configuration.
func configInit() *cobra.Command {
	var zone, file string
	var save, register bool
	var workers int
	c := &cobra.Command{
		Use:   "init [FOLDER]",
		Short: "propose a scan.yaml for a folder of exports, with the evidence for each line",
		Long: "init looks at every export in FOLDER and at the tables beside them, and prints a\n" +
			"scan.yaml. Each line says what it rests on: which files, which columns, how a stamp\n" +
			"reads. Where two readings are possible, both are shown, and the line that settles it\n" +
			"is marked \"choose\".\n\n" +
			"It finds out what a scan without a configuration finds out, and checks that a scan\n" +
			"with the file reads the same readings. Nothing is written unless you say --write, and\n" +
			"a scan.yaml that is there is never replaced.\n\n" +
			"A folder without a probes.csv gets one proposed by --register: a row for each probe\n" +
			"heard, when the folder is read by its scan.yaml or, without one, as init finds it. What\n" +
			"the files do not tell is empty there, and the note says what to fill in.",
		Example: "  probeward config init exports > scan.yaml\n" +
			"  probeward config init exports --timezone America/Los_Angeles --write\n" +
			"  probeward config init exports --register > probes.csv",
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			folder := "."
			if len(args) == 1 {
				folder = args[0]
			}
			ask := proposal.Ask{Folder: folder, Zone: zone, Workers: workers, Known: detect.ParameterNames(detectors.All())}
			words := c.ErrOrStderr()
			var p *proposal.Proposal
			var err error
			var text []byte
			name := config.FileName
			if register {
				if p, err = proposal.Register(c.Context(), ask, file); err != nil {
					return err
				}
				text, name = p.Register, "probes.csv"
				fmt.Fprintf(words, "%d probes are heard; %d rows lack a kind or a unit: their notes say what to fill in\n", p.Rows, p.ToFill)
			} else {
				if file != "" {
					return usage{fmt.Errorf("--config says how to read for --register; init itself proposes a configuration")}
				}
				if p, err = proposal.Make(c.Context(), ask); err != nil {
					return err
				}
				text = p.YAML
				for _, w := range p.Words {
					fmt.Fprintln(words, w)
				}
				if p.Rows > 0 {
					fmt.Fprintf(words, "%d probes are heard, and there is no register: config init --register proposes one\n", p.Rows)
				}
			}
			if !save {
				_, err = c.OutOrStdout().Write(text)
				return err
			}
			path := filepath.Join(folder, name)
			if err := proposal.Save(path, text); err != nil {
				return err
			}
			fmt.Fprintln(words, "written:", path)
			return nil
		},
	}
	c.Flags().StringVar(&zone, "timezone", "", "the farm's zone, an IANA name; UTC, marked to be chosen, if not given")
	c.Flags().BoolVar(&save, "write", false, "write FOLDER/scan.yaml (with --register FOLDER/probes.csv) if it is not there yet")
	c.Flags().BoolVar(&register, "register", false, "print a probes.csv for a folder that has none")
	c.Flags().StringVar(&file, "config", "", "with --register: how to read the folder; its scan.yaml if not given and there")
	c.Flags().IntVar(&workers, "workers", 0, "processors to use; 0: all")
	return c
}
