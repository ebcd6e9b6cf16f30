package duckdb

import (
	"database/sql"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	_ "github.com/duckdb/duckdb-go/v2"
)

// farm is the run of a week that knows the one before it, and what the crew found
// between.
type farm struct {
	binary, dir string
	manifest    manifest
	resources   []resource
}

type manifest struct {
	Period struct {
		Zone string `json:"timezone"`
	} `json:"period"`
	Totals struct {
		Visits, Findings int
		Probes           int
		Used             int64
	} `json:"totals"`
	Verdicts  map[string]int `json:"verdicts"`
	Detectors []struct {
		Detector string
	} `json:"detectors"`
	Outputs []struct {
		Name string
		Rows int64
	} `json:"outputs"`
}

// resource is a file as datapackage.json describes it.
type resource struct {
	Path, Description string
	Schema            struct {
		Fields []struct {
			Name, Type, Unit, Description string
			Constraints                   struct{ Required bool }
		}
	}
}

var made *farm

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "probeward-duckdb-")
	if err == nil {
		made, err = makeFarm(dir)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

// makeFarm builds the program, invents a vineyard and scans two weeks of it.
func makeFarm(dir string) (*farm, error) {
	f := &farm{binary: filepath.Join(dir, "probeward"), dir: filepath.Join(dir, "w23")}
	build := exec.Command("go", "build", "-o", f.binary, "./cmd/probeward")
	build.Dir = "../.."
	if out, err := build.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("go build: %w: %s", err, out)
	}
	feed, before := filepath.Join(dir, "farm", "feed"), filepath.Join(dir, "w22")
	steps := [][]string{
		{"simulate", "--seed", "7", "--probes", "60", "--cadence", "1h", "--out", filepath.Join(dir, "farm")},
		{"scan", feed, "--week", "2026-W22", "--quiet", "--out", before},
		{"scan", feed, "--previous", before, "--quiet", "--out", f.dir},
	}
	for i, args := range steps {
		if i == 2 {
			if err := crewReports(before, feed); err != nil {
				return nil, err
			}
		}
		if out, err := exec.Command(f.binary, args...).CombinedOutput(); err != nil {
			return nil, fmt.Errorf("probeward %s: %w: %s", strings.Join(args, " "), err, out)
		}
	}
	for name, to := range map[string]any{"manifest.json": &f.manifest, "datapackage.json": &struct{ Resources *[]resource }{&f.resources}} {
		b, err := os.ReadFile(filepath.Join(f.dir, name))
		if err == nil {
			err = json.Unmarshal(b, to)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	return f, nil
}

// crewReports writes visits.csv: the first two visits of the week before, one a hit
// and one with nothing wrong.
func crewReports(run, feed string) error {
	queue, err := rows(filepath.Join(run, "queue.csv"))
	if err != nil {
		return err
	}
	if len(queue) < 2 {
		return fmt.Errorf("the week before has %d visits, and two are needed: choose another seed", len(queue))
	}
	text := "visit,visited_on,found,outcome\n"
	text += fmt.Sprintf("%s,2026-06-02,%s,repaired\n", queue[0]["visit"], strings.Fields(queue[0]["faults"])[0])
	text += fmt.Sprintf("%s,2026-06-02,nothing_wrong,left\n", queue[1]["visit"])
	return os.WriteFile(filepath.Join(feed, "visits.csv"), []byte(text), 0o644)
}

// rows reads a CSV without the database's help.
func rows(path string) ([]map[string]string, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	if err != nil || len(all) == 0 {
		return nil, fmt.Errorf("%s: %d lines, %w", path, len(all), err)
	}
	out := make([]map[string]string, len(all)-1)
	for i, cells := range all[1:] {
		out[i] = map[string]string{}
		for j, c := range cells {
			out[i][all[0][j]] = c
		}
	}
	return out, nil
}

func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	out, err := rows(filepath.Join(made.dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// open gives a database that finds the run's files by their names and keeps the clock
// of the farm.
func open(t *testing.T) *sql.DB {
	t.Helper()
	db, err := sql.Open("duckdb", "")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	db.SetMaxOpenConns(1) // settings are a connection's
	for _, set := range []string{"SET file_search_path = '" + made.dir + "'", "SET timezone = '" + made.manifest.Period.Zone + "'"} {
		if _, err := db.Exec(set); err != nil {
			t.Fatal(err)
		}
	}
	return db
}

// one gives a query's single value.
func one[T any](t *testing.T, db *sql.DB, query string) (v T) {
	t.Helper()
	if err := db.QueryRow(query).Scan(&v); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	return v
}

// all gives a query's rows by column.
func all(t *testing.T, db *sql.DB, query string) (out []map[string]any) {
	t.Helper()
	r, err := db.Query(query)
	if err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	defer r.Close()
	names, err := r.Columns()
	if err != nil {
		t.Fatal(err)
	}
	for r.Next() {
		values, to := make([]any, len(names)), make([]any, len(names))
		for i := range values {
			to[i] = &values[i]
		}
		if err := r.Scan(to...); err != nil {
			t.Fatal(err)
		}
		row := map[string]any{}
		for i, n := range names {
			row[n] = values[i]
		}
		out = append(out, row)
	}
	if err := r.Err(); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	return out
}
