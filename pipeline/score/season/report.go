package season

import (
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Report is a season's figures. Days are probe-days where they are of readings.
type Report struct {
	Faults   Row   // all visible faults
	Families []Row // by family, in the order of the table of faults
	Kinds    []Row // by fault, in that order
	Visits   Visits
	Causes   []Cause // by the main fault of the visit, in that order
	Alarms   Alarms
	Readings Readings
	Weeks    []Week
	Never    []string // visible faults that no run reported
	Hidden   int      // faults that never showed
}

// Row is how some faults were met.
type Row struct {
	Name            string
	Visible         int
	Reported, Named int
	MedianDays      Quantile // from the onset to the first report
	P90Days         Quantile
	MedianShown     Quantile // the same from the end of the first week in which it was visible
	P90Shown        Quantile
	MedianWaterings Quantile // in between, for faults of the answer to water
	P90Waterings    Quantile
	Mended          int // ended by the crew
	days, shown     []float64
	waters          []float64
}

// Quantile is a number, or never: the fault at that place of the order was not
// reported.
type Quantile struct {
	Value float64
	Never bool
	None  bool // of nothing
}

// Visits counts what the crew was sent to.
type Visits struct {
	Made, Reached   int
	Real            int // of the reached: one of its things was at fault then
	Named           int // of the real: by the name of a fault that the queue gave
	Looked, AtFault int // things looked at where it came, and those at fault
	Over            int // reached, nothing at fault, and the crew had ended a fault there in the weeks before
	ForNothing      []string
	Again           int // reached, nothing at fault, and the same visit before had also met nothing
}

// Cause is the visits of one main fault.
type Cause struct {
	Name                 string
	Reached, Real, Named int
}

// Alarms counts false findings; one that stands for n weeks is n.
type Alarms struct {
	Findings int
	Mended   int // of these: of a fault that was there and had ended before the window
	Repeats  int // the same one a week later
	Longest  int // weeks in a row
	By       []Cry
	List     []string // each, with its week
}

// Cry is the false findings of one fault.
type Cry struct {
	Name              string
	Findings, Repeats int
}

// Readings counts probe-days.
type Readings struct {
	Failed, Suspect Bad     // by what the table of faults calls the readings
	GoodLost        float64 // left out within the judged window, no fault
	GivenBackGood   float64 // left out by one run and not by the next, no fault
	GivenBackBad    float64 // the same during a fault
}

// Bad is what became of bad readings, in probe-days.
type Bad struct {
	Days     float64
	Stood    float64 // usable, by the run that judged their week
	StoodFit float64 // of these: on a probe that it called fit
	Late     float64 // of those that stood: withdrawn by a later run
}

// Week is one run.
type Week struct {
	Until                string
	Open, New, Found     int // visible faults: standing at its end, begun in it, reported first
	Visits, Real, Mended int // of the round after it
	Alarms, Repeats      int
	BadStood             float64 // probe-days, of faults whose readings fail
}

// Score holds the runs, oldest first, against the season in dir.
func Score(dir string, runs []string) (*Report, error) {
	f, err := load(dir, runs)
	if err != nil {
		return nil, err
	}
	if len(f.runs) == 0 {
		return nil, fmt.Errorf("cannot score a season without a run")
	}
	r := &Report{Weeks: make([]Week, len(f.runs))}
	for k := range f.runs {
		r.Weeks[k].Until = detect.Stamp(f.runs[k].window.End)
	}
	f.report(r)
	f.alarms(r)
	if err := f.visits(r); err != nil {
		return nil, err
	}
	f.readings(r)
	return r, nil
}

// counts says whether a fault counts as one.
func (x *fault) counts() bool { return x.visible && x.kind != "settling" }

// effect is when a fault can be seen: the soil needs a day to answer water.
func (x *fault) effect() detect.Span {
	s := x.Span
	if x.subject == string(schemas.SubjectZone) && s.End != open {
		s.End += detect.Day
	}
	return s
}

// meets says whether a finding is about a fault, in a run that judges a window.
func (x *fault) meets(s *finding, window detect.Span) bool {
	both := x.effect().Overlap(window)
	if both.Length() == 0 || s.Span.Overlap(both).Length() == 0 && !(s.Length() == 0 && both.Holds(s.Start)) {
		return false
	}
	age := min(x.End, window.End) - x.Start
	return x.family == schemas.FamilyRegister || s.Start >= x.Start-max(2*detect.Day, age/10)
}

// on says whether a finding is on a fault's subject, or on the logger of a probe
// that it is about: where a logger is said to be ill, its ports are looked at.
func (f *folders) on(x *fault, s *finding) bool {
	if s.subject == x.subject {
		return s.name == x.name
	}
	p := f.probes[x.name]
	return x.subject == string(schemas.SubjectProbe) && s.subject == string(schemas.SubjectLogger) && p != nil && p.logger == s.name
}

// report settles when each fault was reported first.
func (f *folders) report(r *Report) {
	var order []string
	for _, row := range schemas.Faults() {
		order = append(order, row.Name)
	}
	kinds, families := map[string]*Row{}, map[schemas.Family]*Row{}
	all := &Row{Name: "all"}
	for i := range f.faults {
		x := &f.faults[i]
		if x.kind == "settling" || x.effect().End <= f.runs[0].window.Start {
			continue
		}
		if !x.visible {
			r.Hidden++
			continue
		}
		for k := range f.runs {
			for j := range f.runs[k].findings {
				s := &f.runs[k].findings[j]
				if !f.on(x, s) || !x.meets(s, f.runs[k].window) {
					continue
				}
				if x.reported < 0 {
					x.reported = k
				}
				if s.kind == x.kind && x.named < 0 {
					x.named = k
				}
			}
			window := f.runs[k].window
			r.Weeks[k].Open += one(x.Start < window.End && x.End >= window.End)
			r.Weeks[k].New += one(window.Holds(x.Start) || k == 0 && x.Start < window.Start)
		}
		if kinds[x.kind] == nil {
			kinds[x.kind] = &Row{Name: x.kind}
		}
		if families[x.family] == nil {
			families[x.family] = &Row{Name: string(x.family)}
		}
		for _, row := range []*Row{all, kinds[x.kind], families[x.family]} {
			f.enter(row, x)
		}
		if x.reported < 0 {
			r.Never = append(r.Never, fmt.Sprintf("%s %s %s/%s %s to %s", x.subject, x.name, x.kind, x.form, detect.Stamp(x.Start), until(x.End)))
		} else {
			r.Weeks[x.reported].Found++
		}
	}
	all.settle()
	r.Faults = *all
	for _, name := range order {
		if row := kinds[name]; row != nil {
			row.settle()
			r.Kinds = append(r.Kinds, *row)
		}
		fault, _ := schemas.FaultNamed(name)
		if row := families[fault.Family]; row != nil {
			row.settle()
			r.Families = append(r.Families, *row)
			delete(families, fault.Family)
		}
	}
}

// answers says whether a fault is one of the answer to water.
func (x *fault) answers() bool {
	switch x.kind {
	case "missing_irrigation_response", "poor_contact", "bypass_flow", "wrong_zone", "depth_order":
		return true
	}
	return false
}

func (f *folders) enter(row *Row, x *fault) {
	row.Visible++
	row.Mended += one(x.endedBy == "crew")
	row.Named += one(x.named >= 0)
	days, shown, waters := math.Inf(1), math.Inf(1), math.Inf(1)
	if x.reported >= 0 {
		row.Reported++
		end := f.runs[x.reported].window.End
		days = detect.Days(end - max(x.Start, f.runs[0].window.Start))
		shown = max(0, detect.Days(end-max(x.shown, f.runs[0].window.End)))
		waters = 0
		for _, w := range f.waterings {
			if p := f.probes[x.name]; p != nil && w.zone == p.zone && w.start >= x.Start && w.start < end {
				waters++
			}
		}
	}
	row.days, row.shown = append(row.days, days), append(row.shown, shown)
	if x.answers() {
		row.waters = append(row.waters, waters)
	}
}

func (row *Row) settle() {
	row.MedianDays, row.P90Days = quantile(row.days, 0.5), quantile(row.days, 0.9)
	row.MedianShown, row.P90Shown = quantile(row.shown, 0.5), quantile(row.shown, 0.9)
	row.MedianWaterings, row.P90Waterings = quantile(row.waters, 0.5), quantile(row.waters, 0.9)
}

// quantile is the value at that share of the order: the smallest that is not
// exceeded by more than the rest.
func quantile(values []float64, share float64) Quantile {
	if len(values) == 0 {
		return Quantile{None: true}
	}
	slices.Sort(values)
	x := values[max(0, int(math.Ceil(share*float64(len(values))))-1)]
	if math.IsInf(x, 1) {
		return Quantile{Never: true}
	}
	return Quantile{Value: math.Round(100*x) / 100}
}

func until(t int64) string {
	if t == open {
		return "the end"
	}
	return detect.Stamp(t)
}

func one(is bool) int {
	if is {
		return 1
	}
	return 0
}
