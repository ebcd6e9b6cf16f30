package rank

import (
	"fmt"
	"math"
	"slices"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/feedback"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// listen takes in what visits say of every finding.
func (r *ranker) listen() {
	r.said = make([]feedback.Said, len(r.in.Judged.Findings))
	for i := range r.in.Judged.Findings {
		r.said[i] = r.in.Feedback.Say(&r.in.Judged.Findings[i])
	}
}

// waits says whether a finding is left out of the queue because of what visits found,
// and lists it.
func (r *ranker) waits(finding int) bool {
	s := &r.said[finding]
	if s.Quiet == "" {
		return false
	}
	r.quiet = append(r.quiet, Quieted{Finding: finding, Evidence: s.Evidence, Why: s.Quiet})
	return true
}

// over says whether a fault that ended counts as gone: a probe's or a logger's when
// it has not shown for as long as feedback.CleanFor asks of a mended one; a zone's when
// a later watering came. Of those that come and go by nature, and of which nothing
// tells how often, as long as they stood is asked.
func (r *ranker) over(f *judge.Finding) bool {
	if f.Open {
		return false
	}
	if f.Subject == schemas.SubjectZone {
		// What came later and was not found to fail had come.
		return slices.ContainsFunc(r.in.Waterings[f.Name], func(w detect.Water) bool {
			return w.Start >= f.End && w.End+feedback.AnswerTime <= r.in.Period.Window.End
		})
	}
	cadence := int64(0)
	if r.in.Cadence != nil {
		for _, p := range append([]int{f.Probe}, f.Probes...) {
			if p >= 0 {
				cadence = max(cadence, r.in.Cadence(p))
			}
		}
	}
	var shows []detect.Span
	for _, p := range f.Parts {
		if p.Flag == schemas.FlagFail {
			shows = append(shows, p.Span)
		}
	}
	need := feedback.CleanFor(shows, cadence)
	if fault, _ := schemas.FaultNamed(f.Fault); len(shows) < 2 && (fault.Recurs || f.Fault == "cable_damage" || f.Fault == "logger_power") {
		need = max(need, f.End-f.Start)
	}
	return r.in.Period.Window.End-f.End >= need
}

// back says whether one of a stop's faults came again after it was mended, and how
// many runs had held it for faulty before.
func (r *ranker) back(s *stop) (back bool, runs int) {
	for _, i := range s.findings {
		if r.said[i].Back {
			back, runs = true, max(runs, r.said[i].RunsOpen)
		}
	}
	return back, runs
}

// heard is what else is to be known of a stop: what visits said, and a person's word
// about its probes.
func (r *ranker) heard(s *stop, places []int) (out []string) {
	for _, i := range s.findings {
		f := &r.in.Judged.Findings[i]
		if rate, ok := r.in.Feedback.RateOf(f.Detector); ok && rate.Hits+rate.Misses > 0 {
			out = appendNew(out, rate.String())
		}
		for _, words := range r.said[i].Words {
			out = appendNew(out, words)
		}
	}
	for _, p := range places {
		if watch := r.in.Feedback.Watch(p); watch != "" {
			out = appendNew(out, fmt.Sprintf("%s is on watch: %s", r.in.Probes[p].Name, watch))
		}
	}
	for k := range r.in.Judged.Overrides {
		a := &r.in.Judged.Overrides[k]
		if !a.Expired && slices.Contains(places, a.Probe) && a.Start < r.in.Period.Window.End {
			out = appendNew(out, r.in.Probes[a.Probe].Name+": "+Word(a, r.in.Zone))
		}
	}
	return out
}

// Word puts an override into words: what, until when, why.
func Word(a *judge.Applied, zone *time.Location) string {
	if zone == nil {
		zone = time.UTC
	}
	until := "until it is taken back"
	if a.Ends.OK && a.Ends.V != math.MaxInt64 {
		until = "until " + time.UnixMicro(a.Ends.V).In(zone).Format("2006-01-02 15:04")
	}
	return fmt.Sprintf("%s %s: %s", a.Action, until, a.Why)
}

// withLogger finds the failing supply that may explain a probe's fault: judge.Masks
// lets it, and it began a day later at most, on the logger that the probe hangs on. Which ports
// a bad supply takes along is not settled by the ports that fell for sure, so these
// are looked at on the logger's visit, and are one cause until it is mended.
func (r *ranker) withLogger(f *judge.Finding) (logger int, ok bool) {
	at := r.in.Judged.States[f.Probe].Logger
	for i := range r.in.Judged.Findings {
		g := &r.in.Judged.Findings[i]
		if g.Fault != "logger_power" || g.Name != at || !r.calls(g) || r.over(g) || r.said[i].Quiet != "" ||
			f.Start < g.Start-detect.Day || f.Start >= g.End || len(r.bad(g.Probes)) == 0 {
			continue
		}
		for _, m := range judge.Masks() {
			if m.By == g.Fault && slices.Contains(m.Faults, f.Fault) {
				return i, true
			}
		}
	}
	return 0, false
}
