package rank

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// Visits ranks what a crew can mend, the most useful first. The same judgement
// gives the same visits.
func Visits(in Input) []Visit {
	visits, _ := Queue(in)
	return visits
}

// Queue is Visits with the findings that wait because of what earlier visits found.
func Queue(in Input) ([]Visit, []Quieted) {
	r := &ranker{in: &in, loggers: map[string]*register.Logger{}}
	for i := range in.Loggers {
		r.loggers[in.Loggers[i].Name] = &in.Loggers[i]
	}
	r.count()
	r.listen()
	stops := r.gather()
	names := r.names(stops)
	visits := make([]Visit, len(stops))
	for i, s := range stops {
		visits[i] = r.visit(s, names[i])
	}
	slices.SortFunc(visits, func(a, b Visit) int {
		return cmp.Or(cmp.Compare(b.Priority, a.Priority), strings.Compare(a.Name, b.Name))
	})
	route(visits)
	return visits, r.quiet
}

// names gives each stop a name of its own. A visit keeps the name under which the
// run before had it, though another of its faults may now be the main one.
func (r *ranker) names(stops []*stop) []string {
	places := make([]string, len(stops))
	farms := map[string]map[string]bool{}
	for i, s := range stops {
		places[i] = strings.Join(strings.Fields(s.place), "_")
		key := fmt.Sprint(places[i], s.class)
		if farms[key] == nil {
			farms[key] = map[string]bool{}
		}
		farms[key][s.farm] = true
	}
	taken := map[string]bool{}
	out := make([]string, len(stops))
	for i, s := range stops {
		place := places[i]
		if len(farms[fmt.Sprint(place, s.class)]) > 1 && s.farm != "" {
			place = strings.Join(strings.Fields(s.farm), "_") + "-" + place
		}
		main := r.in.Judged.Findings[s.findings[0]].Family
		name := fmt.Sprintf("%s-%s", place, main)
		if _, open := r.in.Previous[name]; !open {
			for _, f := range s.class.families() {
				before := fmt.Sprintf("%s-%s", place, f)
				if _, open := r.in.Previous[before]; open {
					name = before
					break
				}
			}
		}
		unique := name
		for n := 2; taken[unique]; n++ {
			unique = fmt.Sprintf("%s-%d", name, n)
		}
		taken[unique] = true
		out[i] = unique
	}
	return out
}

// visit weighs one stop and puts it into words.
func (r *ranker) visit(s *stop, name string) Visit {
	main := &r.in.Judged.Findings[s.findings[0]]
	v := Visit{
		Name: name, Farm: s.farm, Post: s.post, Family: main.Family,
		Findings: s.findings, Faults: r.faults(s), Confidence: r.sure(s.findings), Places: s.probes(), RunsOpen: 1,
	}
	since := r.since(s)
	back, runs := r.back(s)
	if before, open := r.in.Previous[name]; open && (back || !r.in.Feedback.Closed(name)) {
		v.RunsOpen += before.RunsOpen
		if before.OpenSince.OK {
			since = min(since, before.OpenSince.V)
		}
	} else {
		v.RunsOpen += runs
	}
	v.OpenSince = detect.Some(since)
	r.who(s, &v)
	r.where(s, &v)
	v.Cause = r.cause(s, v.Faults)
	for _, f := range v.Faults {
		v.Check = appendNew(v.Check, tradeOf[f].Check...)
		v.Bring = appendNew(v.Bring, tradeOf[f].Bring...)
	}
	v.Minutes = r.minutes(s)
	shares, days := r.worth(s), detect.Days(r.in.Period.Window.End-since)
	v.Priority = priority(shares, days, v.Minutes)
	v.Why = why(shares, v.Confidence, days, v.Minutes, v.RunsOpen)
	for _, words := range r.heard(s, v.Places) {
		v.Why += "; " + words
	}
	return v
}

// who lists the probes, and what is said of each.
func (r *ranker) who(s *stop, v *Visit) {
	blocks, zones, loggers, tags, rows := set{}, set{}, set{}, set{}, set{}
	for l := range s.loggers {
		loggers.add(l)
	}
	zones.add(s.zone)
	for _, p := range v.Places {
		probe, state, detail := &r.in.Probes[p], &r.in.Judged.States[p], r.detail(p)
		v.Probes = append(v.Probes, probe.Name)
		v.Ports = append(v.Ports, cmp.Or(state.Port, "-"))
		v.Depths = append(v.Depths, depthText(probe))
		blocks.add(probe.Block)
		zones.add(probe.Zone)
		if s.class != ofLogger {
			loggers.add(state.Logger)
		}
		if s.class != ofZone {
			tags.add(detail.Tag)
			rows.add(detail.Row)
		}
		if state.Last.OK && (!v.LastReading.OK || state.Last.V > v.LastReading.V) {
			v.LastReading = state.Last
		}
	}
	v.Block, v.Zones, v.Loggers = strings.Join(blocks.sorted(), " "), zones.sorted(), loggers.sorted()
	v.Tag, v.Row = strings.Join(tags.sorted(), " "), strings.Join(rows.sorted(), " ")
}

func depthText(p *detect.Probe) string {
	if !p.DepthCM.OK {
		return "-"
	}
	return strconv.FormatFloat(p.DepthCM.V, 'f', -1, 64)
}

// where finds the coordinates: of a faulty logger, else of a logger that stands at
// the post, else of the first probe that has some; of a zone the mean of its probes.
func (r *ranker) where(s *stop, v *Visit) {
	if s.class == ofZone {
		n, lat, lon := 0, 0.0, 0.0
		for _, p := range v.Places {
			if d := r.detail(p); d.Latitude.OK && d.Longitude.OK {
				n, lat, lon = n+1, lat+d.Latitude.V, lon+d.Longitude.V
			}
		}
		if n > 0 {
			v.Latitude, v.Longitude = detect.Some(lat/float64(n)), detect.Some(lon/float64(n))
		}
		return
	}
	for _, name := range v.Loggers {
		if l := r.loggers[name]; l != nil && l.Latitude.OK && l.Longitude.OK {
			v.Latitude, v.Longitude = l.Latitude, l.Longitude
			return
		}
	}
	for _, p := range v.Places {
		if d := r.detail(p); d.Latitude.OK && d.Longitude.OK {
			v.Latitude, v.Longitude = d.Latitude, d.Longitude
			return
		}
	}
}

// cause puts the faults into words, each with those that it is a fault of.
func (r *ranker) cause(s *stop, faults []string) string {
	parts := make([]string, len(faults))
	for i, name := range faults {
		fault, _ := schemas.FaultNamed(name)
		of := set{}
		for _, k := range s.findings {
			f := &r.in.Judged.Findings[k]
			if f.Fault != name {
				continue
			}
			if f.Subject == schemas.SubjectProbe {
				of.add(r.label(f.Probe))
			} else {
				of.add(f.Name)
			}
		}
		parts[i] = fmt.Sprintf("%s (%s)", fault.Sentence, strings.Join(of.sorted(), ", "))
	}
	return strings.Join(parts, "; ")
}

// label names a probe as one finds it at the post.
func (r *ranker) label(place int) string {
	name := r.in.Probes[place].Name
	if port := r.in.Judged.States[place].Port; port != "" {
		name += " on " + port
	}
	return name
}

func appendNew(list []string, more ...string) []string {
	for _, m := range more {
		if !slices.Contains(list, m) {
			list = append(list, m)
		}
	}
	return list
}

// set is some words, each once; the empty word is none.
type set map[string]bool

func (s set) add(word string) {
	if word != "" {
		s[word] = true
	}
}

func (s set) sorted() []string {
	out := make([]string, 0, len(s))
	for w := range s {
		out = append(out, w)
	}
	slices.Sort(out)
	return out
}
