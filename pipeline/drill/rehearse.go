package drill

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// outcome is what became of one trial.
type outcome struct {
	Why      string // it could not be injected; all else is empty
	Found    bool
	Named    bool // found, and what makes the verdict
	Noticed  bool // no longer fit, whatever the name
	Delay    detect.Maybe[int64]
	Fault    detect.Span
	AlsoSaid []string // other faults found on what was touched
	False    []string // found on what was not: "noise of JB-001-30"
	// Stray are such that no trial of the variant is nearer to than another.
	Stray []string
}

// rehearse tries the trials in a world; outcomes come in their order, whatever the
// number of workers.
func (d *drill) rehearse(ctx context.Context, w *bench, trials []*Trial) ([]outcome, error) {
	out := make([]outcome, len(trials))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(d.o.Workers)
	for _, load := range pack(trials, w.world.alone) {
		g.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			e, err := w.examiner()
			if err != nil {
				return err
			}
			v := newVariant()
			var in []*hand
			for _, i := range load {
				h := &hand{b: d.plain, w: w, v: v, t: trials[i], fault: d.span(trials[i]),
					r: source(d.o.Seed, "inject", trials[i].Form.key(), trials[i].Name, fmt.Sprint(trials[i].Strength))}
				h.coin = h.r.Uint64()
				if out[i].Why = h.t.Form.inject(h); out[i].Why != "" {
					continue
				}
				h.at = i
				in = append(in, h)
			}
			if len(in) > 0 {
				w.score(w.judge(e, v), v, in, out)
			}
			d.o.Progress(len(load))
			return nil
		})
	}
	return out, g.Wait()
}

// span is when a trial's fault stands.
func (d *drill) span(t *Trial) detect.Span {
	end := d.in.Examine.Period.Window.End
	s := detect.Span{Start: end - int64(t.AgeDays*float64(detect.Day)), End: end}
	if days := t.Form.Lasts[t.Strength]; days > 0 {
		s.End = min(end, s.Start+int64(days*float64(detect.Day)))
	}
	return s
}

// slack is how far a finding may lie from the fault and still be about it.
const slack = detect.Hour

// score holds a judgement of a variant against what was injected.
func (b *bench) score(r *judge.Result, v *variant, in []*hand, out []outcome) {
	touched := map[int]bool{}
	for _, i := range b.touched(v) {
		touched[i] = true
	}
	for _, h := range in {
		for _, i := range h.also {
			touched[i] = true
		}
		if h.t.Form.Target == onePost { // the post is at fault, with all that it has
			for _, i := range h.t.Places {
				touched[i] = true
			}
		}
		out[h.at].Fault = h.fault
		b.own(r, h, &out[h.at])
	}
	window := b.in.Examine.Period.Window
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.MaskedBy != "" || f.End <= window.Start || b.known[keyOf(f)] || f.Probe >= 0 && touched[f.Probe] {
			continue
		}
		if f.Probe < 0 && b.allTouched(f, touched) {
			continue // nothing else is there that it could be about
		}
		said, blamed := f.Fault+" of "+f.Name, false
		for _, h := range in {
			if f.Probe < 0 && f.Fault == h.t.Form.Fault && f.Name == h.t.Name {
				blamed = true // it is the fault itself
				break
			}
			near := f.Probe < 0 && (slices.Contains(h.t.zones, f.Name) || slices.Contains(h.t.loggers, f.Name))
			if f.Probe >= 0 {
				p := &b.world.probes[f.Probe]
				near = slices.Contains(h.t.zones, p.Zone) || slices.ContainsFunc(p.Wirings, func(w detect.Wiring) bool { return slices.Contains(h.t.loggers, w.Logger) })
			}
			if near || len(in) == 1 {
				out[h.at].False, blamed = append(out[h.at].False, said), true
				break
			}
		}
		if !blamed {
			out[in[0].at].Stray = append(out[in[0].at].Stray, said)
		}
	}
}

// allTouched says whether every probe of a logger's or zone's finding was touched.
func (b *bench) allTouched(f *judge.Finding, touched map[int]bool) bool {
	n := 0
	for i := range b.world.probes {
		p := &b.world.probes[i]
		in := f.Subject == schemas.SubjectZone && p.Zone == f.Name ||
			f.Subject == schemas.SubjectLogger && slices.ContainsFunc(p.Wirings, func(w detect.Wiring) bool { return w.Logger == f.Name })
		if in && !touched[i] {
			return false
		}
		n += count(in)
	}
	return n > 0
}

// own says what the judgement makes of what one trial touched.
func (b *bench) own(r *judge.Result, h *hand, o *outcome) {
	t, window := h.t, b.in.Examine.Period.Window
	about := detect.Span{Start: h.fault.Start - slack, End: h.fault.End + slack}
	other := map[string]bool{}
	for i := range r.Findings {
		f := &r.Findings[i]
		mine := f.Probe >= 0 && slices.Contains(t.Places, f.Probe)
		if f.Probe < 0 {
			mine = f.Name == t.Name && f.Subject == t.Form.subject()
		}
		if !mine || f.MaskedBy != "" || f.End <= window.Start || b.same(f) {
			continue
		}
		if f.Fault != t.Form.Fault {
			other[f.Fault] = true
			continue
		}
		if (detect.Span{Start: f.Start, End: max(f.End, f.Start+1)}).Overlap(about).Length() == 0 {
			continue
		}
		delay := max(0, f.Start-h.fault.Start)
		if !o.Found || delay < o.Delay.V {
			o.Delay = detect.Some(delay)
		}
		o.Found = true
	}
	for f := range other {
		o.AlsoSaid = append(o.AlsoSaid, f)
	}
	slices.Sort(o.AlsoSaid)
	if h.fault == b.in.Examine.Period.Whole() {
		o.Delay = detect.Maybe[int64]{} // it had no first hour
	}
	main := 0
	for _, i := range t.Places {
		s := &r.States[i]
		if s.Verdict != schemas.Fit && b.isFit(i) {
			o.Noticed = true
		}
		if s.Main >= 0 && r.Findings[s.Main].Fault == t.Form.Fault {
			main++
		}
	}
	o.Named = o.Found && 2*main >= len(t.Places)
	if t.Form.subject() == schemas.SubjectZone || t.Form.Target == onePost {
		o.Named = o.Found && (main > 0 || t.Form.subject() == schemas.SubjectZone)
		o.Noticed = o.Noticed || o.Found
	}
}

// same says whether the plain run has the very same finding.
func (b *bench) same(f *judge.Finding) bool {
	return slices.ContainsFunc(b.judged.Findings, func(g judge.Finding) bool {
		return keyOf(&g) == keyOf(f) && g.Start == f.Start && g.End == f.End && g.MaskedBy == ""
	})
}

// strengths in words.
var strengths = [3]string{"mild", "middle", "gross"}

// words of a fault for people.
func words(fault string) string { return strings.ReplaceAll(fault, "_", " ") }
