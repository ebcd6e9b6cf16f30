package main

import (
	"embed"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"text/template"

	"probeward/schemas"
)

//go:embed template
var templates embed.FS

// layOut writes the folder of a new detector. Its tests fail until its cases and
// its manual are written: nothing of it can pass by being there.
func layOut(root, fault string) error {
	row, ok := schemas.FaultNamed(fault)
	if !ok {
		var names []string
		for _, f := range schemas.Faults() {
			names = append(names, f.Name)
		}
		return fmt.Errorf("the table of faults (schemas/faults.go) has no %q; it has %s", fault, strings.Join(names, ", "))
	}
	name := strings.ReplaceAll(fault, "_", "")
	dir := filepath.Join(root, "detectors", name)
	if _, err := os.Stat(dir); err == nil {
		return fmt.Errorf("detectors/%s is there already", name)
	}
	if err := os.MkdirAll(filepath.Join(dir, "testdata"), 0o755); err != nil {
		return err
	}
	all, err := template.ParseFS(templates, "template/*")
	if err != nil {
		return err
	}
	data := map[string]any{"Package": name, "Fault": row.Name, "Sentence": row.Sentence, "Group": row.Subject != schemas.SubjectProbe, "Scope": map[schemas.Subject]string{
		schemas.SubjectProbe: "PerProbe", schemas.SubjectLogger: "PerLogger", schemas.SubjectZone: "PerZone"}[row.Subject]}
	for from, to := range map[string]string{
		"doc.go.tmpl": "doc.go", "detector.go.tmpl": name + ".go", "test.go.tmpl": name + "_test.go",
		"find.csv.tmpl": "testdata/plain.find.csv", "clear.csv.tmpl": "testdata/plain.clear.csv", "skip.csv.tmpl": "testdata/empty.skip.csv",
	} {
		f, err := os.Create(filepath.Join(dir, to))
		if err != nil {
			return err
		}
		if err := all.ExecuteTemplate(f, from, data); err != nil {
			f.Close()
			return err
		}
		if err := f.Close(); err != nil {
			return err
		}
	}
	return nil
}
