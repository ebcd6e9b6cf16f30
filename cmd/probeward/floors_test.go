package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// floors is the house rule of who may import whom: a package imports only from
// lower floors, or what a row of beside allows. First match wins.
var floors = []struct {
	prefix string
	floor  int
	reason string
}{
	{"probeward/cmd/", 4, "flags, wiring and exit codes: nothing imports a command"},
	{"probeward/pipeline", 3, "the stages and what they read and write"},
	{"probeward/detectors/detecttest", 3, "the harness stands above the detectors that it tests"},
	{"probeward/detectors/detect", 1, "the contract: it knows physics and statistics, and no fault"},
	{"probeward/detectors/soil", 0, "physics: imports nothing of ours"},
	{"probeward/detectors/robust", 0, "statistics: imports nothing of ours"},
	{"probeward/detectors/", 2, "one fault a folder; none knows another"},
	{"probeward/detectors", 3, "the generated list of detectors"},
	{"probeward/schemas", 0, "tables and words: imports nothing of ours"},
}

// beside lists the imports within one floor that are allowed.
var beside = []struct{ from, to, reason string }{
	{"probeward/pipeline", "probeward/pipeline/", "Run puts the stages in a row"},
	{"probeward/pipeline/", "probeward/pipeline/", "a stage takes what the stage before it gives"},
	{"probeward/detectors", "probeward/detectors/", "the list names its detectors"},
}

// onlyCommands may import the list of detectors: everyone else takes them as an
// argument, so that a run with one detector, or with none, is the same run.
const listOfDetectors = "probeward/detectors"

func floorOf(path string) (int, bool) {
	for _, f := range floors {
		if path == strings.TrimSuffix(f.prefix, "/") && !strings.HasSuffix(f.prefix, "/") || strings.HasPrefix(path, f.prefix) {
			return f.floor, true
		}
	}
	return 0, false
}

type listed struct {
	ImportPath   string
	Imports      []string
	TestImports  []string
	XTestImports []string
	Doc          string
	GoFiles      []string
}

func packages(t *testing.T) []listed {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports,TestImports,XTestImports,Doc,GoFiles", "probeward/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	if len(all) < 10 {
		t.Fatalf("go list shows %d packages; this test would prove nothing", len(all))
	}
	return all
}

func TestImportsRunDownwards(t *testing.T) {
	for _, p := range packages(t) {
		from, ok := floorOf(p.ImportPath)
		if !ok {
			t.Errorf("%s stands on no floor: give it a row with a reason", p.ImportPath)
			continue
		}
		for _, to := range p.Imports {
			if !strings.HasPrefix(to, "probeward/") {
				continue
			}
			if to == listOfDetectors && !strings.HasPrefix(p.ImportPath, "probeward/cmd/") {
				t.Errorf("%s imports the list of detectors: only commands may, the others take detectors as an argument", p.ImportPath)
			}
			if to == "probeward/detectors/detecttest" || to == "probeward/pipeline/store/storetest" {
				t.Errorf("%s imports %s outside its tests", p.ImportPath, to)
			}
			below, _ := floorOf(to)
			if below < from || allowed(p.ImportPath, to) {
				continue
			}
			t.Errorf("%s (floor %d) imports %s (floor %d)", p.ImportPath, from, to, below)
		}
		for _, to := range append(p.TestImports, p.XTestImports...) {
			if strings.HasPrefix(to, "probeward/pipeline") && from < 3 {
				t.Errorf("a test of %s (floor %d) imports %s: test it where it belongs", p.ImportPath, from, to)
			}
		}
	}
}

func allowed(from, to string) bool {
	for _, b := range beside {
		fromOK := from == b.from || strings.HasSuffix(b.from, "/") && strings.HasPrefix(from, b.from)
		if fromOK && strings.HasPrefix(to, b.to) {
			return true
		}
	}
	return false
}

func TestEveryPackageSaysWhatItIsFor(t *testing.T) {
	for _, p := range packages(t) {
		if len(p.GoFiles) > 0 && p.Doc == "" {
			t.Errorf("%s has no package comment", p.ImportPath)
		}
	}
}
