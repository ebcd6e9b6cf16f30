package season

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/score"
	"probeward/pipeline/score/column"
	"probeward/schemas"
)

// open is the end of what has none.
const open = math.MaxInt64

// fault is a row of truth/faults.csv.
type fault struct {
	subject, name, kind, form string
	detect.Span
	visible  bool
	shown    int64 // end of the first week in which it was visible
	endedBy  string
	touches  []string // probes of a logger's fault
	family   schemas.Family
	reported int // index of the run; -1: never
	named    int // of the first run that gave it its name; -1: never
}

// probe is a row of truth/probes.csv.
type probe struct {
	name, logger, zone string
	cadence            int64 // µs
	detect.Span              // in the ground
	bad                []int64
}

// watering came to a zone and was logged.
type watering struct {
	zone  string
	start int64
}

// finding is a row of findings.csv that nothing masks.
type finding struct {
	subject, name, kind string
	detect.Span
}

// stop is a row of queue.csv.
type stop struct {
	rank                   int
	visit, cause           string
	family                 schemas.Family
	probes, loggers, zones []string
}

// run is one week's folder.
type run struct {
	window     detect.Span
	verdicts   map[string]schemas.Verdict
	findings   []finding
	exclusions map[string][]detect.Span // flag 4, by probe, sorted
	queue      []stop
}

// seen is a row of visits.csv.
type seen struct {
	visit, logger, probe, outcome string
	at                            int64
}

// folders is all that the report is made of.
type folders struct {
	faults    []fault
	probes    map[string]*probe
	waterings []watering
	runs      []run
	seen      []seen
}

// load reads a season: dir holds feed and truth; runs are the folders of the scans,
// in order.
func load(dir string, runs []string) (*folders, error) {
	f := &folders{probes: map[string]*probe{}}
	if err := errors.Join(f.loadTruth(filepath.Join(dir, "truth")), f.loadVisits(filepath.Join(dir, "feed", "visits.csv"))); err != nil {
		return nil, err
	}
	for _, r := range runs {
		one, err := loadRun(r)
		if err != nil {
			return nil, err
		}
		if n := len(f.runs); n > 0 && one.window.Start < f.runs[n-1].window.Start {
			return nil, fmt.Errorf("%s is older than the run before it: give the runs in order", r)
		}
		f.runs = append(f.runs, one)
	}
	return f, nil
}

func (f *folders) loadTruth(dir string) error {
	err := column.Rows(filepath.Join(dir, "faults.csv"), func(get func(string) string) error {
		x := fault{subject: get("subject"), name: get("name"), kind: get("fault"), form: get("form"), visible: get("visible") == "1",
			endedBy: get("ended_by"), touches: strings.Fields(get("probes")), reported: -1, named: -1}
		row, _ := schemas.FaultNamed(x.kind)
		x.family = row.Family
		var err error
		if x.visible {
			if x.shown, err = column.Instant(get("visible_from")); err != nil {
				return err
			}
		}
		x.Span, err = span(get("start"), get("end"))
		f.faults = append(f.faults, x)
		return err
	})
	if err != nil {
		return err
	}
	err = column.Rows(filepath.Join(dir, "probes.csv"), func(get func(string) string) error {
		minutes, err := strconv.Atoi(get("cadence_min"))
		if err != nil {
			return err
		}
		p := &probe{name: get("probe"), logger: get("logger"), zone: get("zone"), cadence: int64(minutes) * detect.Hour / 60}
		p.Span, err = span(get("installed"), get("removed"))
		f.probes[p.name] = p
		return err
	})
	if err != nil {
		return err
	}
	err = column.Rows(filepath.Join(dir, "waterings.csv"), func(get func(string) string) error {
		at, err := column.Instant(get("start"))
		if get("logged") == "1" && get("delivered") == "1" {
			f.waterings = append(f.waterings, watering{get("zone"), at})
		}
		return err
	})
	if err != nil {
		return err
	}
	return f.loadBad(filepath.Join(dir, "counterfactual"))
}

// loadBad keeps the stamps of readings that a fault falsified and that arrived with
// a value.
func (f *folders) loadBad(dir string) error {
	err := score.Falsified(dir, func(probe string, at int64) {
		if p := f.probes[probe]; p != nil {
			p.bad = append(p.bad, at)
		}
	})
	for _, p := range f.probes {
		slices.Sort(p.bad)
	}
	return err
}

func (f *folders) loadVisits(path string) error {
	return column.Rows(path, func(get func(string) string) error {
		at, err := column.Instant(get("visited_on"))
		f.seen = append(f.seen, seen{get("visit"), get("logger"), get("probe"), get("outcome"), at})
		return err
	})
}

func loadRun(dir string) (r run, err error) {
	r = run{verdicts: map[string]schemas.Verdict{}, exclusions: map[string][]detect.Span{}}
	err = column.Rows(filepath.Join(dir, "health.csv"), func(get func(string) string) error {
		r.verdicts[get("probe")] = schemas.Verdict(get("verdict"))
		var err error
		r.window, err = span(get("window_start"), get("window_end"))
		return err
	})
	if err != nil {
		return r, err
	}
	err = column.Rows(filepath.Join(dir, "findings.csv"), func(get func(string) string) error {
		x := finding{subject: get("subject"), name: get("name"), kind: get("fault")}
		var err error
		x.Span, err = span(get("start"), get("end"))
		if get("masked_by") == "" {
			r.findings = append(r.findings, x)
		}
		return err
	})
	if err != nil {
		return r, err
	}
	err = column.Rows(filepath.Join(dir, "exclusions.csv"), func(get func(string) string) error {
		s, err := span(get("start"), get("end"))
		if get("flag") == strconv.Itoa(int(schemas.FlagFail)) {
			r.exclusions[get("probe")] = append(r.exclusions[get("probe")], s)
		}
		return err
	})
	if err != nil {
		return r, err
	}
	return r, column.Rows(filepath.Join(dir, "queue.csv"), func(get func(string) string) error {
		rank, err := strconv.Atoi(get("rank"))
		r.queue = append(r.queue, stop{rank, get("visit"), get("faults"), schemas.Family(get("family")),
			strings.Fields(get("probes")), strings.Fields(get("loggers")), strings.Fields(get("zone"))})
		return err
	})
}

func span(start, end string) (s detect.Span, err error) {
	if s.Start, err = column.Instant(start); err != nil {
		return s, err
	}
	if s.End = open; end != "" {
		s.End, err = column.Instant(end)
	}
	return s, err
}

// WriteJSON writes a report as JSON.
func (r *Report) WriteJSON(out io.Writer) error {
	e := json.NewEncoder(out)
	e.SetIndent("", " ")
	return e.Encode(r)
}
