package main

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"probeward/detectors"
	"probeward/pipeline/store/storetest"
	"probeward/pipeline/terminal"
)

// wide lists the lines that a terminal of 80 columns would break, or that would steer
// it.
func wide(t *testing.T, what, words string) {
	t.Helper()
	for _, line := range strings.Split(words, "\n") {
		if n := terminal.Columns(line); n > terminal.Width || strings.ContainsAny(line, "\x1b\r") {
			t.Errorf("%s: %d columns: %q", what, n, line)
		}
	}
}

// renamed is a farm whose blocks, zones, posts and loggers have names as long and as
// strange as an export can carry.
func renamed(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	must(t, "simulate", "--seed", "7", "--probes", "40", "--weeks", "4", "--cadence", "1h", "--out", dir)
	register := filepath.Join(dir, "feed", "probes.csv")
	text := string(bytesOf(t, register))
	for old, new := range map[string]string{
		"Terrace ": strings.Repeat("a block whose name goes on ", 6), "post-0": strings.Repeat("post-with-a-long-name-", 8) + "北西区画-0",
		"JB-0": strings.Repeat("probe_", 20) + "\x1b[31m-0",
	} {
		if !strings.Contains(text, old) {
			t.Fatalf("%q is not in the register: the test would prove nothing", old)
		}
		text = strings.ReplaceAll(text, old, new)
	}
	if err := os.WriteFile(register, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "feed")
}

// Everything that is said to a person fits 80 columns, whatever the names.
func TestWordsFitTheTerminal(t *testing.T) {
	feed := renamed(t)
	run1 := filepath.Join(t.TempDir(), strings.Repeat("deep/", 30)+"run")
	words := must(t, "scan", feed, "--out", run1)
	if !strings.Contains(words, "visits   the first") {
		t.Fatalf("no visits are shown, so nothing long is: %s", words)
	}
	wide(t, "scan", words)
	wide(t, "scan --dry-run", must(t, "scan", feed, "--dry-run"))
	wide(t, "diff", must(t, "diff", run1, run1))
	var m struct{ Visits []scanVisit }
	if err := json.Unmarshal([]byte(must(t, "scan", feed, "--out", run1, "--json", "--quiet")), &m); err != nil || len(m.Visits) == 0 {
		t.Fatalf("%d visits, %v", len(m.Visits), err)
	}
	for _, v := range m.Visits {
		wide(t, "explain", must(t, "explain", run1, v.Probes[0]))
	}
	wide(t, "schema", must(t, "schema"))
	wide(t, "explain", must(t, "explain"))
	wide(t, "examples", must(t, "schema", "--examples"))
	for _, name := range []string{"health", "findings", "queue", "probes", "installs"} {
		wide(t, "schema "+name, must(t, "schema", name))
	}
}

// Every command says in its help what it does, and shows one that can be typed.
func TestHelp(t *testing.T) {
	wide(t, "--help", must(t, "--help"))
	for _, args := range [][]string{{"scan"}, {"simulate"}, {"explain"}, {"diff"}, {"schema"}, {"completion"}, {"man"}} {
		words := must(t, append(args, "--help")...)
		if !strings.Contains(words, "Examples:") {
			t.Errorf("%s --help shows no example", args[0])
		}
		wide(t, args[0]+" --help", words)
	}
}

// The numbers of the object are those of the tables.
func TestJSONSummaryAgreesWithTheTables(t *testing.T) {
	feed, local := vineyard(t)
	first := must(t, "scan", feed, "--out", local, "--json", "--quiet")
	var got scanSummary
	d := json.NewDecoder(strings.NewReader(first))
	d.DisallowUnknownFields()
	if err := d.Decode(&got); err != nil {
		t.Fatal(err)
	}
	m := manifestOf(t, bytesOf(t, filepath.Join(local, "manifest.json")))
	sum := 0
	for _, n := range got.Verdicts {
		sum += n
	}
	lines := func(name string) int { return bytes.Count(bytesOf(t, filepath.Join(local, name)), []byte("\n")) - 1 }
	if r := got.Readings; sum != got.Probes || got.Probes != lines("health.csv") || len(got.Verdicts) != 6 || r.Read != r.Used+r.Repeated+r.Rejected ||
		r.Used != m.Totals.Used || len(got.Visits) != m.Totals.Visits || got.Places != lines("coverage.csv") || got.Window.Start != m.Period.Start {
		t.Errorf("%+v", got)
	}
	same := func(text string) string { head, _, _ := strings.Cut(text, `"run": {`); return head }
	if again := must(t, "scan", feed, "--out", local, "--json", "--quiet"); same(again) != same(first) {
		t.Errorf("the same input gave %s, then %s", same(first), same(again))
	}
}

// Runs in an object store are compared and explained like those on disk.
func TestDiffAndExplainInAnObjectStore(t *testing.T) {
	feed, local := vineyard(t)
	storetest.Serve(t)
	must(t, "scan", feed, "--out", "s3://vineyard/runs/w1", "--quiet")
	if words := must(t, "diff", local, "s3://vineyard/runs/w1"); !strings.Contains(words, "both runs judge the same window") || !strings.Contains(words, "s3://vineyard/runs/w1") {
		t.Error(words)
	}
	rows := strings.Split(string(bytesOf(t, filepath.Join(local, "health.csv"))), "\n")
	probe := strings.Split(rows[1], ",")[slices.Index(strings.Split(rows[0], ","), "probe")]
	near, far := must(t, "explain", local, probe, "--json"), must(t, "explain", "s3://vineyard/runs/w1", probe, "--json")
	if strings.ReplaceAll(far, "s3://vineyard/runs/w1", local) != near {
		t.Errorf("on disk %s\nin the store %s", near, far)
	}
	if code, words := command(t, "explain", "s3://vineyard/none", probe); code != exitUsage || !strings.Contains(words, "no object has a key that begins so") {
		t.Errorf("exit %d: %s", code, words)
	}
}

// Bars belong on a terminal that can draw them.
func TestProgressOnTerminalsOnly(t *testing.T) {
	var piped bytes.Buffer
	if newBars(&piped) != nil {
		t.Error("a pipe got a bar")
	}
	tty, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skipf("skipped: no terminal can be opened here, so none gets a bar (needs a mounted /dev/ptmx): %v", err)
	}
	defer tty.Close()
	t.Setenv("TERM", "dumb")
	if newBars(tty) != nil {
		t.Error("a terminal without a cursor got a bar")
	}
	t.Setenv("TERM", "xterm")
	b := newBars(tty)
	if b == nil {
		t.Fatal("a terminal got no bar")
	}
	b.Stage("read", "B", 1<<20)
	b.Add(1 << 19)
	b.Stage("examine", "probes", 3)
	b.Add(3)
	b.Wait()
}

// The pages are what man reads: every macro is known, and no line is lost to a leading
// point.
func TestManPagesAreRoff(t *testing.T) {
	dir := t.TempDir()
	must(t, "man", dir)
	pages, err := filepath.Glob(filepath.Join(dir, "*.1"))
	if err != nil || len(pages) < 10 {
		t.Fatalf("%d pages, %v", len(pages), err)
	}
	known := strings.Fields(".TH .ad .SH .PP .TP .B .BR .nf .fi")
	for _, page := range pages {
		for i, line := range strings.Split(string(bytesOf(t, page)), "\n") {
			macro, _, _ := strings.Cut(line, " ")
			if strings.HasPrefix(line, ".") && !strings.HasPrefix(line, ".\\\"") && !slices.Contains(known, macro) || strings.HasPrefix(line, "'") {
				t.Errorf("%s:%d: %s", filepath.Base(page), i+1, line)
			}
		}
	}
	groff, err := exec.LookPath("groff")
	if err != nil {
		t.Skip("skipped: groff is not here, so no page was set; its macros were checked (apt-get install groff-base)")
	}
	out, err := exec.Command(groff, append([]string{"-man", "-Tascii", "-ww", "-z"}, pages...)...).CombinedOutput()
	if err != nil || len(out) > 0 {
		t.Errorf("%v: %s", err, out)
	}
}

// Completion asks for no file where a name is meant, and for folders where a run is.
func TestCompletion(t *testing.T) {
	names, how := completeExplain(nil, nil, "")
	if len(names) != len(detectors.All()) || how != cobra.ShellCompDirectiveNoFileComp {
		t.Errorf("%d detectors, %v", len(names), how)
	}
	if names, how := completeExplain(nil, nil, "runs/"); len(names) != 0 || how != cobra.ShellCompDirectiveFilterDirs {
		t.Errorf("%v, %v", names, how)
	}
	if names, _ := completeExplain(nil, []string{t.TempDir()}, ""); names != nil {
		t.Errorf("a folder that is no run has probes: %v", names)
	}
	for _, shell := range shells {
		var a, b bytes.Buffer
		if run(t.Context(), []string{"completion", shell}, &a, io.Discard) != exitRan || run(t.Context(), []string{"completion", shell}, &b, io.Discard) != exitRan ||
			a.Len() < 1000 || !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: %d bytes, then %d", shell, a.Len(), b.Len())
		}
	}
}
