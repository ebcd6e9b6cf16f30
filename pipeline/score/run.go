package score

import (
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/score/column"
	"probeward/schemas"
)

// Probe is a row of health.csv.
type Probe struct {
	Name, Zone, Logger string
	Unit               string // of its values, from the readings
	Received           int    // readings with a value in the window
	Verdict            schemas.Verdict
	MainFault          string
	Faults             []string // its own and its logger's
	NotEvaluated       string
}

// Finding is a row of findings.csv.
type Finding struct {
	Subject     schemas.Subject
	Name        string
	Fault       string
	detect.Span // ends at math.MaxInt64 while it stands
	Confidence  float64
	Evidence    string
	MaskedBy    string
}

// Run is what somebody says about a farm.
type Run struct {
	Window     detect.Span
	Probes     map[string]*Probe
	Findings   []Finding
	Exclusions map[string][]detect.Span // readings to leave out (flag 4), by probe, sorted
	Readings   map[string]Readings      // used in the window, by probe
	// Means says which faults a finding's name stands for, where the one who says it
	// has names of its own; nil: the names are those of the table of faults.
	Means map[string][]string
	// Certain is true where nothing is said about confidence.
	Certain bool
}

// Readings are one probe's readings with a value, in time order.
type Readings struct {
	Time  []int64
	Value []float64 // as exported
}

// LoadRun reads back what a scan wrote.
func LoadRun(dir string) (*Run, error) {
	r := &Run{Probes: map[string]*Probe{}, Exclusions: map[string][]detect.Span{}}
	err := column.Rows(filepath.Join(dir, "health.csv"), func(get func(string) string) error {
		received, err := strconv.Atoi(get("readings_received"))
		if err != nil {
			return fmt.Errorf("readings_received: %w", err)
		}
		if r.Window, err = span(get("window_start"), get("window_end")); err != nil {
			return err
		}
		r.Probes[get("probe")] = &Probe{
			Name: get("probe"), Zone: get("zone"), Logger: get("logger"), Received: received,
			Verdict: schemas.Verdict(get("verdict")), MainFault: get("main_fault"),
			Faults: strings.Fields(get("faults")), NotEvaluated: get("not_evaluated_why"),
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = column.Rows(filepath.Join(dir, "findings.csv"), func(get func(string) string) error {
		f := Finding{Subject: schemas.Subject(get("subject")), Name: get("name"), Fault: get("fault"),
			Evidence: get("evidence"), MaskedBy: get("masked_by")}
		var err error
		if f.Span, err = span(get("start"), get("end")); err != nil {
			return err
		}
		if f.Confidence, err = strconv.ParseFloat(get("confidence"), 64); err != nil {
			return err
		}
		r.Findings = append(r.Findings, f)
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = column.Rows(filepath.Join(dir, "exclusions.csv"), func(get func(string) string) error {
		if get("flag") != strconv.Itoa(int(schemas.FlagFail)) {
			return nil
		}
		s, err := span(get("start"), get("end"))
		r.Exclusions[get("probe")] = append(r.Exclusions[get("probe")], s)
		return err
	})
	if err != nil {
		return nil, err
	}
	r.Readings, err = loadReadings(filepath.Join(dir, "flags.parquet"), r.Window, r.Probes)
	return r, err
}

// names says whether a finding's name stands for a fault.
func (r *Run) names(said, fault string) bool {
	if r.Means == nil {
		return said == fault
	}
	for _, f := range r.Means[said] {
		if f == fault {
			return true
		}
	}
	return false
}

// alarms says whether a finding is one: it touches the window, nothing masks it, and
// its fault makes a verdict or is a zone's.
func (r *Run) alarms(f *Finding) bool {
	if f.MaskedBy != "" || !touches(f.Span, r.Window) {
		return false
	}
	row, known := schemas.FaultNamed(f.Fault)
	return !known || row.Verdict != "" || f.Subject == schemas.SubjectZone
}

// touches says whether two spans have an instant in common. One without length is
// the instant of its start.
func touches(a, b detect.Span) bool {
	a.End, b.End = max(a.End, a.Start+1), max(b.End, b.Start+1)
	return a.Overlap(b).Length() > 0
}
