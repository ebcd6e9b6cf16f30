package score

import (
	"slices"

	"probeward/schemas"
)

// looks finds what most of the healthy probes of each logger and zone are easily
// mistaken for.
func (w *work) looks() {
	probes := map[string]map[string]int{} // by place and class
	for name, p := range w.run.Probes {
		if !w.truth.Healthy[name] {
			continue
		}
		for _, place := range [2]string{"logger " + p.Logger, "zone " + p.Zone} {
			if probes[place] == nil {
				probes[place] = map[string]int{}
			}
			probes[place][w.truth.Class[name]]++
		}
	}
	for place, classes := range probes {
		all := 0
		for _, n := range classes {
			all += n
		}
		for class, n := range classes {
			if 2*n > all && class != "none" {
				w.look[place] = class
			}
		}
	}
}

// classOf gives the class of a false alarm and the place whose one cause it is.
func (w *work) classOf(s *Finding) (class, place string) {
	switch s.Subject {
	case schemas.SubjectLogger:
		place = "logger " + s.Name
		if look := w.look[place]; look != "" && len(w.truth.Of(s.Subject, s.Name)) == 0 {
			return "logger, " + look, place
		}
		return classLogger, place
	case schemas.SubjectZone:
		place = "zone " + s.Name
		if look := w.look[place]; look != "" && len(w.truth.Of(s.Subject, s.Name)) == 0 {
			return "zone, " + look, place
		}
		return classZone, place
	}
	p := w.run.Probes[s.Name]
	if p == nil {
		return w.truth.Class[s.Name], s.Name
	}
	place = "logger " + p.Logger
	if !w.truth.Healthy[s.Name] {
		for _, f := range w.faultsOn(s.Name) {
			if s.Start < f.Start {
				return classBefore, place
			}
		}
		return classAfter, place
	}
	class = w.truth.Class[s.Name]
	if zone := "zone " + p.Zone; w.look[zone] == class {
		place = zone
	}
	return class, place
}

// alarms holds every unmasked finding against the truth of its subject: right, right
// but named otherwise, or for nothing.
func (w *work) alarms() {
	type key struct {
		subject     schemas.Subject
		name, fault string
	}
	groups := map[key][]*Finding{}
	var keys []key
	for i := range w.run.Findings {
		if f := &w.run.Findings[i]; w.run.alarms(f) {
			k := key{f.Subject, f.Name, f.Fault}
			if groups[k] == nil {
				keys = append(keys, k)
			}
			groups[k] = append(groups[k], f)
		}
	}
	for _, k := range keys {
		// A fault that is cried in several stretches is one alarm: a false one if any
		// of them is, and as sure as the surest of those that decide.
		var right, wrong []*Finding
		for _, f := range groups[k] {
			if len(w.explaining(f)) > 0 {
				right = append(right, f)
			} else if !w.settles(f) {
				wrong = append(wrong, f)
			}
		}
		if len(wrong) > 0 {
			w.falseAlarm(surest(wrong))
			w.outcome(surest(wrong).Confidence, false, false)
		}
		if len(right) > 0 {
			f := surest(right)
			visible, named := false, false
			for _, f := range right {
				for _, t := range w.explaining(f) {
					same := w.run.names(f.Fault, t.Fault)
					named = named || same
					visible = visible || t.Visible || same
				}
			}
			if visible && !named {
				w.tally.Beside++
			}
			w.outcome(f.Confidence, visible, named)
		}
	}
}

// settles: a probe that is new in the ground is called settling, as it should be.
func (w *work) settles(f *Finding) bool {
	return f.Fault == "settling" && f.Subject == schemas.SubjectProbe && slices.Contains(newInGround, w.truth.Class[f.Name])
}

// explaining lists the faults that a finding is about: those of its subject, or of
// its probe's logger, that it overlaps and does not precede.
func (w *work) explaining(s *Finding) (out []*Fault) {
	faults := w.truth.Of(s.Subject, s.Name)
	if p := w.run.Probes[s.Name]; s.Subject == schemas.SubjectProbe && p != nil && !w.truth.Healthy[s.Name] {
		faults = append(faults, w.truth.Of(schemas.SubjectLogger, p.Logger)...)
	}
	for _, f := range faults {
		if touches(s.Span, f.effect()) && s.Start >= f.earliest(w.run.Window) {
			out = append(out, f)
		}
	}
	return out
}

func (w *work) falseAlarm(s *Finding) {
	class, place := w.classOf(s)
	w.tally.Alarms[class]++
	if key := s.Fault + "\x00" + place; !w.cause[key] {
		w.cause[key] = true
		w.tally.Causes[class]++
	}
	w.tally.AlarmsBy[s.Fault]++
	truth := "healthy"
	var faults []*Fault
	switch s.Subject {
	case schemas.SubjectProbe:
		faults = w.faultsOn(s.Name)
		if p := w.run.Probes[s.Name]; p != nil {
			for _, f := range w.truth.Of(schemas.SubjectZone, p.Zone) {
				truth += "; its zone has " + f.String()
			}
		}
	default:
		faults = w.truth.Of(s.Subject, s.Name)
	}
	if len(faults) > 0 {
		truth = list(faults)
	}
	w.note(Alarm, s.Subject, s.Name, class, truth)
	w.cases[len(w.cases)-1].Said = said(s)
}

// faultsOn lists a probe's own faults, and its logger's where that touches it.
func (w *work) faultsOn(probe string) []*Fault {
	faults := w.truth.Of(schemas.SubjectProbe, probe)
	if p := w.run.Probes[probe]; p != nil && !w.truth.Healthy[probe] {
		faults = append(faults, w.truth.Of(schemas.SubjectLogger, p.Logger)...)
	}
	return faults
}
