// Package previous reads what an earlier run left for the next one: verdicts, open
// visits, exclusions. State between runs lives in these tables only.
package previous

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Visit is a visit that was open.
type Visit struct {
	OpenSince detect.Maybe[int64]
	RunsOpen  int
	Probes    []string
}

// Finding is what the earlier run found, as far as a later one holds it against its
// own.
type Finding struct {
	Subject, Name, Fault string
	Confidence           float64
	Distance             detect.Maybe[float64] // of what was measured from the threshold
}

// Quiet is a finding that visits had taken out of the queue.
type Quiet struct {
	Subject, Name, Fault string
	Visits               int
	LastVisit            int64
	Confidence, Distance detect.Maybe[float64] // at that visit
}

// Exclusion is a stretch that the earlier run left out.
type Exclusion struct {
	detect.Span
	Reasons string
}

// Run is an earlier run.
type Run struct {
	Period     detect.Period
	Verdicts   map[string]schemas.Verdict // by probe
	Visits     map[string]Visit           // by name
	Exclusions map[string][]Exclusion     // by probe, sorted
	History    []Past                     // of all runs up to that one, by window and probe
	Findings   []Finding                  // as listed
	Quiet      []Quiet                    // as listed
}

// Load reads an earlier run's folder. The folder must be a run; a table that it
// lacks counts as empty.
func Load(dir string) (*Run, error) { return LoadIn(os.DirFS(dir), dir) }

// LoadIn is Load for a folder that is not on disk: tree is what lies in it, dir how
// it is called.
func LoadIn(tree fs.FS, dir string) (*Run, error) {
	var m struct {
		Program string `json:"program"`
		Period  struct {
			Lookback time.Time `json:"lookback_start"`
			Start    time.Time `json:"window_start"`
			End      time.Time `json:"window_end"`
		} `json:"period"`
	}
	b, err := fs.ReadFile(tree, "manifest.json")
	if err == nil {
		err = json.Unmarshal(b, &m)
	}
	if err != nil || m.Program != "probeward" {
		return nil, fmt.Errorf("%s is no run of probeward: give --previous the folder that an earlier scan wrote", dir)
	}
	r := &Run{Verdicts: map[string]schemas.Verdict{}, Visits: map[string]Visit{}, Exclusions: map[string][]Exclusion{}}
	r.Period = detect.Period{Lookback: m.Period.Lookback.UnixMicro(), Window: detect.Span{Start: m.Period.Start.UnixMicro(), End: m.Period.End.UnixMicro()}}
	if r.History, err = history(tree, dir); err != nil {
		return nil, err
	}
	err = rows(tree, dir, schemas.Health, func(get func(string) string) error {
		r.Verdicts[get("probe")] = schemas.Verdict(get("verdict"))
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = rows(tree, dir, schemas.Queue, func(get func(string) string) error {
		n, err := strconv.Atoi(get("runs_open"))
		if err != nil {
			return fmt.Errorf("runs_open: %w", err)
		}
		v := Visit{RunsOpen: n}
		if probes := strings.Fields(get("probes")); len(probes) > 0 {
			v.Probes = probes
		}
		if s := get("open_since"); s != "" {
			t, err := time.Parse(time.RFC3339Nano, s)
			if err != nil {
				return fmt.Errorf("open_since: %w", err)
			}
			v.OpenSince = detect.Some(t.UnixMicro())
		}
		r.Visits[get("visit")] = v
		return nil
	})
	if err != nil {
		return nil, err
	}
	if err := r.visited(tree, dir); err != nil {
		return nil, err
	}
	return r, rows(tree, dir, schemas.Exclusions, func(get func(string) string) error {
		var e Exclusion
		for _, end := range []struct {
			name string
			to   *int64
		}{{"start", &e.Start}, {"end", &e.End}} {
			t, err := time.Parse(time.RFC3339Nano, get(end.name))
			if err != nil {
				return fmt.Errorf("%s: %w", end.name, err)
			}
			*end.to = t.UnixMicro()
		}
		e.Reasons = get("reasons")
		r.Exclusions[get("probe")] = append(r.Exclusions[get("probe")], e)
		return nil
	})
}

// rows calls f for each row of a run's CSV, with its cells by column name.
func rows(tree fs.FS, dir string, t schemas.Table, f func(get func(string) string) error) error {
	path := dir + "/" + t.Files[0]
	file, err := tree.Open(t.Files[0])
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if len(all) == 0 {
		return nil
	}
	place := map[string]int{}
	for i, name := range all[0] {
		place[name] = i
	}
	for n, record := range all[1:] {
		if err := f(func(name string) string {
			if i, ok := place[name]; ok {
				return record[i]
			}
			return ""
		}); err != nil {
			return fmt.Errorf("%s:%d: %w", path, n+2, err)
		}
	}
	return nil
}
