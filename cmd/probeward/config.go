package main

import (
	"fmt"

	"github.com/goccy/go-yaml"
	"github.com/spf13/cobra"

	"probeward/detectors"
	"probeward/detectors/detect"
	"probeward/pipeline"
	"probeward/pipeline/config"
)

func configCommand() *cobra.Command {
	c := &cobra.Command{Use: "config", Short: "propose, check and show a configuration"}
	var file string
	check := &cobra.Command{
		Use:   "check [FOLDER]",
		Short: "check scan.yaml and print every complaint at once, with line and column",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			folder := "."
			if len(args) == 1 {
				folder = args[0]
			}
			r, err := pipeline.Configuration(c.Context(), folder, file, detect.ParameterNames(detectors.All()))
			if err != nil {
				return err
			}
			for _, g := range r.Guessed {
				fmt.Fprintln(c.ErrOrStderr(), g)
			}
			fmt.Fprintln(c.ErrOrStderr(), "the configuration is sound")
			return nil
		},
	}
	check.Flags().StringVar(&file, "config", "", "the file; scan.yaml of the folder if not given")
	schema := &cobra.Command{
		Use: "schema", Short: "print the JSON Schema of scan.yaml, for an editor", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			b, err := config.Schema()
			if err != nil {
				return err
			}
			_, err = fmt.Fprintln(c.OutOrStdout(), string(b))
			return err
		},
	}
	show := &cobra.Command{
		Use:   "show [FOLDER]",
		Short: "print the configuration with everything that it leaves out filled in",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			folder := "."
			if len(args) == 1 {
				folder = args[0]
			}
			r, err := pipeline.Configuration(c.Context(), folder, file, detect.ParameterNames(detectors.All()))
			if err != nil {
				return err
			}
			b, err := yaml.Marshal(r.Config)
			if err != nil {
				return err
			}
			for _, g := range r.Guessed {
				fmt.Fprintln(c.OutOrStdout(), "#", g)
			}
			_, err = c.OutOrStdout().Write(b)
			return err
		},
	}
	show.Flags().StringVar(&file, "config", "", "the file; scan.yaml of the folder if not given")
	c.AddCommand(configInit(), check, show, schema)
	return c
}
