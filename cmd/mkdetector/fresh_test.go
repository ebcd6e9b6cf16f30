package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"probeward/schemas"
)

const root = "../.."

func TestGeneratedFilesAreFresh(t *testing.T) {
	for name, text := range map[string]func(string) ([]byte, error){listFile: list, manualFile: manual} {
		want, err := text(root)
		if err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(filepath.Join(root, name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s is stale: run make generate", name)
		}
	}
}

func TestLayOutMakesAFolderThatIsFoundAndNotYetPassing(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "detectors"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, f := range schemas.Faults() {
		if err := layOut(dir, f.Name); err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
	}
	found, err := folders(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != len(schemas.Faults()) {
		t.Errorf("%d of %d folders are found again", len(found), len(schemas.Faults()))
	}
	if _, err := list(dir); err != nil {
		t.Errorf("the list of the new folders: %v", err)
	}
	if err := layOut(dir, "gap"); err == nil {
		t.Error("a folder that is there is laid out again")
	}
	if err := layOut(dir, "no_such_fault"); err == nil {
		t.Error("a fault that the table lacks is laid out")
	}
}
