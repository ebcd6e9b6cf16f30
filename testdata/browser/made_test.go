package browser

import (
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// root is the project's folder.
const root = "../.."

// runs holds what the tests look at: the folders of scans, and the binary.
var runs struct {
	dir, binary, vineyard string
	demo                  string // the demo vineyard, with the week before
	plan                  string // the same with a shift laid out
	none                  string // healthy probes: nothing to visit, nothing found
	spiteful              string // names that break what does not escape
	many                  string // a report with 500 charts
}

func command(name string, args ...string) error {
	c := exec.Command(name, args...)
	if out, err := c.CombinedOutput(); err != nil {
		return fmt.Errorf("%s %s: %w\n%s", filepath.Base(name), strings.Join(args, " "), err, out)
	}
	return nil
}

// steps runs one command after the other, up to the first that fails.
func steps(list ...[]string) error {
	for _, s := range list {
		if err := command(s[0], s[1:]...); err != nil {
			return err
		}
	}
	return nil
}

func makeRuns() error {
	dir, err := os.MkdirTemp("", "probeward-browser-")
	if err != nil {
		return err
	}
	in := func(name string) string { return filepath.Join(dir, name) }
	runs.dir, runs.binary, runs.vineyard = dir, in("probeward"), in("vineyard")
	runs.demo, runs.plan, runs.none, runs.spiteful, runs.many = in("demo"), in("plan"), in("none"), in("spiteful"), in("many.html")
	b := runs.binary
	if given := os.Getenv("PROBEWARD"); given != "" {
		b, runs.binary = given, given
	} else if err := command("go", "build", "-C", root, "-o", b, "./cmd/probeward"); err != nil {
		return err
	}
	err = steps(
		[]string{b, "simulate", "--seed", "7", "--out", runs.vineyard},
		[]string{b, "scan", in("vineyard/feed"), "--until", "2026-06-01", "--out", in("before")},
		[]string{b, "scan", in("vineyard/feed"), "--previous", in("before"), "--out", runs.demo},
		[]string{b, "scan", in("vineyard/feed"), "--previous", in("before"), "--out", runs.plan, "--shift", "4h", "--crews", "2", "--start", "41.3700,-119.1200"},
		[]string{b, "simulate", "--healthy", "--seed", "7", "--probes", "24", "--out", in("healthy")},
		[]string{b, "scan", in("healthy/feed"), "--out", runs.none},
	)
	if err != nil {
		return err
	}
	if err := renameAll(in("vineyard/feed"), in("renamed/feed")); err != nil {
		return err
	}
	if err := steps([]string{b, "scan", in("renamed/feed"), "--out", runs.spiteful}); err != nil {
		return err
	}
	c := exec.Command("go", "test", "./pipeline/report", "-count=1", "-vet=off", "-run", "TestFiveHundredCharts")
	c.Dir, c.Env = root, append(os.Environ(), "REPORT_PAGE="+runs.many)
	if out, err := c.CombinedOutput(); err != nil {
		return fmt.Errorf("the page of 500 charts: %w\n%s", err, out)
	}
	return nil
}

// spite is a name that breaks what does not escape: it would rename the page if any
// part of it were read as markup.
const spite = `<img src=x onerror="document.title='broken'">&'</script><script>document.title="broken"</script>`

// renameAll copies a feed and gives its farm, blocks, rows, tags, posts and the probes
// that exports do not name spiteful or very long names.
func renameAll(from, to string) error {
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		return err
	}
	path := filepath.Join(to, "probes.csv")
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	rows, err := csv.NewReader(f).ReadAll()
	f.Close()
	if err != nil {
		return err
	}
	at := map[string]int{}
	for k, name := range rows[0] {
		at[name] = k
	}
	wide, err := filepath.Glob(filepath.Join(from, "readings/wide/*.csv"))
	if err != nil {
		return err
	}
	byPort := map[string]bool{} // loggers whose exports name ports, not probes
	for _, w := range wide {
		logger, _, _ := strings.Cut(filepath.Base(w), "_")
		byPort[logger] = true
	}
	long := strings.Repeat("Unbrokenlongname", 5)
	for _, r := range rows[1:] {
		r[at["farm"]] = "Farm " + spite
		r[at["block"]] += " " + spite
		r[at["row"]] = `"12"` + "\nnorth"
		r[at["tag"]] = "=" + r[at["tag"]]
		r[at["post"]] += " " + long
		if byPort[r[at["logger"]]] {
			r[at["probe"]] += " " + spite
		}
	}
	out, err := os.Create(path)
	if err != nil {
		return err
	}
	w := csv.NewWriter(out)
	if err := w.WriteAll(rows); err != nil {
		return err
	}
	return out.Close()
}

// page gives the address of a page.
func page(t *testing.T, run, name string) string {
	t.Helper()
	path := run
	if name != "" {
		path = filepath.Join(run, name)
	}
	if _, err := os.Stat(path); err != nil {
		t.Fatal(err)
	}
	return "file://" + path
}
