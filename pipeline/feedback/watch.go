package feedback

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Numbers of the watch; see the package comment.
const (
	cleanSteps   = 10
	cleanStretch = 3.0             // mean clean stretches: the rule of three
	longestWatch = 28 * detect.Day // common practice, no source
	answerUnits  = 1.5             // of what quiet time brings, as missing_irrigation_response has it
)

// answers are the faults that only water can show, or prove gone.
var answers = map[string]bool{"missing_irrigation_response": true, "poor_contact": true, "bypass_flow": true,
	"flat_line": true, "irrigation_failure": true, "wrong_zone": true, "depth_order": true}

// CleanFor is how long a fault must not show before it counts as gone: three times
// the mean clean stretch between its shows, which are sorted and disjoint, and ten of
// the probe's steps at least.
func CleanFor(shows []detect.Span, cadence int64) int64 {
	least := cleanSteps * cadence
	if len(shows) < 2 {
		return min(least, longestWatch)
	}
	clean := int64(0)
	for i := 1; i < len(shows); i++ {
		clean += max(0, shows[i].Start-shows[i-1].End)
	}
	mean := float64(clean) / float64(len(shows)-1)
	return min(max(least, int64(cleanStretch*mean)), longestWatch)
}

// watches says of each mended probe what it has still to prove.
func (s *settling) watches() {
	end := s.Book.in.Period.Window.End
	for p := range s.Book.in.Register.Probes {
		if !there(&s.Book.in.Register.Probes[p], end-1) {
			continue // a sensor that came out proves nothing
		}
		var newest *Mend
		watered := false
		for i := range s.mended {
			m := &s.mended[i]
			if !s.concerns(m, p) || newest != nil && m.Done < newest.Done {
				continue
			}
			newest, watered = m, answers[m.Fault]
		}
		if newest == nil {
			continue
		}
		if since, ok := s.after(newest); ok {
			s.watch[p] = fmt.Sprintf("%s, and back since %s", s.told(newest), s.day(since))
			continue
		}
		report := &s.reports[p]
		cadence := report.Summary.Cadence
		need := CleanFor(nil, cadence)
		for _, x := range s.shows[p] {
			if x.fault == newest.Fault || newest.Fault == "" {
				need = max(need, CleanFor(x.spans, cadence))
			}
		}
		var lacks []string
		if cadence > 0 {
			wanted := int(math.Ceil(float64(need) / float64(cadence)))
			have := 0
			if s.in.Times != nil {
				times := s.in.Times(p)
				have = sort.Search(len(times), func(i int) bool { return times[i] >= end }) -
					sort.Search(len(times), func(i int) bool { return times[i] >= newest.Done })
			}
			if have < wanted {
				lacks = append(lacks, fmt.Sprintf("%d of %d readings since", max(0, have), wanted))
			}
		} else {
			lacks = append(lacks, "no reading since")
		}
		if watered {
			if why := unanswered(&report.Summary.Waterings, newest.Done); why != "" {
				lacks = append(lacks, why)
			}
		}
		if len(lacks) == 0 {
			continue
		}
		s.watch[p] = fmt.Sprintf("%s, not yet proven: %s", s.told(newest), strings.Join(lacks, ", "))
	}
}

// told says what was mended, and when.
func (s *settling) told(m *Mend) string {
	if m.Subject == schemas.SubjectProbe {
		return "mended " + s.day(m.On)
	}
	return fmt.Sprintf("%s %s mended %s", m.Subject, m.Name, s.day(m.On))
}

// after finds when a fault of the mended one's family showed again on its subject.
func (s *settling) after(m *Mend) (since int64, ok bool) {
	family := func(fault string) schemas.Family { row, _ := schemas.FaultNamed(fault); return row.Family }
	see := func(of schemas.Subject, name string, f *detect.Finding) {
		if of == m.Subject && name == m.Name && m.Fault != "" && family(f.Fault) == family(m.Fault) && f.Start >= m.Done && (!ok || f.Start < since) {
			since, ok = f.Start, true
		}
	}
	if m.Probe >= 0 {
		eachFinding(s.reports[m.Probe].Outcomes, func(f *detect.Finding) { see(schemas.SubjectProbe, m.Name, f) })
	}
	for g := range s.groups {
		subject := s.subjectIn(&s.groups[g].Group)
		eachFinding(s.groups[g].Outcomes, func(f *detect.Finding) {
			of, name, _ := subject(f)
			see(of, name, f)
		})
	}
	return since, ok
}

// there says whether a probe is in the ground and wired, as registered.
func there(p *detect.Probe, t int64) bool {
	if p.RemovedOn.OK && p.RemovedOn.V <= t {
		return false
	}
	return len(p.Wirings) == 0 || slices.ContainsFunc(p.Wirings, func(w detect.Wiring) bool { return w.Holds(t) })
}

// concerns says whether work is to be proven at a probe.
func (s *settling) concerns(m *Mend, probe int) bool {
	if m.Probe >= 0 {
		return m.Probe == probe
	}
	p := &s.Book.in.Register.Probes[probe]
	if m.Subject == schemas.SubjectZone {
		return p.Zone == m.Name && p.Moisture()
	}
	for _, w := range p.Wirings {
		if w.Logger == m.Name && w.Holds(m.On) {
			return true
		}
	}
	return false
}

// unanswered says why no watering since the work proves the probe; empty: one does.
func unanswered(w *detect.Waterings, since int64) string {
	seen := 0
	for i := range w.At {
		at := &w.At[i]
		if at.Start < since || at.Blind {
			continue
		}
		seen++
		if answered(at, w.Unit) {
			return ""
		}
	}
	if seen == 0 {
		return "no watering since"
	}
	return fmt.Sprintf("none of %d waterings since answered", seen)
}

// Watch is what a probe has still to prove after it was mended; empty: nothing.
func (b *Book) Watch(probe int) string {
	if b == nil {
		return ""
	}
	return b.watch[probe]
}
