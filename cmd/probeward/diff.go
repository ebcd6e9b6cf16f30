package main

import (
	"encoding/json"
	"io"

	"github.com/spf13/cobra"

	"probeward/pipeline/compare"
	"probeward/pipeline/runfolder"
)

func diffCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "diff RUN_A RUN_B",
		Short: "what changed between two runs: faults, visits, readings",
		Long: prose(
			"diff holds two run folders against each other, the earlier one first. A probe is at "+
				"fault while its verdict is unfit, silent or doubtful. It says first which weeks are "+
				"compared and how many probes, visits and readings changed, then lists them: probes "+
				"new at fault, still open and cleared; visits new, still open and gone; hours of "+
				"readings newly withdrawn or restored, by zone and day.",
			"Readings are compared over the time that both runs looked at. A probe that can no "+
				"longer be judged (unknown) is never counted as cleared.",
			"--json prints one object: windows (earlier, later, relation, note), counts, and the "+
				"lists new_faults, still_open, cleared, other_changes, probes_new, probes_gone, "+
				"visits_new, visits_still_open, visits_gone, readings_changed. The folders may be "+
				"s3://bucket/prefix. The exit code is 0 whatever changed.",
		),
		Example:           "  probeward diff runs/2026-W22 runs/2026-W23",
		Args:              cobra.ExactArgs(2),
		ValidArgsFunction: completeFolders(2),
		RunE: func(c *cobra.Command, args []string) error {
			a, err := runfolder.Open(c.Context(), args[0])
			if err != nil {
				return usage{err}
			}
			b, err := runfolder.Open(c.Context(), args[1])
			if err != nil {
				return usage{err}
			}
			d, err := compare.Runs(a, b)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(c.OutOrStdout(), d)
			}
			d.Print(c.OutOrStdout())
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object on stdout in place of words")
	return c
}

// writeJSON writes a value as people and programs can both read it.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
