package duckdb

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// examples are the queries as they stand in their files, by name.
func examples(t *testing.T) map[string]string {
	t.Helper()
	files, err := filepath.Glob("../../schemas/examples/*.sql")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d queries, %v", len(files), err)
	}
	out := map[string]string{}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		_, name, _ := strings.Cut(strings.TrimSuffix(filepath.Base(f), ".sql"), "_")
		out[name] = string(b)
	}
	return out
}

func count(list []map[string]string, is func(map[string]string) bool) (n int) {
	for _, row := range list {
		if is(row) {
			n++
		}
	}
	return n
}

// whole reads a sum that the database may hold in 128 bits.
func whole(t *testing.T, v any) int64 {
	t.Helper()
	switch v := v.(type) {
	case int64:
		return v
	case float64:
		return int64(v)
	case interface{ Int64() int64 }:
		return v.Int64()
	}
	t.Fatalf("%v is a %T", v, v)
	return 0
}

// Every query runs, and its answer agrees with the CSV files and the manifest, which
// are read here without the database.
func TestEveryExample(t *testing.T) {
	db := open(t)
	health := table(t, "health.csv")
	want := map[string]func(t *testing.T, got []map[string]any){
		"unfit": func(t *testing.T, got []map[string]any) {
			v := made.manifest.Verdicts
			if len(got) != v["unfit"]+v["silent"]+v["doubtful"] {
				t.Errorf("%d rows, verdicts %v", len(got), v)
			}
		},
		"usable_readings": usable,
		"daily_by_zone": func(t *testing.T, got []map[string]any) {
			sum := int64(0)
			for _, r := range got {
				sum += whole(t, r["readings"])
				if low, mid, high := r["lowest"].(float64), r["median_of_means"].(float64), r["highest"].(float64); low > mid || mid > high {
					t.Errorf("%v", r)
				}
			}
			if daily := one[int64](t, db, "SELECT sum(readings)::BIGINT FROM 'usable_daily.parquet'"); sum != daily {
				t.Errorf("%d readings, the daily table has %d", sum, daily)
			}
		},
		"daily_from_readings": func(t *testing.T, got []map[string]any) {
			days := map[string]int64{}
			for _, r := range all(t, db, "SELECT probe, day, readings FROM 'usable_daily.parquet'") {
				days[r["probe"].(string)+r["day"].(time.Time).UTC().String()] = r["readings"].(int64)
			}
			if len(days) != len(got) {
				t.Errorf("%d days of probes, the daily table has %d", len(got), len(days))
			}
			for _, r := range got {
				if key := r["probe"].(string) + r["day"].(time.Time).UTC().String(); days[key] != r["readings"].(int64) {
					t.Fatalf("%s: %d readings, the daily table has %d", key, r["readings"], days[key])
				}
			}
		},
		"history": func(t *testing.T, got []map[string]any) {
			runs, newest := int64(0), map[string]string{}
			for _, r := range got {
				runs += r["runs"].(int64)
				if p := r["probe"].(string); newest[p] == "" {
					newest[p] = r["verdict"].(string)
				}
			}
			if n := one[int64](t, db, "SELECT count(*) FROM 'history.parquet'"); n != runs || n != int64(2*len(health)) {
				t.Errorf("%d rows of history, %d in spells, %d probes in two runs", n, runs, len(health))
			}
			for _, h := range health {
				if newest[h["probe"]] != h["verdict"] {
					t.Errorf("%s is %s, its history ends with %s", h["probe"], h["verdict"], newest[h["probe"]])
				}
			}
		},
		"blind": func(t *testing.T, got []map[string]any) {
			if n := count(table(t, "coverage.csv"), func(r map[string]string) bool { return r["blind"] == "true" }); n != len(got) {
				t.Errorf("%d rows, %d are blind", len(got), n)
			}
		},
		"queue": func(t *testing.T, got []map[string]any) {
			if len(got) != made.manifest.Totals.Visits || len(got) == 0 || got[0]["rank"].(int64) != 1 {
				t.Fatalf("%d rows, %d visits", len(got), made.manifest.Totals.Visits)
			}
			if sum := one[float64](t, db, "SELECT sum(minutes)::DOUBLE FROM 'queue.csv'"); math.Abs(sum-number(t, got[len(got)-1]["minutes_so_far"])) > 1e-6 {
				t.Errorf("%v minutes in all, %v up to the last", sum, got[len(got)-1]["minutes_so_far"])
			}
		},
		"lost_readings": func(t *testing.T, got []map[string]any) {
			for i, r := range got {
				if share := number(t, r["lost_share"]); share <= 0 || share > 1 || i > 0 && share > number(t, got[i-1]["lost_share"]) {
					t.Errorf("row %d: %v", i, r)
				}
			}
		},
		"flags_by_verdict": func(t *testing.T, got []map[string]any) {
			sum := int64(0)
			for _, r := range got {
				sum += r["readings"].(int64)
			}
			if n := one[int64](t, db, "SELECT count(*) FROM 'flags.parquet' WHERE time >= (SELECT min(window_start) FROM 'health.parquet') AND time < (SELECT max(window_end) FROM 'health.parquet')"); n != sum {
				t.Errorf("%d readings, the window has %d", sum, n)
			}
		},
		"hours_by_fault": func(t *testing.T, got []map[string]any) {
			for _, r := range got {
				if r["fault"].(string) == "" || number(t, r["hours"]) <= 0 {
					t.Errorf("%v", r)
				}
			}
		},
		"findings": func(t *testing.T, got []map[string]any) {
			if n := count(table(t, "findings.csv"), func(r map[string]string) bool { return r["masked_by"] == "" }); n != len(got) {
				t.Errorf("%d rows, %d are not masked", len(got), n)
			}
		},
		"detectors": func(t *testing.T, got []map[string]any) {
			if len(got) != len(made.manifest.Detectors) {
				t.Errorf("%d rows, %d detectors", len(got), len(made.manifest.Detectors))
			}
		},
		"hit_rates": func(t *testing.T, got []map[string]any) {
			hits, misses := int64(0), int64(0)
			for _, r := range got {
				hits, misses = hits+r["hits"].(int64), misses+r["misses"].(int64)
			}
			if hits == 0 || misses == 0 {
				t.Errorf("%d hits and %d misses: the crew reported one of each at least", hits, misses)
			}
		},
	}
	empty := map[string]bool{"blind": true} // a farm without blind depths is a good farm
	for name, query := range examples(t) {
		t.Run(name, func(t *testing.T) {
			got := all(t, db, query)
			if len(got) == 0 && !empty[name] {
				t.Fatal("no row: this farm proves nothing of it")
			}
			if want[name] == nil {
				t.Fatal("nothing is asserted of it: add a check")
			}
			want[name](t, got)
		})
	}
}

func number(t *testing.T, v any) float64 {
	t.Helper()
	if f, ok := v.(float64); ok {
		return f
	}
	return float64(whole(t, v))
}

// usable counts the readings that may be used in Go: half-open stretches, looked up
// one by one.
func usable(t *testing.T, got []map[string]any) {
	type span struct{ start, end time.Time }
	out := map[string][]span{}
	for _, e := range table(t, "exclusions.csv") {
		var s span
		for name, to := range map[string]*time.Time{"start": &s.start, "end": &s.end} {
			at, err := time.Parse(time.RFC3339Nano, e[name])
			if err != nil {
				t.Fatal(err)
			}
			*to = at
		}
		out[e["probe"]] = append(out[e["probe"]], s)
	}
	db := open(t)
	want, edges := 0, 0
	for _, r := range all(t, db, "SELECT probe, time FROM 'flags.parquet' WHERE value IS NOT NULL") {
		at, left := r["time"].(time.Time), false
		for _, s := range out[r["probe"].(string)] {
			left = left || !at.Before(s.start) && at.Before(s.end)
			if at.Equal(s.end) || at.Equal(s.start) {
				edges++
			}
		}
		if !left {
			want++
		}
	}
	if len(got) != want {
		t.Errorf("%d readings, %d stand outside of every stretch", len(got), want)
	}
	if edges == 0 {
		t.Error("no reading stands at the edge of a stretch: half-open is not tested")
	}
	// And of each probe as many of the window as its row of health says.
	of := map[string]int64{}
	window := all(t, db, "SELECT min(window_start) AS a, max(window_end) AS b FROM 'health.parquet'")[0]
	for _, r := range got {
		if at := r["time"].(time.Time); !at.Before(window["a"].(time.Time)) && at.Before(window["b"].(time.Time)) {
			of[r["probe"].(string)]++
		}
	}
	for _, h := range all(t, db, "SELECT probe, readings_usable AS n FROM 'health.parquet'") {
		if p := h["probe"].(string); of[p] != h["n"].(int64) {
			t.Errorf("%s: %d usable readings, health says %d", p, of[p], h["n"])
		}
	}
}

// What the program prints is what stands in the files, and runs as one script.
func TestPrintedExamples(t *testing.T) {
	for name, query := range examples(t) {
		out, err := exec.Command(made.binary, "schema", "--examples", name).Output()
		if err != nil || string(out) != query {
			t.Errorf("%s: %v, and %d bytes of %d", name, err, len(out), len(query))
		}
	}
	out, err := exec.Command(made.binary, "schema", "--examples").Output()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := open(t).Exec(string(out)); err != nil {
		t.Errorf("the examples as one script: %v", err)
	}
}
