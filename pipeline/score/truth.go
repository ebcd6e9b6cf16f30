package score

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/score/column"
	"probeward/schemas"
)

// Fault is one injected fault.
type Fault struct {
	Subject     schemas.Subject
	Name        string // of the subject
	Fault       string
	Form        string
	detect.Span // ends at math.MaxInt64 when it lasts to the end of the record
	Visible     bool
	Why         string
}

// Truth is what a simulated farm knows of itself and no scan reads.
type Truth struct {
	Faults  []Fault
	Healthy map[string]bool
	Class   map[string]string  // what a probe is easily mistaken for; "none" for nothing
	Bad     map[string][]int64 // stamps of readings that a fault falsified, by probe, sorted
}

// LoadTruth reads the truth folder of a simulated farm.
func LoadTruth(dir string) (*Truth, error) {
	t := &Truth{Healthy: map[string]bool{}, Class: map[string]string{}, Bad: map[string][]int64{}}
	err := column.Rows(filepath.Join(dir, "faults.csv"), func(get func(string) string) error {
		f := Fault{Subject: schemas.Subject(get("subject")), Name: get("name"), Fault: get("fault"), Form: get("form"),
			Visible: get("visible") == "1", Why: get("why")}
		var err error
		f.Span, err = span(get("start"), get("end"))
		t.Faults = append(t.Faults, f)
		return err
	})
	if err != nil {
		return nil, err
	}
	err = column.Rows(filepath.Join(dir, "probes.csv"), func(get func(string) string) error {
		t.Healthy[get("probe")] = get("healthy") == "1"
		t.Class[get("probe")] = get("look_alike")
		return nil
	})
	if err != nil {
		return nil, err
	}
	return t, t.loadTwins(filepath.Join(dir, "counterfactual"))
}

// loadTwins keeps the stamps at which a probe with a fault reads falsely.
func (t *Truth) loadTwins(dir string) error {
	err := Falsified(dir, func(probe string, at int64) { t.Bad[probe] = append(t.Bad[probe], at) })
	for _, times := range t.Bad {
		slices.Sort(times)
	}
	return err
}

// Falsified calls add for each reading of a truth's counterfactual folder that arrived
// with a value and differs from the one that the probe would have read without its
// fault. A value that is missing cannot be left out, and is none of them.
func Falsified(dir string, add func(probe string, at int64)) error {
	files, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil {
		return err
	}
	for _, path := range files {
		err := column.Rows(path, func(get func(string) string) error {
			if get("faulty") == "" || get("clean") == "" {
				return nil
			}
			at, err := column.Instant(get("time"))
			if err != nil {
				return err
			}
			faulty, err := strconv.ParseFloat(get("faulty"), 64)
			if err != nil {
				return err
			}
			clean, err := strconv.ParseFloat(get("clean"), 64)
			if err != nil {
				return err
			}
			if Differs(faulty, clean, get("unit")) {
				add(get("probe"), at)
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// Differs says whether two exported readings are further apart than a sensor
// scatters: 5 % of the resistance (50 ohm below 1000 ohm), 5 % of the tension (1 kPa
// below 20 kPa), 0.01 m3/m3. Common practice, no source: five times the usual noise
// of such sensors and a step of a coarse export.
func Differs(a, b float64, unit string) bool {
	apart, tolerance := math.Abs(a-b), 0.0
	switch unit {
	case "ohm":
		tolerance = 0.05 * max(math.Abs(b), 1000)
	case "kohm":
		tolerance = 0.05 * max(math.Abs(b), 1)
	case "kPa":
		tolerance = max(1, 0.05*math.Abs(b))
	case "m3/m3":
		tolerance = 0.01
	case "%":
		tolerance = 1
	}
	return apart > tolerance*(1+1e-9)
}

// Of lists the faults of a subject, in the order of the table.
func (t *Truth) Of(subject schemas.Subject, name string) (out []*Fault) {
	for i := range t.Faults {
		if f := &t.Faults[i]; f.Subject == subject && f.Name == name {
			out = append(out, f)
		}
	}
	return out
}

// effect is the time in which a fault can be seen.
func (f *Fault) effect() detect.Span {
	s := f.Span
	if f.Subject == schemas.SubjectZone && s.End != math.MaxInt64 {
		s.End += detect.Day
	}
	return s
}

// earliest is the first instant at which a finding of the fault may start.
func (f *Fault) earliest(window detect.Span) int64 {
	age := min(f.End, window.End) - f.Start
	return f.Start - max(2*detect.Day, age/10)
}

func (f *Fault) String() string {
	end := "end"
	if f.End != math.MaxInt64 {
		end = detect.Stamp(f.End)
	}
	return fmt.Sprintf("%s/%s %s..%s (%s)", f.Fault, f.Form, detect.Stamp(f.Start), end, strings.TrimSpace(f.Why))
}
