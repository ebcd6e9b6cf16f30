package simulate

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/csv"
	"fmt"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/goccy/go-yaml"

	"probeward/schemas"
)

// digest is the sum of every file below a folder.
func digest(t *testing.T, root string) map[string]string {
	t.Helper()
	sums := map[string]string{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		rel, _ := filepath.Rel(root, path)
		sums[filepath.ToSlash(rel)] = fmt.Sprintf("%x", sha256.Sum256(text))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return sums
}

func written(t *testing.T, o Options) (string, Summary) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "farm")
	s, err := Write(dir, o)
	if err != nil {
		t.Fatal(err)
	}
	return dir, s
}

func TestSameOptionsSameBytes(t *testing.T) {
	o := small(4)
	o.Workers = 1
	a, sa := written(t, o)
	o.Workers = 5
	b, sb := written(t, o)
	if x, y := digest(t, a), digest(t, b); !maps.Equal(x, y) || len(x) < 20 {
		t.Errorf("one worker and five wrote different bytes, or few files (%d, %d)", len(x), len(y))
	}
	if sa != sb {
		t.Errorf("counted %+v and %+v", sa, sb)
	}
	o.Seed++
	c, _ := written(t, o)
	if maps.Equal(digest(t, a), digest(t, c)) {
		t.Error("another seed wrote the same bytes")
	}
}

func TestWriteReplacesOnlyItsOwn(t *testing.T) {
	o := small(1)
	o.Probes, o.Weeks = 6, 2
	dir, _ := written(t, o)
	first := digest(t, dir)
	o.Seed++
	if _, err := Write(dir, o); err != nil {
		t.Fatalf("its own folder: %v", err)
	}
	if maps.Equal(first, digest(t, dir)) {
		t.Error("its own folder was not replaced")
	}
	foreign := t.TempDir()
	note := filepath.Join(foreign, "keep.txt")
	if err := os.WriteFile(note, []byte("mine"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := Write(foreign, o); err == nil || !strings.Contains(err.Error(), "choose another folder") {
		t.Errorf("a foreign folder: %v", err)
	}
	if text, _ := os.ReadFile(note); string(text) != "mine" {
		t.Error("a foreign file is gone")
	}
	if _, err := Write(t.TempDir(), o); err != nil {
		t.Errorf("an empty folder: %v", err)
	}
	left, _ := os.ReadDir(filepath.Dir(dir))
	if len(left) != 1 {
		t.Errorf("%d entries beside the folder, want none left over", len(left)-1)
	}
}

func TestOptionsAreChecked(t *testing.T) {
	for _, c := range []struct {
		change func(*Options)
		want   string
	}{
		{func(o *Options) { o.Probes = 3 }, "3 probes"},
		{func(o *Options) { o.Weeks = 1 }, "1 weeks"},
		{func(o *Options) { o.Cadence = 7 * time.Minute }, "7m0s"},
		{func(o *Options) { o.Export = "furlong" }, "furlong"},
		{func(o *Options) { o.Shape = "round" }, "round"},
	} {
		o := small(1)
		c.change(&o)
		if _, err := Plan(o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("want an error that names %q, got %v", c.want, err)
		}
	}
	if v, err := Plan(Options{}); err != nil || len(v.Probes) != 120 || len(v.Faults) != 0 {
		t.Errorf("no options at all: %d probes, %d faults, %v", len(v.Probes), len(v.Faults), err)
	}
}

func table(t *testing.T, path string) [][]string {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var r io.Reader = bytes.NewReader(raw)
	if strings.HasSuffix(path, ".gz") {
		z, err := gzip.NewReader(r)
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		r = z
	}
	rows, err := csv.NewReader(r).ReadAll() // refuses rows of another length
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return rows
}

func TestFeedReadsBack(t *testing.T) {
	for _, o := range []Options{small(2), func() Options { o := small(2); o.Shape, o.Export = "long", "vwc"; return o }(), func() Options { o := small(2); o.Shape, o.Export = "wide", "ohm"; return o }(),
		func() Options { o := small(8); o.Measure = true; return o }()} {
		t.Run(fmt.Sprint(o.Shape, " ", o.Export, " ", o.Measure), func(t *testing.T) {
			dir, summary := written(t, o)
			feed := filepath.Join(dir, "feed")
			for name, want := range map[string]schemas.Table{"probes": schemas.Probes, "loggers": schemas.Loggers, "irrigation": schemas.Irrigation, "weather": schemas.Weather} {
				rows := table(t, filepath.Join(feed, name+".csv"))
				if got := strings.Join(rows[0], ","); got != strings.Join(want.Header(), ",") {
					t.Errorf("%s.csv starts with %s", name, got)
				}
				for n, c := range want.Columns {
					for _, row := range rows[1:] {
						checkField(t, name, c, row[n])
					}
				}
			}
			register := table(t, filepath.Join(feed, "probes.csv"))
			if len(register)-1 != o.Probes || summary.Probes != o.Probes {
				t.Errorf("%d rows in the register and %d counted, want %d", len(register)-1, summary.Probes, o.Probes)
			}
			got := readBack(t, feed, register)
			if len(got.readings) != summary.Readings-got.covered {
				t.Errorf("%d distinct readings in the files (and %d under a false stamp of another), %d counted", len(got.readings), got.covered, summary.Readings)
			}
			if got.repeated == 0 || got.backwards == 0 {
				t.Errorf("%d repeated and %d out of order, want some of both", got.repeated, got.backwards)
			}
			var config map[string]any
			text, err := os.ReadFile(filepath.Join(feed, "scan.yaml"))
			if err != nil || yaml.Unmarshal(text, &config) != nil || config["timezone"] != Timezone {
				t.Errorf("scan.yaml: %v %v", err, config)
			}
			for _, source := range config["readings"].([]any) {
				glob := source.(map[string]any)["path"].(string)
				if files, _ := filepath.Glob(filepath.Join(feed, glob)); len(files) == 0 {
					t.Errorf("scan.yaml reads %s, and there is none", glob)
				}
			}
		})
	}
}

func checkField(t *testing.T, name string, c schemas.Column, field string) {
	t.Helper()
	var err error
	switch {
	case field == "":
		if c.Required {
			err = fmt.Errorf("is empty")
		}
	case c.Type == schemas.Number || c.Type == schemas.Integer:
		_, err = strconv.ParseFloat(field, 64)
	case c.Type == schemas.Boolean:
		_, err = strconv.ParseBool(field)
	case c.Type == schemas.Time:
		if _, err = time.Parse(time.RFC3339, field); err != nil {
			_, err = time.Parse(time.DateOnly, field)
		}
	}
	if err != nil {
		t.Fatalf("%s.csv, %s %q: %v", name, c.Name, field, err)
	}
}

type reading struct {
	probe string
	at    int64
}

type backRead struct {
	readings                     map[reading]string
	repeated, backwards, covered int
}

// readBack reads every export with nothing but the register to go by.
func readBack(t *testing.T, feed string, register [][]string) backRead {
	t.Helper()
	column := map[string]int{}
	for n, name := range register[0] {
		column[name] = n
	}
	known := map[string]bool{}
	onPort := map[string][][]string{}
	for _, row := range register[1:] {
		known[row[column["probe"]]] = true
		key := row[column["logger"]] + " " + row[column["port"]]
		onPort[key] = append(onPort[key], row)
	}
	out := backRead{readings: map[reading]string{}}
	put := func(probe string, at time.Time, value string) {
		key := reading{probe, at.Unix()}
		if was, ok := out.readings[key]; ok {
			out.repeated++
			if was != value {
				out.covered++
			}
			return
		}
		out.readings[key] = value
	}
	farm, _ := time.LoadLocation(Timezone)
	files, _ := filepath.Glob(filepath.Join(feed, "readings", "*", "*"))
	for _, path := range files {
		rows := table(t, path)
		logger, _, _ := strings.Cut(filepath.Base(path), "_")
		last := time.Time{}
		for _, row := range rows[1:] {
			var at time.Time
			var err error
			if rows[0][0] == "time" {
				at, err = time.Parse(time.RFC3339, row[0])
				if !known[row[1]] {
					t.Fatalf("%s: probe %q is not in the register", path, row[1])
				}
				if row[2] != "" {
					put(row[1], at, row[2])
				}
			} else {
				at, err = time.ParseInLocation(stampLayout, row[0], farm)
				for n, name := range rows[0] {
					port, _, isPort := strings.Cut(name, "_")
					if !isPort || name[0] != 'P' || row[n] == "" || row[n] == "NAN" {
						continue
					}
					if probe := probeAt(onPort[logger+" "+port], column, at); probe == "" {
						if at.Year() > 2020 {
							t.Fatalf("%s: nobody is on port %s at %v", path, port, at)
						}
						put(onPort[logger+" "+port][0][column["probe"]], at, row[n])
					} else {
						put(probe, at, row[n])
					}
				}
			}
			if err != nil {
				t.Fatalf("%s: %v", path, err)
			}
			if at.Before(last) {
				out.backwards++
			}
			last = at
		}
	}
	return out
}

func probeAt(rows [][]string, column map[string]int, at time.Time) string {
	for _, row := range rows {
		from, _ := time.Parse(time.RFC3339, row[column["valid_from"]])
		to, _ := time.Parse(time.RFC3339, row[column["valid_to"]])
		if !at.Before(from) && (to.IsZero() || at.Before(to)) {
			return row[column["probe"]]
		}
	}
	return ""
}

// The truth must not leak into what a scan reads.
func TestFeedKeepsTheSecret(t *testing.T) {
	dir, _ := written(t, small(6))
	err := filepath.WalkDir(filepath.Join(dir, "feed"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		for _, f := range schemas.Faults() {
			if bytes.Contains(text, []byte(f.Name)) {
				t.Errorf("%s names %s", path, f.Name)
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestTruthUsesTheVocabulary(t *testing.T) {
	dir, summary := written(t, small(6))
	faults := table(t, filepath.Join(dir, "truth", "faults.csv"))
	if len(faults)-1 != summary.Faults || summary.Faults == 0 {
		t.Errorf("%d faults written, %d counted", len(faults)-1, summary.Faults)
	}
	for _, row := range faults[1:] {
		f, ok := schemas.FaultNamed(row[3])
		if !ok || string(f.Subject) != row[0] || row[1] == "" || (row[0] == "probe") != (row[2] != "") {
			t.Errorf("no such fault of such a subject: %v", row)
		}
	}
	if probes := table(t, filepath.Join(dir, "truth", "probes.csv")); len(probes)-1 != summary.Probes {
		t.Errorf("%d probes in the truth, %d in the register", len(probes)-1, summary.Probes)
	}
}

// A threshold or formula shared with the judges would be judged by itself.
func TestSharesNothingWithTheDetectors(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) == 0 {
		t.Fatal("no files", err)
	}
	for _, path := range files {
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range f.Imports {
			if name := strings.Trim(i.Path.Value, `"`); strings.HasPrefix(name, "probeward/") && name != "probeward/detectors/soil" && name != "probeward/schemas" {
				t.Errorf("%s imports %s", path, name)
			}
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	o := Defaults()
	o.Probes, o.Weeks = 100, 8
	for i := 0; b.Loop(); i++ {
		s, err := Write(filepath.Join(b.TempDir(), strconv.Itoa(i)), o)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(s.Readings), "readings")
	}
}
