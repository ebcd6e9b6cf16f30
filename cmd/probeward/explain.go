package main

import (
	"fmt"
	"go/doc"
	"go/parser"
	"go/token"
	"strings"

	"github.com/spf13/cobra"

	"probeward/detectors"
	"probeward/detectors/detect"
)

func explainCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "explain DETECTOR",
		Short: "print a detector's manual: what it looks like, what to check at the post",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			out := c.OutOrStdout()
			if len(args) == 0 {
				for _, d := range detectors.All() {
					fmt.Fprintf(out, "%-28s %-7s needs %s\n", d.Name, d.Scope, d.Needs)
				}
				return nil
			}
			for _, d := range detectors.All() {
				if d.Name == args[0] {
					text, err := manualText(d)
					if err != nil {
						return err
					}
					_, err = fmt.Fprint(out, text)
					return err
				}
			}
			return usage{fmt.Errorf("there is no detector %q; probeward explain lists them", args[0])}
		},
	}
}

// manualText prints a manual for a terminal, with the thresholds as declared.
func manualText(d *detect.Detector) (string, error) {
	f, err := parser.ParseFile(token.NewFileSet(), d.Name+"/doc.go", d.Doc, parser.ParseComments|parser.PackageClauseOnly)
	if err != nil {
		return "", err
	}
	comment := ""
	if f.Doc != nil {
		comment = f.Doc.Text()
	}
	var pkg doc.Package
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", d.Name)
	printer := pkg.Printer()
	printer.TextWidth = 78
	b.Write(printer.Text(pkg.Parser().Parse(comment)))
	if len(d.Params) > 0 {
		b.WriteString("\nParameters, as scan.yaml would set them under detectors: " + d.Name + ":\n\n")
		for _, p := range d.Params {
			unit := p.Unit
			if unit == "1" {
				unit = ""
			}
			fmt.Fprintf(&b, "    %-24s %g %s\n        %s\n        source: %s\n", p.Name, p.Default, unit, p.Why, p.Source)
		}
	}
	return b.String(), nil
}
