package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"probeward/schemas"
)

func schemaCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "schema [TABLE]",
		Short: "print what each column of a table holds",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			out := c.OutOrStdout()
			if len(args) == 0 {
				for _, t := range schemas.Tables() {
					fmt.Fprintf(out, "%-20s %s\n", t.Name, t.Doc)
				}
				return nil
			}
			t, err := schemas.Lookup(args[0])
			if err != nil {
				return usage{err}
			}
			fmt.Fprintf(out, "%s: %s\n", t.Name, t.Doc)
			for _, col := range t.Columns {
				kind := col.Type.String()
				if col.Unit != "" {
					kind += ", " + col.Unit
				}
				required := " "
				if col.Required {
					required = "*"
				}
				fmt.Fprintf(out, "%s %-24s %-16s %s\n", required, col.Name, kind, col.Doc)
			}
			return nil
		},
	}
}
