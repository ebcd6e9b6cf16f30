package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// zone is what the agronomist needs to know of one.
type zone struct {
	ID, Name, Block string
	Shape, Class    string // blind somewhere or not
	Depths          []stratum
	Water           []string // what the log of waterings and the probes disagree on
	Out             []leftOut
	Days            []changedDay
	blind           []string
}

// stratum is one depth of a zone.
type stratum struct {
	Depth  string
	Blind  bool
	State  string   // in a sentence
	Trust  []string // names
	Others []probeState
}

// probeState is a probe that is not fit.
type probeState struct {
	mark
	Name, Link, Why string
	UsableNow       bool
}

// leftOut is what is excluded of one probe in the window.
type leftOut struct{ Name, Link, Depth, When, Why string }

type changedDay struct{ Day, Withdrawn, Back string }

func (w *work) zones() (out []zone) {
	type key struct{ farm, zone string }
	at := map[key]int{}
	members := map[key][]int{}
	for _, row := range w.in.Judged.Coverage {
		k := key{row.Farm, row.Zone}
		n, ok := at[k]
		if !ok {
			n = len(out)
			at[k] = n
			id := anchor("zone", row.Zone)
			if slices.ContainsFunc(out, func(z zone) bool { return z.ID == id }) { // of another farm
				id = anchor("zone", row.Farm+" "+row.Zone)
			}
			out = append(out, zone{ID: id, Name: zoneName(row.Zone), Shape: "●", Class: "v-fit"})
		}
		z := &out[n]
		if row.Block != "" && !slices.Contains(strings.Split(z.Block, ", "), row.Block) {
			z.Block = strings.TrimPrefix(z.Block+", "+row.Block, ", ")
		}
		s := w.stratum(&row)
		if s.Blind {
			z.Shape, z.Class = "✕", "v-unfit"
			z.blind = append(z.blind, s.Depth)
		}
		z.Depths = append(z.Depths, s)
		members[k] = append(members[k], row.Members...)
	}
	for k, n := range at {
		z := &out[n]
		slices.Sort(members[k])
		z.Out = w.leftOut(members[k])
		z.Days = w.changedDays(k.zone)
		for i := range w.in.Judged.Findings {
			f := &w.in.Judged.Findings[i]
			if f.Subject == schemas.SubjectZone && f.Name == k.zone && f.End > w.in.Judged.Period.Window.Start {
				z.Water = append(z.Water, fmt.Sprintf("%s: %s (%s).", w.say.at(f.Start), faultWords(f.Fault), sure(f.Confidence)))
			}
		}
	}
	return out
}

func (w *work) stratum(row *judge.CoverageRow) stratum {
	s := stratum{Depth: w.say.depth(row.DepthCM), Blind: row.Blind}
	trust := 0
	for _, p := range row.Members {
		st := &w.in.Judged.States[p]
		if st.Verdict == schemas.Fit {
			trust++
			s.Trust = append(s.Trust, w.in.Probes[p].Name)
			continue
		}
		s.Others = append(s.Others, probeState{markOf(st.Verdict), w.in.Probes[p].Name, w.probeLink(p), w.cause(p), st.UsableNow})
	}
	if !row.Blind {
		s.State = fmt.Sprintf("%d of %s can be trusted now.", trust, count(row.Probes, "probe"))
		return s
	}
	s.State = fmt.Sprintf("Blind: none of %s can be trusted", count(row.Probes, "probe"))
	if row.BlindSince.OK {
		s.State += ", since " + w.say.at(row.BlindSince.V)
	} else {
		s.State += " in all that was looked at"
	}
	s.State += ". "
	if row.LastTrusted.OK {
		s.State += "Last trusted reading: " + w.say.at(row.LastTrusted.V) + "."
	} else {
		s.State += "No reading since " + w.say.day(w.in.Judged.Period.Lookback) + " could be trusted."
	}
	return s
}

// leftOut sums up what is excluded in the window, a line a probe.
func (w *work) leftOut(probes []int) (out []leftOut) {
	window := w.in.Judged.Period.Window
	for _, p := range probes {
		var stretches []detect.Span
		var faults []string
		sum := int64(0)
		for _, e := range w.in.Judged.ExclusionsOf(p) {
			both := e.Overlap(window)
			if both.Length() == 0 {
				continue
			}
			stretches = append(stretches, e.Span)
			sum += both.Length()
			for _, r := range e.Reasons {
				if !slices.Contains(faults, r) {
					faults = append(faults, r)
				}
			}
		}
		if len(stretches) == 0 {
			continue
		}
		first, last := stretches[0], stretches[len(stretches)-1]
		until := "until " + w.say.at(last.End)
		if last.End >= window.End {
			until = "and still"
		}
		when := fmt.Sprintf("from %s %s", w.say.at(first.Start), until)
		if n := len(stretches); n > 1 {
			when = fmt.Sprintf("%d stretches, %s of the window, %s", n, length(sum), when)
		}
		out = append(out, leftOut{w.in.Probes[p].Name, w.probeLink(p), w.say.depth(w.in.Probes[p].DepthCM), when, reasonsOf(faults)})
	}
	return out
}

// changedDays lists a zone's days on which readings were withdrawn or given back.
func (w *work) changedDays(name string) (out []changedDay) {
	rows := slices.DeleteFunc(slices.Clone(w.in.Changed), func(c Changed) bool { return c.Zone != name })
	slices.SortStableFunc(rows, func(a, b Changed) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Probe, b.Probe))
	})
	for i, c := range rows {
		if i == 0 || c.Day != rows[i-1].Day {
			out = append(out, changedDay{Day: w.say.local(c.Day).Format("Mon ") + w.say.day(c.Day)})
		}
		d := &out[len(out)-1]
		to := &d.Withdrawn
		if !c.Withdrawn {
			to = &d.Back
		}
		why := ""
		if c.Reasons != "" {
			why = ": " + strings.ReplaceAll(strings.ReplaceAll(c.Reasons, " ", ", "), "_", " ")
		}
		*to = strings.TrimPrefix(fmt.Sprintf("%s; %s (%.3g h%s)", *to, c.Probe, c.Hours, why), "; ")
	}
	return out
}

// blindOf lists what is blind, over all zones.
func blindOf(zones []zone) (out []string) {
	for i := range zones {
		if z := &zones[i]; len(z.blind) > 0 {
			out = append(out, z.Name+" at "+strings.Join(z.blind, ", "))
		}
	}
	return out
}
