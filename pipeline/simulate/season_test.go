package simulate

import (
	"bytes"
	"encoding/csv"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// seasonOf lives a short season with a crew that is told the truth, and calls see
// after each week.
func seasonOf(t *testing.T, seed uint64, see func(s *Season)) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "farm")
	s, err := NewSeason(dir, SeasonOptions{Seed: seed, Probes: 24, Weeks: 3, Visits: 10, PerWeek: 5, Cadence: time.Hour, Shape: "long"})
	if err != nil {
		t.Fatal(err)
	}
	for !s.Done() {
		if err := s.Advance(); err != nil {
			t.Fatal(err)
		}
		if see != nil {
			see(s)
		}
		queue := [][]string{{"visit", "post", "family", "probes", "loggers", "zone", "minutes"}}
		for k := range s.v.Faults {
			if f := &s.v.Faults[k]; f.open(s.Until()) && f.Subject == "probe" {
				queue = append(queue, []string{f.Name, "", "probe", f.Name, "", "", "5"})
			} else if f.open(s.Until()) && f.Subject == "logger" {
				queue = append(queue, []string{f.Name, "", "logger", "", f.Name, "", "5"})
			}
		}
		path := filepath.Join(t.TempDir(), "queue.csv")
		if err := writeTable(path, queue[0], queue[1:]); err != nil {
			t.Fatal(err)
		}
		if err := s.Send(path); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func readTable(t *testing.T, path string) (out []map[string]string) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	all, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	for _, row := range all[1:] {
		m := map[string]string{}
		for i, name := range all[0] {
			m[name] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func when(t *testing.T, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestASeasonRepeatsItsBytes(t *testing.T) {
	t.Parallel()
	read := func(dir string) map[string]string {
		out := map[string]string{}
		err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			b, err := os.ReadFile(path)
			out[strings.TrimPrefix(path, dir)] = string(b)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	a, b := read(seasonOf(t, 5, nil)), read(seasonOf(t, 5, nil))
	if len(a) < 20 || len(a) != len(b) {
		t.Fatalf("%d files and %d", len(a), len(b))
	}
	for name, text := range a {
		if b[name] != text {
			t.Errorf("%s differs between two seasons of one seed", name)
		}
	}
}

// Nothing in the feed is from after the Monday, and a download that repeats a
// reading repeats its value: what was sent never changes.
func TestTheFeedHoldsThePast(t *testing.T) {
	t.Parallel()
	sent := map[string]string{} // value by probe and time, of the long exports
	weeks := 0
	seasonOf(t, 5, func(s *Season) {
		weeks++
		for _, row := range readTable(t, filepath.Join(s.Feed(), "irrigation.csv")) {
			if when(t, row["end"]).After(s.Until()) {
				t.Errorf("a watering that ends at %s is logged by %v", row["end"], s.Until())
			}
		}
		for _, row := range readTable(t, filepath.Join(s.Feed(), "weather.csv")) {
			if !when(t, row["time"]).Before(s.Until()) {
				t.Errorf("the weather of %s is known by %v", row["time"], s.Until())
			}
		}
		for _, row := range readTable(t, filepath.Join(s.Feed(), "probes.csv")) {
			if row["valid_from"] != "" && when(t, row["valid_from"]).After(s.Until()) {
				t.Errorf("probe %s is registered before it is there", row["probe"])
			}
		}
		files, _ := filepath.Glob(filepath.Join(s.Feed(), "readings", "long", "*.csv"))
		for _, path := range files {
			if wrongClock(s, filepath.Base(path)) {
				continue // two of its readings may bear one stamp, and a stamp may lie ahead
			}
			for _, row := range readTable(t, path) {
				key := row["probe"] + " " + row["time"]
				if was, ok := sent[key]; ok && was != row["value"] {
					t.Errorf("%s was %s and is now %s", key, was, row["value"])
				}
				sent[key] = row["value"]
				if !when(t, row["time"]).Before(s.Until()) {
					t.Errorf("%s came before its time", key)
				}
			}
		}
	})
	if weeks != 3 || len(sent) < 1000 {
		t.Fatalf("%d weeks and %d readings prove nothing", weeks, len(sent))
	}
}

// wrongClock says whether a file is of a logger whose clock was ever wrong.
func wrongClock(s *Season, file string) bool {
	for k := range s.v.Faults {
		if f := &s.v.Faults[k]; f.Fault == "clock_error" && strings.HasPrefix(file, f.Name) {
			return true
		}
	}
	return false
}

// A fault that the crew ended leaves no trace from that hour on; a replaced probe
// ends in the register where its successor begins, at the same port.
func TestRepairsHold(t *testing.T) {
	t.Parallel()
	dir := seasonOf(t, 5, nil)
	type span struct{ from, to time.Time }
	faults := map[string][]span{}
	mended := 0
	for _, f := range readTable(t, filepath.Join(dir, "truth", "faults.csv")) {
		x := span{from: when(t, f["start"]), to: time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)}
		if f["end"] != "" {
			x.to = when(t, f["end"])
		}
		if f["ended_by"] == "crew" {
			mended++
		}
		for _, name := range append(strings.Fields(f["probes"]), f["name"]) {
			faults[name] = append(faults[name], x)
		}
	}
	if mended < 3 {
		t.Fatalf("%d repairs prove nothing", mended)
	}
	rows := 0
	files, _ := filepath.Glob(filepath.Join(dir, "truth", "counterfactual", "*.csv"))
	for _, path := range files {
		for _, row := range readTable(t, path) {
			rows++
			at, within := when(t, row["time"]), false
			for _, x := range faults[row["probe"]] {
				within = within || !at.Before(x.from) && at.Before(x.to)
			}
			if !within {
				t.Fatalf("%s reads %s for %s at %s, and no fault stands", row["probe"], row["faulty"], row["clean"], row["time"])
			}
		}
	}
	if rows < 100 {
		t.Errorf("%d faulty readings prove nothing", rows)
	}
	register := readTable(t, filepath.Join(dir, "feed", "probes.csv"))
	replaced := 0
	for _, v := range readTable(t, filepath.Join(dir, "feed", "visits.csv")) {
		if v["outcome"] != "replaced" {
			continue
		}
		for _, old := range register {
			for _, next := range register {
				if old["probe"] == v["probe"] && next["valid_from"] == old["valid_to"] && next["logger"] == old["logger"] && next["port"] == old["port"] {
					replaced++
					if next["installed_on"] == "" || next["serial"] == old["serial"] || next["depth_cm"] != old["depth_cm"] {
						t.Errorf("%s follows %s: %v", next["probe"], old["probe"], next)
					}
				}
			}
		}
	}
	if replaced == 0 {
		t.Error("no replacement in this season")
	}
}

func TestSeasonRefusesAFolderInUse(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "mine.txt"), []byte("mine"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := NewSeason(dir, SeasonOptions{Probes: 8, Weeks: 1}); err == nil {
		t.Error("a season was written beside somebody's file")
	}
}
