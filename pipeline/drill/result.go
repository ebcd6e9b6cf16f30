package drill

import (
	"slices"
	"time"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// Result of a drill.
type Result struct {
	Probes     int         `json:"probes"`
	Fit        int         `json:"fit"`
	Seed       uint64      `json:"seed"`
	Start      string      `json:"window_start"`
	End        string      `json:"window_end"`
	Rows       []Row       `json:"rows"`
	Ages       []AgeRow    `json:"by_age"`
	False      FalseAlarms `json:"false_alarms"`
	Helps      []Help      `json:"what_inputs_buy"`
	Lacks      []Lack      `json:"not_evaluated_for_lack_of"`
	NoDetector []string    `json:"no_detector"` // faults drilled that no detector of this scan looks for
	Barred     []Barred    `json:"not_tried_here"`
	Untried    []Barred    `json:"not_drilled"`
	Trials     []Tried     `json:"trials"`
}

// Share is a count with its 95 % interval (Wilson 1927).
type Share struct {
	K  int     `json:"k"`
	N  int     `json:"n"`
	Lo float64 `json:"low"`
	Hi float64 `json:"high"`
}

// part of N that K is; 0 of none.
func (s Share) part() float64 { return float64(s.K) / float64(max(1, s.N)) }

func share(k, n int) Share {
	lo, hi := robust.Wilson(k, n, 1.959964)
	return Share{k, n, lo, hi}
}

// Row is a form of a fault in one class of probes.
type Row struct {
	Fault      string    `json:"fault"`
	Form       string    `json:"form"`
	Kind       string    `json:"kind"`
	Depth      string    `json:"depth_class"`
	Places     int       `json:"places"` // that the trials were on
	Found      Share     `json:"found"`
	Named      int       `json:"named"`
	Noticed    int       `json:"noticed"`
	ByStrength [3][2]int `json:"by_strength"` // found and tried: mild, middle, gross; none where the form has no strengths
	DelayHours *float64  `json:"median_delay_h"`
	False      int       `json:"false_alarms"`
}

// AgeRow is a slow form by when it began.
type AgeRow struct {
	Form    string `json:"form"`
	Week    Share  `json:"began_in_the_last_week"`
	Earlier Share  `json:"began_before"`
}

// FalseAlarms are findings on what no trial touched, and that the plain run lacks.
type FalseAlarms struct {
	Trials  Share       `json:"trials_with_one"`
	ByForm  []NameCount `json:"by_form"`  // of the trial beside which it was
	ByFault []NameCount `json:"by_fault"` // that was named
}

// NameCount is a count of something.
type NameCount struct {
	Name string `json:"name"`
	N    int    `json:"n"`
}

// Barred is what was not tried, and why.
type Barred struct {
	Name string `json:"name"`
	Why  string `json:"why"`
}

// Tried is one trial, for a table of them.
type Tried struct {
	Fault      string   `json:"fault"`
	Form       string   `json:"form"`
	Kind       string   `json:"kind"`
	Depth      string   `json:"depth_class"`
	Subject    string   `json:"subject"`
	Strength   string   `json:"strength"` // empty: the form has none
	Start      string   `json:"start"`
	End        string   `json:"end"`
	Found      bool     `json:"found"`
	Named      bool     `json:"named"`
	Noticed    bool     `json:"noticed"`
	DelayHours *float64 `json:"delay_h"`
	AlsoSaid   []string `json:"also_said"`
	False      []string `json:"false_alarms"`
}

func stamp(t int64) string { return time.UnixMicro(t).UTC().Format(time.RFC3339) }

// result sums the outcomes.
func (d *drill) result(outcomes []outcome) *Result {
	period := d.in.Examine.Period
	r := &Result{Probes: len(d.in.Examine.Probes), Fit: len(d.fit), Seed: d.o.Seed,
		Start: stamp(period.Window.Start), End: stamp(period.Window.End),
		Rows: []Row{}, Helps: []Help{}, NoDetector: []string{}, Barred: []Barred{}, Trials: []Tried{}}
	type class struct{ form, kind, depth string }
	at := map[class]int{}
	places, delays := map[class]map[string]bool{}, map[class][]float64{}
	why, tried := map[string]string{}, map[string]bool{}
	alarmed, n := 0, 0
	byForm, byFault := map[string]int{}, map[string]int{}
	for i, t := range d.trials {
		o := &outcomes[i]
		if o.Why != "" {
			why[t.Form.Name] = o.Why
			continue
		}
		n++
		tried[t.Form.Name] = true
		c := class{t.Form.Name, t.Kind, t.Depth}
		k, ok := at[c]
		if !ok {
			k = len(r.Rows)
			at[c] = k
			places[c] = map[string]bool{}
			r.Rows = append(r.Rows, Row{Fault: t.Form.Fault, Form: t.Form.Name, Kind: t.Kind, Depth: t.Depth})
		}
		row := &r.Rows[k]
		places[c][t.Name] = true
		row.Places = len(places[c])
		row.Found.N++
		if !t.Form.Even {
			row.ByStrength[t.Strength][1]++
			row.ByStrength[t.Strength][0] += count(o.Found)
		}
		one := Tried{Fault: t.Form.Fault, Form: t.Form.Name, Kind: t.Kind, Depth: t.Depth, Subject: t.Name,
			Start: stamp(o.Fault.Start), End: stamp(o.Fault.End), Found: o.Found, Named: o.Named, Noticed: o.Noticed, AlsoSaid: slices.Concat([]string{}, o.AlsoSaid),
			False: slices.Concat([]string{}, o.False, o.Stray)}
		if !t.Form.Even {
			one.Strength = strengths[t.Strength]
		}
		row.Found.K += count(o.Found)
		if o.Delay.OK {
			h := detect.Hours(o.Delay.V)
			delays[c] = append(delays[c], h)
			one.DelayHours = &h
		}
		row.Named += count(o.Named)
		row.Noticed += count(o.Noticed)
		row.False += len(o.False)
		alarmed += count(len(one.False) > 0)
		for _, said := range one.False {
			byFault[faultOf(said)]++
		}
		byForm[t.Form.Name] += len(o.False)
		byForm["(either of several)"] += len(o.Stray)
		r.Trials = append(r.Trials, one)
	}
	for c, k := range at {
		r.Rows[k].Found = share(r.Rows[k].Found.K, r.Rows[k].Found.N)
		if hours := delays[c]; len(hours) > 0 {
			m := robust.Median(hours, make([]float64, len(hours)))
			r.Rows[k].DelayHours = &m
		}
	}
	r.False = FalseAlarms{share(alarmed, n), counts(byForm), counts(byFault)}
	r.Ages = d.ages(outcomes)
	r.Lacks = d.lacks()
	for _, f := range d.forms {
		if reason, ok := why[f.Name]; ok && !tried[f.Name] {
			d.barred[f.Name] = reason
		}
		if reason, ok := d.barred[f.Name]; ok {
			r.Barred = append(r.Barred, Barred{f.Name, reason})
		}
		if d.detectorOf(f) == nil && !slices.Contains(r.NoDetector, f.Fault) {
			r.NoDetector = append(r.NoDetector, f.Fault)
		}
	}
	for name, reason := range untried {
		r.Untried = append(r.Untried, Barred{name, reason})
	}
	slices.SortFunc(r.Untried, func(a, b Barred) int { return compare(a.Name, b.Name) })
	return r
}

// ages sums the slow forms by when they began.
func (d *drill) ages(outcomes []outcome) (out []AgeRow) {
	start := d.in.Examine.Period.Window.End - int64(d.newest()*float64(detect.Day))
	for _, f := range d.forms {
		if !f.Slow {
			continue
		}
		var k, n [2]int
		for i, t := range d.trials {
			if o := &outcomes[i]; t.Form == f && o.Why == "" {
				before := count(o.Fault.Start < start)
				n[before]++
				k[before] += count(o.Found)
			}
		}
		if n[0]+n[1] > 0 {
			out = append(out, AgeRow{f.Name, share(k[0], n[0]), share(k[1], n[1])})
		}
	}
	return out
}

// detectorOf is the detector whose fault the form is; nil: this scan has none.
func (d *drill) detectorOf(f *Form) *detect.Detector {
	for _, det := range d.in.Examine.Detectors {
		if det.Name == f.Fault {
			return det
		}
	}
	return nil
}
