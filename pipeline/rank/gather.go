package rank

import (
	"cmp"
	"slices"
	"strings"

	"probeward/pipeline/feedback"
	"probeward/pipeline/judge"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// class says what is mended: two classes at one place are two visits.
type class uint8

const (
	ofProbes class = iota
	ofLogger
	ofZone
)

// families of a class, which a visit's name ends with.
func (c class) families() []schemas.Family {
	switch c {
	case ofLogger:
		return []schemas.Family{schemas.FamilyLogger}
	case ofZone:
		return []schemas.Family{schemas.FamilyWater}
	default:
		return []schemas.Family{schemas.FamilyCable, schemas.FamilyProbe, schemas.FamilyInstall,
			schemas.FamilyRegister, schemas.FamilyTelemetry}
	}
}

// site is one place with one thing to mend.
type site struct {
	farm, place string
	class       class
}

// stop is a visit in the making: its findings, and what each says of which probe.
type stop struct {
	site
	post     string
	loggers  map[string]bool // with a fault of their own
	zone     string          // of a zone's visit
	findings []int
	touched  map[int][]int // findings by probe
}

// ranker holds what all stops are weighed against.
type ranker struct {
	in       *Input
	loggers  map[string]*register.Logger
	fit      map[cell]int
	areaElse float64
	said     []feedback.Said // by place in the judgement
	quiet    []Quieted
}

// gather sorts the findings that call for a visit to their stops.
func (r *ranker) gather() []*stop {
	at := map[site]*stop{}
	open := func(k site) *stop {
		s, ok := at[k]
		if !ok {
			s = &stop{site: k, loggers: map[string]bool{}, touched: map[int][]int{}}
			at[k] = s
		}
		return s
	}
	main := map[int]bool{} // what makes a probe's verdict always calls
	for i := range r.in.Judged.States {
		if s := &r.in.Judged.States[i]; s.Main >= 0 && len(r.bad([]int{i})) > 0 {
			_, worked := tradeOf[r.in.Judged.Findings[s.Main].Fault]
			main[s.Main] = worked
		}
	}
	for i := range r.in.Judged.Findings {
		f := &r.in.Judged.Findings[i]
		if !main[i] && !r.calls(f) || r.over(f) {
			continue
		}
		var s *stop
		switch f.Subject {
		case schemas.SubjectLogger:
			touched := r.bad(f.Probes)
			if len(touched) == 0 || r.waits(i) {
				continue
			}
			post := r.postOf(f.Name, touched)
			s = open(site{r.in.Probes[touched[0]].Farm, cmp.Or(post, f.Name), ofLogger})
			s.post = cmp.Or(s.post, post)
			s.loggers[f.Name] = true
			s.touch(i, touched...)
		case schemas.SubjectZone:
			if r.waits(i) {
				continue
			}
			farm := ""
			if len(f.Probes) > 0 {
				farm = r.in.Probes[f.Probes[0]].Farm
			}
			s = open(site{farm, f.Name, ofZone})
			s.zone = f.Name
			s.touch(i, f.Probes...)
		default:
			if len(r.bad([]int{f.Probe})) == 0 || r.waits(i) {
				continue
			}
			if logger, ok := r.withLogger(f); ok {
				g := &r.in.Judged.Findings[logger]
				touched := r.bad(g.Probes)
				post := r.postOf(g.Name, touched)
				s = open(site{r.in.Probes[touched[0]].Farm, cmp.Or(post, g.Name), ofLogger})
				s.touch(i, f.Probe)
				break
			}
			p := &r.in.Probes[f.Probe]
			s = open(site{p.Farm, cmp.Or(p.Post, r.in.Judged.States[f.Probe].Logger, p.Name), ofProbes})
			s.post = cmp.Or(s.post, p.Post)
			s.touch(i, f.Probe)
		}
		s.findings = append(s.findings, i)
	}
	stops := make([]*stop, 0, len(at))
	for _, s := range at {
		if slices.ContainsFunc(s.findings, func(i int) bool { return !tradeOf[r.in.Judged.Findings[i].Fault].Rides }) {
			stops = append(stops, s)
		}
	}
	slices.SortFunc(stops, func(a, b *stop) int {
		return cmp.Or(cmp.Compare(a.place, b.place), cmp.Compare(a.class, b.class), cmp.Compare(a.farm, b.farm))
	})
	for _, s := range stops {
		r.order(s)
	}
	return stops
}

func (s *stop) touch(finding int, probes ...int) {
	for _, p := range probes {
		s.touched[p] = append(s.touched[p], finding)
	}
}

// calls says whether a finding by itself calls for a visit: it is not explained by
// another, its work is in the trade's table, and it stands. One that ended within
// the window calls when what failed may fail again: with a verdict of unfit, or
// when it is of those that come and go.
func (r *ranker) calls(f *judge.Finding) bool {
	fault, known := schemas.FaultNamed(f.Fault)
	if _, worked := tradeOf[f.Fault]; !known || !worked || f.MaskedBy != "" || f.Flag == schemas.FlagNone && fault.Flag != schemas.FlagNone {
		return false
	}
	if f.Open {
		return true
	}
	returns := fault.Recurs || fault.Subject == schemas.SubjectZone || fault.VerdictFor(f.Confidence) == schemas.Unfit
	return returns && f.End > r.in.Period.Window.Start
}

// bad keeps the probes in the ground whose verdict a visit could better.
func (r *ranker) bad(places []int) []int {
	var out []int
	for _, p := range places {
		s := &r.in.Judged.States[p]
		if s.InGround && (s.Verdict == schemas.Unfit || s.Verdict == schemas.Silent || s.Verdict == schemas.Doubtful) {
			out = append(out, p)
		}
	}
	return out
}

// postOf is where a logger stands: by its own row, or by the first of its probes
// that has a post.
func (r *ranker) postOf(logger string, probes []int) string {
	if l := r.loggers[logger]; l != nil && l.Post != "" {
		return l.Post
	}
	for _, p := range probes {
		if post := r.in.Probes[p].Post; post != "" {
			return post
		}
	}
	return ""
}

// order puts the stop's main finding first: the one with the worst verdict, then
// the surest, then as the faults' table has it.
func (r *ranker) order(s *stop) {
	all := schemas.Verdicts()
	rank := func(f *judge.Finding) int {
		fault, _ := schemas.FaultNamed(f.Fault)
		if i := slices.Index(all, fault.VerdictFor(f.Confidence)); i >= 0 {
			return i
		}
		return len(all)
	}
	slices.SortFunc(s.findings, func(i, j int) int {
		a, b := &r.in.Judged.Findings[i], &r.in.Judged.Findings[j]
		if s.class == ofLogger && a.Subject != b.Subject { // what its ports show goes behind
			return cmp.Compare(a.Subject, b.Subject)
		}
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(b.Confidence, a.Confidence),
			cmp.Compare(schemas.FaultBit(a.Fault), schemas.FaultBit(b.Fault)), strings.Compare(a.Name, b.Name), cmp.Compare(i, j))
	})
}

// probes of the stop, sorted by place, which is by name.
func (s *stop) probes() []int {
	out := make([]int, 0, len(s.touched))
	for p := range s.touched {
		out = append(out, p)
	}
	slices.Sort(out)
	return out
}

// faults of the stop: the main one first, then as the table has them.
func (r *ranker) faults(s *stop) []string {
	main := r.in.Judged.Findings[s.findings[0]].Fault
	seen := map[string]bool{main: true}
	out := []string{main}
	for _, i := range s.findings {
		if f := r.in.Judged.Findings[i].Fault; !seen[f] {
			seen[f] = true
			out = append(out, f)
		}
	}
	slices.SortFunc(out[1:], func(a, b string) int { return cmp.Compare(schemas.FaultBit(a), schemas.FaultBit(b)) })
	return out
}

// since is when the oldest of the stop's faults began.
func (r *ranker) since(s *stop) int64 {
	since := r.in.Judged.Findings[s.findings[0]].Start
	for _, i := range s.findings[1:] {
		since = min(since, r.in.Judged.Findings[i].Start)
	}
	return since
}

// sure is the highest confidence among findings, moved by what visits met.
func (r *ranker) sure(findings []int) float64 {
	c := 0.0
	for _, i := range findings {
		c = max(c, r.said[i].Moved)
	}
	return c
}

func (r *ranker) detail(place int) *register.Detail {
	if place < len(r.in.Details) {
		return &r.in.Details[place]
	}
	return &register.Detail{}
}
