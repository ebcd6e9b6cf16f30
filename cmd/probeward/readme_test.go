package main

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"
)

// Every command of README.md that calls the program runs as it stands there, one
// after the other in one folder.
func TestReadmeCommands(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	ran, inside := 0, false
	for _, line := range strings.Split(string(text), "\n") {
		if strings.HasPrefix(line, "```") {
			inside = line == "```sh"
			continue
		}
		command, ok := strings.CutPrefix(line, "bin/probeward ")
		if !inside || !ok {
			continue
		}
		var out, words bytes.Buffer
		code := run(context.Background(), strings.Fields(command), &out, &words)
		failOn := strings.Contains(command, "--fail-on") && code == exitFailOn
		if code != exitRan && !failOn {
			t.Errorf("%s: exit %d: %s", line, code, words.String())
		}
		ran++
	}
	if ran < 5 {
		t.Errorf("only %d commands were found: the test would prove little", ran)
	}
}
