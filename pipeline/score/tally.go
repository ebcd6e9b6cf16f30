package score

import (
	"slices"

	"probeward/schemas"
)

// Tally is what a score counts. Tallies add up.
type Tally struct {
	Farms        int
	Faults       map[string]*FaultTally // by fault and form, as "gap/blank"
	HealthyWeeks map[string]float64     // healthy probe-weeks by look-alike class
	Alarms       map[string]int         // false alarms by class
	Causes       map[string]int         // the same by cause: a logger's or a zone's once
	AlarmsBy     map[string]int         // false alarms by the fault that was cried
	Beside       int                    // unmasked findings of another name on a subject at fault
	Healthy      map[schemas.Verdict]int
	Faulty       map[schemas.Verdict]int // of probes with a visible fault of their own or of their logger
	Good         map[string]Share        // good readings lost: "healthy", "before the onset", "after the end"
	Bad          map[string]Share        // bad readings left out, by group
	Bands        [5]Band
	Certain      bool       // there was no confidence to hold against the outcome
	Squares      [2]float64 // sum of (confidence - outcome)^2: named, at fault
}

// FaultTally is the row of one form of a fault.
type FaultTally struct {
	Fault, Form   string
	Subject       schemas.Subject
	Visible       int
	CalledFit     int       // of the visible that were missed, those on a probe called fit
	Caught, Named int       // of the visible
	Delays        []float64 // hours from the onset to the start of the first catching finding
	Bad           Share     // readings that it falsified, left out

	Invisible                    int // left no trace in the window
	Quiet, TrueName, AnotherName int // of the invisible: what was said of its subject
	Outside                      int // ended before the window
}

// Share is a count of a whole.
type Share struct{ N, Of int }

// Value gives the share, and whether there is a whole.
func (s Share) Value() (float64, bool) {
	if s.Of == 0 {
		return 0, false
	}
	return float64(s.N) / float64(s.Of), true
}

// Band is the findings within a range of confidence.
type Band struct {
	N          int
	Confidence float64 // sum
	AtFault    int     // the subject was at fault then
	Named      int     // and by that name
}

// bandEnds are the upper ends of the bands; the last one's is included.
var bandEnds = [5]float64{0.4, 0.6, 0.8, 0.9, 1}

func bandOf(confidence float64) int {
	for i, end := range bandEnds {
		if confidence < end {
			return i
		}
	}
	return len(bandEnds) - 1
}

func newTally() *Tally {
	return &Tally{Faults: map[string]*FaultTally{}, HealthyWeeks: map[string]float64{}, Alarms: map[string]int{}, Causes: map[string]int{}, AlarmsBy: map[string]int{},
		Healthy: map[schemas.Verdict]int{}, Faulty: map[schemas.Verdict]int{}, Good: map[string]Share{}, Bad: map[string]Share{}}
}

func (t *Tally) fault(f *Fault) *FaultTally {
	key := f.Fault + "/" + f.Form
	if t.Faults[key] == nil {
		t.Faults[key] = &FaultTally{Fault: f.Fault, Form: f.Form, Subject: f.Subject}
	}
	return t.Faults[key]
}

// Sum adds tallies up.
func Sum(tallies ...*Tally) *Tally {
	s := newTally()
	for _, t := range tallies {
		s.Farms += t.Farms
		for name, f := range t.Faults {
			if s.Faults[name] == nil {
				s.Faults[name] = &FaultTally{Fault: f.Fault, Form: f.Form, Subject: f.Subject}
			}
			s.Faults[name].add(f)
		}
		for class, weeks := range t.HealthyWeeks {
			s.HealthyWeeks[class] += weeks
		}
		count(s.Alarms, t.Alarms)
		count(s.Causes, t.Causes)
		count(s.AlarmsBy, t.AlarmsBy)
		count(s.Healthy, t.Healthy)
		count(s.Faulty, t.Faulty)
		shares(s.Good, t.Good)
		shares(s.Bad, t.Bad)
		s.Beside += t.Beside
		s.Certain = s.Certain || t.Certain
		for i, b := range t.Bands {
			s.Bands[i].N += b.N
			s.Bands[i].Confidence += b.Confidence
			s.Bands[i].AtFault += b.AtFault
			s.Bands[i].Named += b.Named
		}
		s.Squares[0] += t.Squares[0]
		s.Squares[1] += t.Squares[1]
	}
	for _, f := range s.Faults {
		slices.Sort(f.Delays)
	}
	return s
}

func (f *FaultTally) add(o *FaultTally) {
	f.Visible += o.Visible
	f.Caught += o.Caught
	f.Named += o.Named
	f.CalledFit += o.CalledFit
	f.Delays = append(f.Delays, o.Delays...)
	f.Bad.N += o.Bad.N
	f.Bad.Of += o.Bad.Of
	f.Invisible += o.Invisible
	f.Quiet += o.Quiet
	f.TrueName += o.TrueName
	f.AnotherName += o.AnotherName
	f.Outside += o.Outside
}

// Whole is a fault's row: the sum of those of its forms, and how many these are.
func (t *Tally) Whole(fault string) (sum FaultTally, forms int) {
	sum.Fault = fault
	for _, key := range sorted(t.Faults) {
		if f := t.Faults[key]; f.Fault == fault {
			sum.Subject = f.Subject
			sum.add(f)
			forms++
		}
	}
	return sum, forms
}

func count[K comparable](into, from map[K]int) {
	for k, n := range from {
		into[k] += n
	}
}

func shares(into, from map[string]Share) {
	for k, s := range from {
		into[k] = Share{into[k].N + s.N, into[k].Of + s.Of}
	}
}

// Totals are the figures that a run is held to.
type Totals struct {
	Caught, Named        Share // of the visible faults
	CalledFit            Share // visible faults that were missed on a probe called fit
	Alarms, Causes       int
	PerThousand          float64 // false alarms in 1,000 healthy probe-weeks
	HealthyWeeks         float64
	NotFit               Share // healthy probes called doubtful, unfit or silent
	Electrical, Response Share // bad readings left out
	GoodLost             Share // good readings left out
	Brier, BrierAtFault  float64
	Findings             int // that the Brier scores are over
}

// Totals of a tally.
func (t *Tally) Totals() (s Totals) {
	for _, f := range t.Faults {
		s.Caught.N += f.Caught
		s.Named.N += f.Named
		s.CalledFit.N += f.CalledFit
		s.Caught.Of += f.Visible
	}
	s.Named.Of, s.CalledFit.Of = s.Caught.Of, s.Caught.Of
	for _, n := range t.Alarms {
		s.Alarms += n
	}
	for _, n := range t.Causes {
		s.Causes += n
	}
	for _, class := range sorted(t.HealthyWeeks) { // in order: a sum of floats must not depend on the map
		s.HealthyWeeks += t.HealthyWeeks[class]
	}
	if s.HealthyWeeks > 0 {
		s.PerThousand = 1000 * float64(s.Alarms) / s.HealthyWeeks
	}
	for v, n := range t.Healthy {
		s.NotFit.Of += n
		if v == schemas.Doubtful || v == schemas.Unfit || v == schemas.Silent {
			s.NotFit.N += n
		}
	}
	s.Electrical, s.Response = t.Bad[Electrical], t.Bad[Response]
	for _, g := range t.Good {
		s.GoodLost.N += g.N
		s.GoodLost.Of += g.Of
	}
	for _, b := range t.Bands {
		s.Findings += b.N
	}
	if s.Findings > 0 {
		s.Brier, s.BrierAtFault = t.Squares[0]/float64(s.Findings), t.Squares[1]/float64(s.Findings)
	}
	return s
}

func sorted[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
