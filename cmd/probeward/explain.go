package main

import (
	"fmt"
	"go/doc"
	"go/parser"
	"go/token"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"probeward/detectors"
	"probeward/detectors/detect"
	"probeward/pipeline/explain"
	"probeward/pipeline/runfolder"
	"probeward/pipeline/store"
	"probeward/pipeline/table"
	"probeward/pipeline/terminal"
)

func explainCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "explain [DETECTOR | RUN PROBE]",
		Short: "a detector's manual, or why a run gave a probe its verdict",
		Long: prose(
			"explain DETECTOR prints the manual: what the fault looks like, what it is mistaken "+
				"for, its thresholds, what to check at the post. Without a name it lists the "+
				"detectors.",
			"explain RUN PROBE says why that run gave the probe its verdict, with numbers: each "+
				"finding on it, its logger and its zone, what was measured against which threshold, "+
				"what explains what, readings and what is left out of them, what could not be "+
				"evaluated and why, its history over the runs, its visit, and what to check. RUN is "+
				"the folder that a scan wrote; it may be s3://bucket/prefix. One argument is a "+
				"detector, two are a run and a probe, whatever they are called.",
		),
		Example: "  probeward explain open_circuit\n" +
			"  probeward explain runs/2026-W23 JB-019-30\n" +
			"  probeward explain runs/2026-W23 JB-019-30 --json",
		Args:              cobra.MaximumNArgs(2),
		ValidArgsFunction: completeExplain,
		RunE: func(c *cobra.Command, args []string) error {
			if asJSON && len(args) != 2 {
				return usage{fmt.Errorf("--json goes with explain RUN PROBE; manuals are text")}
			}
			switch len(args) {
			case 0:
				return listDetectors(c.OutOrStdout())
			case 1:
				return explainDetector(c.OutOrStdout(), args[0])
			}
			r, err := runfolder.Open(c.Context(), args[0])
			if err != nil {
				return usage{err}
			}
			a, err := explain.Probe(r, args[1], detectors.All())
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(c.OutOrStdout(), a)
			}
			a.Print(c.OutOrStdout())
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object on stdout in place of words, for RUN PROBE")
	return c
}

func listDetectors(w io.Writer) error {
	for _, d := range detectors.All() {
		terminal.Item(w, fmt.Sprintf("%-28s %-7s ", d.Name, d.Scope), "needs "+d.Needs.String())
	}
	return nil
}

func explainDetector(w io.Writer, name string) error {
	var names []string
	for _, d := range detectors.All() {
		if d.Name == name {
			text, err := manualText(d)
			if err != nil {
				return err
			}
			_, err = fmt.Fprint(w, text)
			return err
		}
		names = append(names, d.Name)
	}
	if _, err := os.Stat(filepath.Join(name, "manifest.json")); err == nil || store.Is(name) {
		return usage{fmt.Errorf("%s is a run: name a probe of it too, as in probeward explain %s PROBE", name, name)}
	}
	if near, ok := table.Nearest(name, names); ok {
		return usage{fmt.Errorf("there is no detector %q; did you mean %s? probeward explain lists them", name, near)}
	}
	return usage{fmt.Errorf("there is no detector %q; probeward explain lists them, and probeward explain RUN PROBE is about a probe", name)}
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
