package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// The open records that have no configuration of their own are read by those in
// testdata/opendata: a folder each, in which the record's own folder is called data.
// What must be said of them was read from the files by hand.

// opened lays a configuration of testdata/opendata out beside its record, and skips
// the test where the record is not there.
func opened(t *testing.T, name, record string) (folder string) {
	t.Helper()
	data, err := filepath.Abs(filepath.Join(records, record))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(data); err != nil {
		t.Skipf("skipped: the open record %s is not beside this checkout (%s); nothing of it is checked; put it there", record, data)
	}
	folder = filepath.Join(t.TempDir(), name)
	if err := os.CopyFS(folder, os.DirFS(filepath.Join("testdata", "opendata", name))); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(data, filepath.Join(folder, "data")); err != nil {
		t.Fatal(err)
	}
	return folder
}

// outcome is what a scan of an open record said.
type outcome struct {
	findings, health []map[string]string
	manifest         map[string]any
	folder           string
}

// ran scans a folder with these arguments and holds its ledger to the law.
func ran(t *testing.T, folder string, args ...string) (o outcome) {
	t.Helper()
	o.folder = filepath.Join(t.TempDir(), "run")
	var words bytes.Buffer
	if code := run(context.Background(), append([]string{"scan", folder, "--out", o.folder}, args...), &words, &words); code != exitRan {
		t.Fatalf("exit %d: %s", code, words.String())
	}
	b, err := os.ReadFile(filepath.Join(o.folder, "manifest.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &o.manifest); err != nil {
		t.Fatal(err)
	}
	balanced(t, o.manifest)
	o.findings = readTable(t, filepath.Join(o.folder, "findings.csv"))
	o.health = readTable(t, filepath.Join(o.folder, "health.csv"))
	return o
}

// total is a number of the ledger.
func (o outcome) total(name string) int {
	return int(o.manifest["totals"].(map[string]any)[name].(float64))
}

// of gives the findings of a fault; name may be empty for all.
func (o outcome) of(name, fault string) (list []map[string]string) {
	for _, f := range o.findings {
		if (name == "" || f["name"] == name) && f["fault"] == fault {
			list = append(list, f)
		}
	}
	return list
}

// probe gives a probe's row of health.csv.
func (o outcome) probe(t *testing.T, name string) map[string]string {
	t.Helper()
	i := slices.IndexFunc(o.health, func(h map[string]string) bool { return h["probe"] == name })
	if i < 0 {
		t.Fatalf("no row for %s", name)
	}
	return o.health[i]
}

// rowsOf reads a table of a record; gzip by its name.
func rowsOf(t *testing.T, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var src io.Reader = f
	if strings.HasSuffix(path, ".gz") {
		if src, err = gzip.NewReader(f); err != nil {
			t.Fatal(err)
		}
	}
	r := csv.NewReader(src)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// plotWater makes irrigation.csv of the flags beside the interpolated plots, and
// weather.csv of the sheet of daily demand, whose rows tell of the day before.
func plotWater(t *testing.T, folder string) (waterings, days int) {
	t.Helper()
	var log, weather strings.Builder
	log.WriteString("zone,start,end\n")
	rows := rowsOf(t, filepath.Join(folder, "data", "plots_5min_with_irrigation.csv.gz"))
	for plot := 1; plot <= 4; plot++ {
		column := slices.Index(rows[0], fmt.Sprintf("Plot %d irrigation", plot))
		start := ""
		for _, r := range rows[1:] {
			switch on := r[column] == "1"; {
			case on && start == "":
				start = r[0]
			case !on && start != "":
				fmt.Fprintf(&log, "plot-%d,%s,%s\n", plot, start, r[0])
				start = ""
				waterings++
			}
		}
	}
	weather.WriteString("time,rain_mm,et0_mm\n")
	rows = rowsOf(t, filepath.Join(folder, "data", "irrigation_schedule_maize.csv"))
	demand, rain := -1, -1
	for i, name := range rows[1] {
		switch {
		case strings.Contains(name, "(ETo)"):
			demand = i
		case strings.HasPrefix(name, "Pluie brute"):
			rain = i
		}
	}
	for _, r := range rows[2:] {
		day, err := time.Parse("2006-01-02 15:04:05", r[0])
		if err != nil || r[demand] == "" {
			continue
		}
		fmt.Fprintf(&weather, "%s,%s,%s\n", day.AddDate(0, 0, -1).Format("2006-01-02"), r[rain], r[demand])
		days++
	}
	for name, text := range map[string]string{"irrigation.csv": log.String(), "weather.csv": weather.String()} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return waterings, days
}
