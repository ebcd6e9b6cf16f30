package gap

import (
	_ "embed"
	"fmt"
	"math"
	"sort"

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector of missing readings.
var Detector = &detect.Detector{
	Name:  "gap",
	Doc:   doc,
	Scope: detect.PerProbe,
	Uses:  detect.NeedInstalledOn,
	Params: []detect.Param{
		{Name: "hole_hours", Default: 12, Unit: "h", Why: "half a day without a value in one hole; shorter costs no decision", Source: "this project's stated tolerance"},
		{Name: "window_share", Default: 0.10, Unit: "share of the window", Why: "what may be missing in all", Source: "this project's stated tolerance"},
		{Name: "min_missed", Default: 3, Unit: "readings", Why: "at a slow step one or two lost records are ordinary", Source: "common practice, no source"},
		{Name: "chance", Default: 0.001, Unit: "a period", Why: "how often losses one by one may give as much: a probe is scanned every week for years", Source: "derived: 1 false alarm in 1000 scans of a probe"},
		{Name: "usual_loss", Default: 0.05, Unit: "share of the records", Why: "healthy telemetry loses up to this", Source: "common practice, no source"},
		{Name: "prior", Default: 40, Unit: "readings", Why: "the weight of the usual loss against the look-back's own", Source: "derived: one loss in so many readings cannot be told from usual_loss"},
		{Name: "step_agreement", Default: 0.6, Unit: "share of the steps", Why: "so many steps in a row alike are the logger's step there: records lost at random leave fewer", Source: "derived: with a share p lost, a share 1-p of the steps is single"},
		{Name: "unknown_step", Default: 24, Unit: "h", Why: "assumed where too few stamps show a step", Source: "common practice, no source"},
		{Name: "register_grace", Default: 24, Unit: "h", Why: "the register holds days, not hours", Source: "derived from the register's resolution"},
		{Name: "join_share", Default: 1, Unit: "1", Why: "while it speaks less long than it was away before, it has not come back", Source: "common practice, no source"},
		{Name: "lasting_share", Default: 0.5, Unit: "share of the last day", Why: "scattered loss that takes most of the last day still stands", Source: "common practice, no source"},
		{Name: "handover", Default: 36, Unit: "h", Why: "records that wait for their next handover look like a hole at the end", Source: "common practice, no source"},
	},
	Since: "0.1.0",
	Run:   run,
}

// examination is one look at one probe.
type examination struct {
	p        *detect.Pass
	whole    detect.Span
	expected []detect.Span // when readings are due; sorted, disjoint
	sure     []detect.Span // the same without the register's grace at its dates
	dated    bool          // the register dates the probe's place in the ground
	time     []int64       // of the values within expected
	blank    []int64       // the blanks within expected
	step     int64         // the usual step of the port
	holes    []hole
	due      float64 // readings due over the values seen, holes included
}

// hole is a stretch without a value: from the first reading missed to the first
// value after it, or the end of what is expected.
type hole struct {
	detect.Span
	step   int64 // the logger's step there
	missed int   // readings
	sure   int64 // how much of it was surely due
	last   bool  // it reaches the window's end
	long   bool
}

func run(p *detect.Pass) detect.Outcome {
	x := &examination{p: p, whole: p.Period().Whole()}
	x.whenDue()
	if len(x.expected) == 0 {
		return detect.Unable(detect.NoChance, "the register puts the probe nowhere in this period; nothing is due")
	}
	tolerance := x.p.ParamHours("hole_hours")
	x.time = within(x.expected, p.Time())
	x.blank = within(x.expected, p.Blanks())
	if len(x.time) == 0 {
		if length(x.sure) < tolerance {
			return detect.Unable(detect.TooShort, "needs %s in the ground, has %s by the register", detect.Length(tolerance), detect.Length(length(x.sure)))
		}
		return detect.Faulty(x.never())
	}
	seen := x.whole.End - x.time[0]
	x.step = x.usualStep()
	x.findHoles()
	findings := x.findings()
	if len(findings) == 0 && seen < tolerance+x.step {
		return detect.Unable(detect.TooShort, "needs %s since the first value, has %s", detect.Length(tolerance+x.step), detect.Length(seen))
	}
	return detect.Faulty(findings...)
}

// whenDue draws from the register when readings are due.
func (x *examination) whenDue() {
	grace := x.p.ParamHours("register_grace")
	at := x.whole
	if in := x.p.InstalledOn(); in.OK {
		x.dated = true
		at.Start = max(at.Start, in.V)
	}
	wirings := x.p.Wirings()
	if len(wirings) == 0 {
		wirings = []detect.Wiring{{Span: detect.Span{Start: math.MinInt64, End: math.MaxInt64}}}
	}
	for _, w := range wirings {
		if w.Start != math.MinInt64 {
			x.dated = true
		}
		s := w.Span.Overlap(at)
		if s.Start >= s.End {
			continue
		}
		if n := len(x.expected); n > 0 && s.Start <= x.expected[n-1].End {
			x.expected[n-1].End = max(x.expected[n-1].End, s.End)
		} else {
			x.expected = append(x.expected, s)
		}
		if s.Start > x.whole.Start {
			s.Start += grace
		}
		if s.End < x.whole.End {
			s.End -= grace
		}
		if n := len(x.sure); n > 0 {
			s.Start = max(s.Start, x.sure[n-1].End)
		}
		if s.Start < s.End {
			x.sure = append(x.sure, s)
		}
	}
}

// findHoles lists every step that left a reading out, and counts what was due.
func (x *examination) findHoles() {
	t := x.time
	if x.dated && len(x.blank) > 0 && x.blank[0] < t[0] {
		x.hole(x.blank[0], t[0], x.step)
	}
	agreement := x.p.Param("step_agreement")
	for i := 0; i+1 < len(t); i += block {
		steps := t[i:min(i+block+1, len(t))]
		step := localStep(steps, x.step, agreement)
		for j := 1; j < len(steps); j++ {
			d := steps[j] - steps[j-1]
			x.due += math.Max(1, math.Round(float64(d)/float64(step)))
			if 2*d > 3*step {
				x.hole(steps[j-1]+step, steps[j], step)
			}
		}
	}
	step := localStep(t[max(0, len(t)-block-1):], x.step, agreement)
	end := x.expected[len(x.expected)-1].End
	if from := t[len(t)-1] + step; from < end {
		x.due += math.Round(float64(end-from) / float64(step))
		x.hole(from, end, step)
	}
}

// hole enters one, if any of it was due.
func (x *examination) hole(from, to, step int64) {
	h := hole{Span: detect.Span{Start: from, End: to}, step: step, last: to == x.whole.End}
	h.sure = overlap(x.sure, h.Span)
	h.missed = int(math.Round(float64(h.sure) / float64(step)))
	if h.missed > 0 {
		x.holes = append(x.holes, h)
	}
}

// within gives the part of sorted instants that lies in sorted, disjoint spans;
// without a copy where that is one run.
func within(spans []detect.Span, t []int64) []int64 {
	at := func(i int64) int { return sort.Search(len(t), func(k int) bool { return t[k] >= i }) }
	if len(spans) == 1 {
		return t[at(spans[0].Start):at(spans[0].End)]
	}
	var out []int64
	for _, s := range spans {
		out = append(out, t[at(s.Start):at(s.End)]...)
	}
	return out
}

func overlap(spans []detect.Span, s detect.Span) (sum int64) {
	for _, o := range spans {
		sum += s.Overlap(o).Length()
	}
	return sum
}

func length(spans []detect.Span) int64 {
	return overlap(spans, detect.Span{Start: math.MinInt64 / 2, End: math.MaxInt64 / 2})
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
