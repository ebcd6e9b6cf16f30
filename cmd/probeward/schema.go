package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"probeward/pipeline/terminal"
	"probeward/schemas"
	"probeward/schemas/examples"
)

func schemaCommand() *cobra.Command {
	var asExamples bool
	c := &cobra.Command{
		Use:   "schema [TABLE]",
		Short: "print what each column of a table holds, or ready queries",
		Long: prose(
			"schema lists the tables; schema TABLE says what each of its columns holds. A * marks "+
				"a column that is never empty.",
			"--examples prints ready SQL for DuckDB over a run's folder, each with a sentence; "+
				"--examples NAME prints one alone, to be piped. Start duckdb in the run's folder, or "+
				"say SET file_search_path = 'runs/2026-W23' first.",
		),
		Example: "  probeward schema health\n" +
			"  probeward schema --examples\n" +
			"  (cd runs/2026-W23 && probeward schema --examples unfit | duckdb)",
		Args: cobra.MaximumNArgs(1),
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			var names []string
			switch {
			case len(args) > 0:
			case asExamples:
				for _, q := range examples.All() {
					names = append(names, q.Name+"\t"+q.Sentence)
				}
			default:
				for _, t := range schemas.Tables() {
					names = append(names, t.Name+"\t"+t.Doc)
				}
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(c *cobra.Command, args []string) error {
			out := c.OutOrStdout()
			switch {
			case asExamples && len(args) == 1:
				q, err := examples.Named(args[0])
				if err != nil {
					return usage{err}
				}
				_, err = io.WriteString(out, q.SQL)
				return err
			case asExamples:
				return listExamples(out)
			case len(args) == 0:
				for _, t := range schemas.Tables() {
					terminal.Item(out, fmt.Sprintf("%-20s ", t.Name), t.Doc)
				}
				return nil
			}
			t, err := schemas.Lookup(args[0])
			if err != nil {
				return usage{err}
			}
			terminal.Item(out, t.Name+": ", t.Doc)
			for _, col := range t.Columns {
				kind := col.Type.String()
				if col.Unit != "" {
					kind += ", " + col.Unit
				}
				required := " "
				if col.Required {
					required = "*"
				}
				terminal.Item(out, fmt.Sprintf("%s %-24s %-16s ", required, col.Name, kind), col.Doc)
			}
			return nil
		},
	}
	c.Flags().BoolVar(&asExamples, "examples", false, "print ready SQL for DuckDB over a run's folder")
	return c
}

// listExamples prints every query, apart by its name.
func listExamples(w io.Writer) error {
	fmt.Fprint(w, "-- Ready SQL for DuckDB over the folder of a run. Start duckdb in that folder,\n"+
		"-- or say first: SET file_search_path = 'runs/2026-W23';\n"+
		"-- Times are UTC. The clock of the farm: SET timezone = 'America/Los_Angeles';\n")
	for _, q := range examples.All() {
		if _, err := fmt.Fprintf(w, "\n-- %s\n%s\n", strings.ToUpper(q.Name), strings.TrimRight(q.SQL, "\n")); err != nil {
			return err
		}
	}
	return nil
}
