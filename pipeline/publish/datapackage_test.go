package publish

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
)

// Every file that a run wrote is described, with its digest, and each table's fields
// are the header of its CSV.
func TestDataPackageDescribesTheRun(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	in := run(t, dir)
	in.Pages = []Page{{Name: "page.html", Bytes: []byte("<p>")}}
	m, err := Folder(in)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(filepath.Join(dir, packageName))
	if err != nil {
		t.Fatal(err)
	}
	var d dataPackage
	if err := json.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	if len(d.Resources) != len(m.Outputs)-1 { // itself
		t.Errorf("%d resources of %d outputs", len(d.Resources), len(m.Outputs))
	}
	described := map[string]dataResource{}
	for _, r := range d.Resources {
		described[r.Path] = r
	}
	for _, o := range m.Outputs {
		r, ok := described[o.Name]
		if o.Name == packageName {
			continue
		}
		if !ok || r.Hash != "sha256:"+o.SHA256 || r.Bytes != o.Bytes || r.MediaType == "application/octet-stream" {
			t.Errorf("%s is described as %+v", o.Name, r)
		}
		if filepath.Ext(o.Name) != ".csv" {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, o.Name))
		if err != nil {
			t.Fatal(err)
		}
		header, _ := cells(t, text)
		if r.Schema == nil || len(header) != len(r.Schema.Fields) {
			t.Fatalf("%s: %d columns, fields %+v", o.Name, len(header), r.Schema)
		}
		for i, f := range r.Schema.Fields {
			if f.Name != header[i] || f.Description == "" {
				t.Errorf("%s: column %q is described as %+v", o.Name, header[i], f)
			}
		}
	}
}
