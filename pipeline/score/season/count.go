package season

import (
	"fmt"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// newDays is for how long a new sensor may be called settling.
const newDays = 28

// alarms counts the false findings of each run and those that come again.
func (f *folders) alarms(r *Report) {
	by := map[string]*Cry{}
	standing := map[string]int{} // weeks in a row, by subject, name and fault
	for k := range f.runs {
		now := map[string]int{}
		for j := range f.runs[k].findings {
			s := &f.runs[k].findings[j]
			isFalse, mended := f.isFalse(s, f.runs[k].window)
			key := s.subject + " " + s.name + " " + s.kind
			if !isFalse || now[key] > 0 { // several stretches are one
				continue
			}
			now[key] = standing[key] + 1
			r.Alarms.Findings++
			r.Alarms.Mended += one(mended)
			r.Weeks[k].Alarms++
			again := ""
			if now[key] > 1 {
				again = fmt.Sprintf(", week %d in a row", now[key])
			}
			if mended {
				again += ", its fault is over"
			}
			r.Alarms.List = append(r.Alarms.List, fmt.Sprintf("week %d: %s %s to %s%s", k+1, key, detect.Stamp(s.Start), until(s.End), again))
			if by[s.kind] == nil {
				by[s.kind] = &Cry{Name: s.kind}
			}
			by[s.kind].Findings++
			if now[key] > 1 {
				r.Alarms.Repeats++
				r.Weeks[k].Repeats++
				by[s.kind].Repeats++
			}
			r.Alarms.Longest = max(r.Alarms.Longest, now[key])
		}
		standing = now
	}
	r.Alarms.By = inOrder(by)
}

// isFalse says whether an unmasked finding is a false one, and whether it is of a
// fault that was there and is over.
func (f *folders) isFalse(s *finding, window detect.Span) (is, mended bool) {
	row, known := schemas.FaultNamed(s.kind)
	if known && row.Verdict == "" && s.subject != string(schemas.SubjectZone) {
		return false, false
	}
	if s.Overlap(window).Length() == 0 && !window.Holds(s.Start) {
		return false, false
	}
	p := f.probes[s.name]
	if s.kind == "settling" && p != nil && window.Start-p.Start < newDays*detect.Day {
		return false, false
	}
	for i := range f.faults {
		x := &f.faults[i]
		if !f.explains(x, s) {
			continue
		}
		if x.meets(s, window) {
			return false, false
		}
		mended = mended || x.End <= window.Start && s.Start < x.End && s.Start >= x.Start-2*detect.Day
	}
	return true, mended
}

// explains says whether a fault is of a finding's subject, or of its logger.
func (f *folders) explains(x *fault, s *finding) bool {
	if x.subject == s.subject {
		return x.name == s.name
	}
	return s.subject == string(schemas.SubjectProbe) && slices.Contains(x.touches, s.name)
}

// at lists what is wrong with a thing at an instant.
func (f *folders) at(subject schemas.Subject, name string, t int64) (out []*fault) {
	for i := range f.faults {
		x := &f.faults[i]
		// A fault ends at the hour of the visit that mended it.
		if x.kind == "settling" || x.Start > t || x.End < t {
			continue
		}
		if x.subject == string(subject) && x.name == name || subject == schemas.SubjectProbe && slices.Contains(x.touches, name) {
			out = append(out, x)
		}
	}
	return out
}

// visits counts what the crew met where it was sent.
func (f *folders) visits(r *Report) error {
	by := map[string]*Cause{}
	nothing := map[string]bool{} // visits that met nothing when they were made last
	for i := 0; i < len(f.seen); {
		first := f.seen[i]
		n := i
		for n < len(f.seen) && f.seen[n].visit == first.visit && f.seen[n].at == first.at {
			n++
		}
		group := f.seen[i:n]
		i = n
		k := f.runBefore(first.at)
		if k < 0 {
			return fmt.Errorf("visit %s of %s is before the first run", first.visit, detect.Stamp(first.at))
		}
		stop := f.runs[k].stop(first.visit)
		if stop == nil {
			return fmt.Errorf("visit %s of %s is in no queue of the run before it", first.visit, detect.Stamp(first.at))
		}
		r.Visits.Made++
		if group[0].outcome == "could_not_reach" {
			continue
		}
		things, ill, wrong := f.met(stop, group)
		r.Visits.Reached++
		r.Visits.Looked += things
		r.Visits.AtFault += ill
		r.Weeks[k].Visits++
		main, _, _ := strings.Cut(stop.cause, " ")
		if by[main] == nil {
			by[main] = &Cause{Name: main}
		}
		by[main].Reached++
		if len(wrong) == 0 {
			over := f.over(stop, group)
			r.Visits.Over += one(over)
			r.Visits.ForNothing = append(r.Visits.ForNothing, nothingAt(k, stop, over))
			r.Visits.Again += one(nothing[first.visit])
			nothing[first.visit] = true
			continue
		}
		delete(nothing, first.visit)
		r.Visits.Real++
		r.Weeks[k].Real++
		by[main].Real++
		if slices.ContainsFunc(wrong, func(x *fault) bool { return slices.Contains(strings.Fields(stop.cause), x.kind) }) {
			r.Visits.Named++
			by[main].Named++
		}
	}
	for i := range f.faults {
		if x := &f.faults[i]; x.counts() && x.endedBy == "crew" {
			if k := f.runBefore(x.End); k >= 0 {
				r.Weeks[k].Mended++
			}
		}
	}
	r.Causes = inOrder(by)
	return nil
}

func nothingAt(k int, at *stop, over bool) string {
	text := fmt.Sprintf("week %d: rank %d, %s, %s", k+1, at.rank, at.visit, at.cause)
	if len(at.probes) <= 4 {
		text += ", " + strings.Join(at.probes, " ")
	}
	if over {
		text += ", mended before"
	}
	return text
}

// overDays is for how long a mended fault is remembered where nothing is at fault.
const overDays = 28

// over says whether the crew had ended a fault of one of a stop's things.
func (f *folders) over(at *stop, group []seen) bool {
	for i := range f.faults {
		x := &f.faults[i]
		if x.endedBy != "crew" || x.End >= group[0].at || x.End < group[0].at-overDays*detect.Day {
			continue
		}
		if at.family == schemas.FamilyWater && x.subject == string(schemas.SubjectZone) && slices.Contains(at.zones, x.name) {
			return true
		}
		for _, row := range group {
			if x.name == row.probe || x.name == row.logger && row.probe == "" || slices.Contains(x.touches, row.probe) {
				return true
			}
		}
	}
	return false
}

// met gives how many things a stop was about, how many of them were at fault, and
// by what.
func (f *folders) met(at *stop, group []seen) (things, ill int, wrong []*fault) {
	look := func(subject schemas.Subject, name string) {
		found := f.at(subject, name, group[0].at)
		things++
		ill += one(len(found) > 0)
		wrong = append(wrong, found...)
	}
	if at.family == schemas.FamilyWater {
		for _, zone := range at.zones {
			look(schemas.SubjectZone, zone)
		}
		return things, ill, wrong
	}
	for _, row := range group {
		switch {
		case row.probe != "":
			look(schemas.SubjectProbe, row.probe)
		case row.logger != "":
			look(schemas.SubjectLogger, row.logger)
		}
	}
	return things, ill, wrong
}

// runBefore is the newest run whose window had ended; -1: none.
func (f *folders) runBefore(t int64) int {
	k := len(f.runs) - 1
	for k >= 0 && f.runs[k].window.End > t {
		k--
	}
	return k
}

func (r *run) stop(visit string) *stop {
	for i := range r.queue {
		if r.queue[i].visit == visit {
			return &r.queue[i]
		}
	}
	return nil
}

func inOrder[T any](by map[string]*T) (out []T) {
	for _, row := range schemas.Faults() {
		if c := by[row.Name]; c != nil {
			out = append(out, *c)
		}
	}
	return out
}

// readings counts bad readings that stood as usable and good time that was lost.
func (f *folders) readings(r *Report) {
	names := make([]string, 0, len(f.probes))
	for name := range f.probes {
		names = append(names, name)
	}
	slices.Sort(names) // a sum of floats must not depend on the map
	for _, name := range names {
		f.badOf(f.probes[name], r)
		f.goodOf(f.probes[name], r)
	}
}

// faultsOn lists a probe's own faults, and its logger's where that touches it.
func (f *folders) faultsOn(name string) (out []*fault) {
	for i := range f.faults {
		x := &f.faults[i]
		if x.subject == string(schemas.SubjectProbe) && x.name == name || slices.Contains(x.touches, name) {
			out = append(out, x)
		}
	}
	return out
}

func (f *folders) badOf(p *probe, r *Report) {
	faults := f.faultsOn(p.name)
	k := 0
	for _, t := range p.bad {
		for k < len(f.runs) && f.runs[k].window.End <= t {
			k++
		}
		if k == len(f.runs) || t < f.runs[k].window.Start {
			continue // before the first window
		}
		var cause *fault
		clock := false
		for _, x := range faults {
			if x.Holds(t) {
				clock = clock || x.kind == "clock_error"
				if cause == nil {
					cause = x
				}
			}
		}
		if cause == nil || clock || cause.kind == "settling" {
			continue
		}
		row, _ := schemas.FaultNamed(cause.kind)
		bad := &r.Readings.Suspect
		if row.Flag == schemas.FlagFail || row.SureFlag == schemas.FlagFail {
			bad = &r.Readings.Failed
		}
		day := detect.Days(p.cadence)
		bad.Days += day
		if holds(f.runs[k].exclusions[p.name], t) {
			continue
		}
		bad.Stood += day
		if bad == &r.Readings.Failed {
			r.Weeks[k].BadStood += day
		}
		if f.runs[k].verdicts[p.name] == schemas.Fit {
			bad.StoodFit += day
		}
		for later := k + 1; later < len(f.runs); later++ {
			if holds(f.runs[later].exclusions[p.name], t) {
				bad.Late += day
				break
			}
		}
	}
}

// goodOf walks the exclusions of each judged week a quarter of an hour at a time, against the
// truth and against the run after.
func (f *folders) goodOf(p *probe, r *Report) {
	faults := f.faultsOn(p.name)
	const step = detect.Hour / 4
	for k := range f.runs {
		for _, e := range f.runs[k].exclusions[p.name] {
			e = e.Overlap(f.runs[k].window).Overlap(p.Span)
			for t := e.Start; t < e.End; t += step {
				part := detect.Days(min(step, e.End-t))
				bad := slices.ContainsFunc(faults, func(x *fault) bool { return x.Holds(t) })
				if !bad {
					r.Readings.GoodLost += part
				}
				if k+1 < len(f.runs) && !holds(f.runs[k+1].exclusions[p.name], t) {
					if bad {
						r.Readings.GivenBackBad += part
					} else {
						r.Readings.GivenBackGood += part
					}
				}
			}
		}
	}
}

// holds says whether an instant lies in one of some sorted, disjoint spans.
func holds(spans []detect.Span, t int64) bool {
	n, _ := slices.BinarySearchFunc(spans, t, func(s detect.Span, t int64) int {
		if s.End <= t {
			return -1
		}
		return 1
	})
	return n < len(spans) && spans[n].Holds(t)
}
