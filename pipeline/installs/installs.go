// Package installs follows probes that are new: whether they came up on their port,
// as the sensor that the register names, and when they may be used.
package installs

import (
	"fmt"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// Install is one new probe.
type Install struct {
	Probe            int // place in the register
	InstalledOn      detect.Maybe[int64]
	First            detect.Maybe[int64]   // its first value since it went into the ground
	HoursToFirst     detect.Maybe[float64] // h
	OnPort           detect.Maybe[bool]    // absent: nothing came on the registered port
	FitsKind         detect.Maybe[bool]    // absent: not evaluated
	UsableFrom       detect.Maybe[int64]
	Accepted         bool
	Why              string
	NewSincePrevious bool
}

// Input is what the list rests on. Nothing in it is written to.
type Input struct {
	Probes    []detect.Probe
	Judged    *judge.Result
	Reports   []detect.Report    // by place in the register
	Detectors []*detect.Detector // in the order of the reports' outcomes
	// Times gives a probe's stamps with a value, sorted; good until the next call.
	Times    func(probe int) []int64
	Previous map[string]schemas.Verdict // nil: there was no run before
	Zone     *time.Location
}

// Installs lists the probes that settle at the window's end, and those that the run
// before did not know, in the order of the register.
func Installs(in Input) (out []Install) {
	kind := -1
	for i, d := range in.Detectors {
		if d.Name == "wrong_kind" {
			kind = i
		}
	}
	for i := range in.Probes {
		p, st := &in.Probes[i], &in.Judged.States[i]
		_, known := in.Previous[p.Name]
		fresh := in.Previous != nil && !known && st.InGround
		settling := in.settling(st)
		if !fresh && settling == nil {
			continue
		}
		n := Install{Probe: i, InstalledOn: p.InstalledOn, NewSincePrevious: fresh}
		in.first(&n)
		if settling != nil && p.InstalledOn.OK {
			n.UsableFrom = detect.Some(p.InstalledOn.V + int64(settling.Threshold*float64(detect.Day)))
		}
		if kind >= 0 && i < len(in.Reports) && kind < len(in.Reports[i].Outcomes) {
			if o := in.Reports[i].Outcomes[kind]; o.State != detect.NotEvaluated {
				n.FitsKind = detect.Some(o.State == detect.Clear)
			}
		}
		in.decide(&n, st)
		out = append(out, n)
	}
	return out
}

// settling is the probe's open finding of that name.
func (in *Input) settling(st *judge.State) *judge.Finding {
	for _, k := range st.Touching {
		if f := &in.Judged.Findings[k]; f.Fault == "settling" && f.Open {
			return f
		}
	}
	return nil
}

func (in *Input) first(n *Install) {
	for _, t := range in.Times(n.Probe) {
		if !n.InstalledOn.OK || t >= n.InstalledOn.V {
			n.First = detect.Some(t)
			break
		}
	}
	if n.First.OK {
		n.OnPort = detect.Some(true)
		if n.InstalledOn.OK {
			n.HoursToFirst = detect.Some(detect.Hours(n.First.V - n.InstalledOn.V))
		}
	}
}

// decide says whether only time is wanting.
func (in *Input) decide(n *Install, st *judge.State) {
	var wrong []string
	for _, k := range st.Touching {
		f := &in.Judged.Findings[k]
		if f.Fault != "settling" && f.Open && f.MaskedBy == "" {
			wrong = append(wrong, f.Fault)
		}
	}
	var why []string
	switch {
	case !n.First.OK:
		why = append(why, "no value came yet: check its port, its splice and its logger while the hole is still soft")
	case len(wrong) > 0:
		why = append(why, "to be looked at: "+strings.Join(wrong, ", "))
	case n.FitsKind.OK && !n.FitsKind.V:
		why = append(why, "its values are not those of the registered sensor")
	default:
		n.Accepted = true
		why = append(why, "it reports, and nothing speaks against its registration")
	}
	if n.UsableFrom.OK {
		why = append(why, "still settling, usable from "+time.UnixMicro(n.UsableFrom.V).In(in.Zone).Format("2006-01-02 15:04"))
	} else if !n.InstalledOn.OK {
		why = append(why, "installed_on is missing in the register: nobody knows whether it still settles")
	}
	if !n.FitsKind.OK && n.First.OK {
		why = append(why, "whether it is the registered kind could not be evaluated yet")
	}
	if n.NewSincePrevious {
		why = append(why, "not in the run before")
	}
	n.Why = fmt.Sprint(strings.Join(why, "; "))
}
