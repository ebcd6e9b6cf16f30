package main

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// topLevel is everything that may stand in the root of the project.
var topLevel = map[string]bool{
	"cmd": true, "pipeline": true, "detectors": true, "schemas": true, "testdata": true,
	"go.mod": true, "go.sum": true, "README.md": true, "DEVELOPERS.md": true, "Makefile": true, "LICENSE": true,
}

func TestTopLevelIsFixed(t *testing.T) {
	out, err := exec.Command("git", "-C", "../..", "ls-files").Output()
	if err != nil {
		t.Skipf("skipped: this is no git checkout, so nothing says which files belong to it (clone it): %v", err)
	}
	files := strings.Fields(string(out))
	if len(files) < 100 {
		t.Fatalf("git lists %d files; this test would prove nothing", len(files))
	}
	for _, f := range files {
		top, _, _ := strings.Cut(f, "/")
		if !topLevel[top] && !strings.HasPrefix(top, ".") {
			t.Errorf("%s: the top level is fixed; put it below one of its folders", f)
		}
	}
}

// A file that passes this hides something that has a name of its own.
const longFile = 450

func TestFilesStayShort(t *testing.T) {
	out, err := exec.Command("git", "-C", "../..", "ls-files", "*.go").Output()
	if err != nil {
		t.Skipf("skipped: this is no git checkout (clone it): %v", err)
	}
	for _, f := range strings.Fields(string(out)) {
		b, err := os.ReadFile("../../" + f)
		if err != nil {
			continue // removed, and not yet committed
		}
		if n := strings.Count(string(b), "\n"); n > longFile {
			t.Errorf("%s has %d lines, over %d: ask what it hides", f, n, longFile)
		}
	}
}
