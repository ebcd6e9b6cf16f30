package irrigationfailure

import (
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// look is one look at one zone.
type look struct {
	p         *detect.GroupPass
	whole     detect.Span
	rule      detect.AnswerRule
	rain      []detect.Water // spells that wet probes
	occasions []detect.Occasion
	probes    []*detect.Summary   // moisture probes with readings
	habits    []detect.Habit      // beside probes
	interval  float64             // usual time from the start of one watering to the next
	measured  [][]*detect.Watered // by probe and occasion; nil: not heard, or blurred
	low       []bool              // by occasion: it failed, so that it tells nothing of what is usual
	blank     []bool              // by occasion: as good as nobody answered, so that it says nothing of a probe
}

func newLook(p *detect.GroupPass) *look {
	l := &look{p: p, whole: p.Period().Whole()}
	l.rule = detect.AnswerRule{
		Merge: p.ParamHours("merge_hours"), Response: p.ParamHours("response_hours"), Early: p.ParamHours("early_hours"),
		Plateau: p.ParamHours("plateau_hours"), RainMemo: p.ParamHours("rain_hours"), Separate: p.Param("quiet_times"),
		Share: p.Param("answer_share"), Covered: p.Param("covered_share"),
	}
	l.rain = detect.Heavy(detect.Spells(p.Rain(), l.rule.Merge), p.Param("rain_mm"))
	l.occasions = l.rule.Occasions(p.Irrigation(), l.rain, l.whole)
	var gaps []float64
	for i := 1; i < len(l.occasions); i++ {
		gaps = append(gaps, float64(l.occasions[i].Start-l.occasions[i-1].Start))
	}
	if len(gaps) > 0 {
		l.interval = robust.Median(gaps, make([]float64, len(gaps)))
	}
	members := p.Members()
	for i := range members {
		if m := &members[i]; m.Probe.Moisture() && m.Values > 0 {
			l.probes = append(l.probes, m)
			l.habits = append(l.habits, l.rule.Habit(m, l.occasions, l.rain))
		}
	}
	l.measure()
	l.findBlank()
	return l
}

// findBlank marks the waterings that as good as no probe answered of those that
// answer half of all: when a valve stays shut, the second failure must not speak
// against the probes at the first. Where they are more than a third of all, they
// are what the zone's probes normally do, and none is marked.
func (l *look) findBlank() {
	l.blank = make([]bool, len(l.occasions))
	var fair []int
	for i := range l.probes {
		given, n := 0, 0
		for k := range l.occasions {
			if l.tells(i, k) {
				n++
				if l.habits[i].At[k].Given {
					given++
				}
			}
		}
		if n > 0 && 2*given >= n {
			fair = append(fair, i)
		}
	}
	marked, all := 0, 0
	for k := range l.occasions {
		missed, asked := 0, 0
		for _, i := range fair {
			if l.tells(i, k) {
				asked++
				if l.missed(i, k) {
					missed++
				}
			}
		}
		if asked < int(l.p.Param("min_probes")) {
			continue
		}
		all++
		if asked-missed <= l.dissent(asked) {
			l.blank[k] = true
			marked++
		}
	}
	if 3*marked > all {
		clear(l.blank)
	}
}

// dissent is how many of n probes may answer a watering that failed.
func (l *look) dissent(n int) int { return max(1, int(l.p.Param("dissent_share")*float64(n))) }

// failure is what the zone's probes made of one watering.
type failure struct {
	failed        bool
	partly        float64 // when positive, the share of the usual answers that came
	told          bool    // it told anything, either way
	missed, asked int     // asked are those that answered in full or missed
	weak          int     // those that answered weakly
	posts         int     // of those that missed
	answers       float64
	chance        float64
	before        float64 // median share of the usual size at the watering before
}

// judge holds one watering against what the zone's probes normally do. It is not
// ok when the watering tells nothing.
func (l *look) judge(k int) (f failure, ok bool) {
	if l.noRoom(k) {
		return f, false
	}
	var asked []int
	posts, missing := map[string]bool{}, map[string]bool{}
	doubt := 0.0
	for i := range l.probes {
		answers, n := l.answers(i, k)
		least, _ := robust.Wilson(answers, n, l.p.Param("wilson_z"))
		if n == 0 || least < l.p.Param("normal_share") || l.habits[i].Days < int(l.p.Param("quiet_days")) || !l.tells(i, k) {
			continue
		}
		if !l.missed(i, k) && !l.habits[i].At[k].Given {
			f.weak++
			continue
		}
		asked = append(asked, i)
		posts[postOf(l.probes[i])] = true
		doubt += 1 - least
		f.answers += float64(answers) / float64(n)
		if l.missed(i, k) {
			f.missed++
			missing[postOf(l.probes[i])] = true
		}
	}
	f.asked, f.posts = len(asked), len(missing)
	if f.asked < int(l.p.Param("min_probes")) || len(posts) < int(l.p.Param("min_posts")) {
		return f, false
	}
	f.told = true
	f.answers /= float64(f.asked)
	f.chance = robust.BinomialTail(f.missed, f.asked, doubt/float64(f.asked))
	if f.asked-f.missed > l.dissent(f.asked) || f.weak > f.missed || f.posts < int(l.p.Param("min_posts")) || f.chance > l.p.Param("max_chance") {
		return f, true
	}
	f.failed, f.before = l.abrupt(asked, k)
	return f, true
}

// postOf is where a probe stands; a register without posts has each probe's logger
// for it.
func postOf(s *detect.Summary) string {
	if s.Probe.Post != "" || len(s.Probe.Wirings) == 0 {
		return s.Probe.Post
	}
	return s.Probe.Wirings[0].Logger
}

// noRoom says that a watering tells nothing: it rained, or the soil was still wet
// from a storm or from another watering.
func (l *look) noRoom(k int) bool {
	o := &l.occasions[k]
	if o.Rained {
		return true
	}
	for _, r := range l.rain {
		wet := r.End + int64(r.MM.V/l.p.Param("soak_mm_a_day")*float64(detect.Day))
		if r.Start < o.End && o.Start < wet {
			return true
		}
	}
	return k > 0 && float64(o.Start-l.occasions[k-1].Start) < l.p.Param("rest_share")*l.interval
}

// answers counts what a probe did at the other waterings of the like of k.
func (l *look) answers(i, k int) (given, n int) {
	for j := range l.occasions {
		a := &l.habits[i].At[j]
		if j == k || l.blank[j] || !a.Seen || !l.alike(j, k) || !a.Given && !l.tells(i, j) {
			continue
		}
		n++
		if a.Given {
			given++
		}
	}
	return given, n
}

// alike says whether watering j tells how k is answered: by their depths, or by
// their lengths, where the depth of one is not known.
func (l *look) alike(j, k int) bool {
	a, b := &l.occasions[j], &l.occasions[k]
	x, y := a.MM.V, b.MM.V
	if !a.MM.OK || !b.MM.OK {
		x, y = float64(a.Length()), float64(b.Length())
	}
	return x >= l.p.Param("size_share")*y && x <= l.p.Param("size_times")*y
}

// missed says that a probe did nothing at a watering. What is less than an answer
// and more than nothing is neither: under deficit answers shrink before they end.
func (l *look) missed(i, k int) bool {
	h := &l.habits[i]
	return !h.At[k].Given && h.At[k].Size < max(l.p.Param("miss_share")*h.Usual, l.rule.Separate*h.Quiet)
}

// tells says whether a probe's silence at a watering would be a miss: it was heard,
// for as long as its answers take to come.
func (l *look) tells(i, k int) bool {
	h, o, s := &l.habits[i], &l.occasions[k], l.probes[i]
	if !h.At[k].Seen || h.Usual == 0 {
		return false
	}
	if h.At[k].Given {
		return true
	}
	blank := int64(s.Blanks) * s.Cadence // when they were is not known here
	return float64(blank) <= (1-l.rule.Covered)*float64(o.Window.Length()) &&
		o.Window.End-o.Start >= h.Latest+l.p.ParamHours("grace_hours")
}

// abrupt says whether the probes answered in full the last watering before that
// did not fail them all; the next one, where there is none before.
func (l *look) abrupt(asked []int, k int) (bool, float64) {
	try := func(j int) (whole, failed bool, share float64) {
		var shares []float64
		given, missed := 0, 0
		for _, i := range asked {
			h := &l.habits[i]
			if !l.tells(i, j) {
				continue
			}
			if h.At[j].Given {
				given++
			} else if l.missed(i, j) {
				missed++
			}
			shares = append(shares, h.At[j].Size/h.Usual)
		}
		if 2*len(shares) < len(asked) {
			return false, true, 0
		}
		share = robust.Median(shares, make([]float64, len(shares)))
		enough := float64(given) >= l.p.Param("steady_probes")*float64(len(shares))
		return enough && share >= l.p.Param("steady_share"), len(shares)-missed <= l.dissent(len(shares)), share
	}
	for j := k - 1; j >= 0; j-- {
		if whole, failed, share := try(j); !failed {
			return whole, share
		}
	}
	for j := k + 1; j < len(l.occasions); j++ {
		if whole, failed, share := try(j); !failed {
			return whole, share
		}
	}
	return false, 0
}

// findings joins waterings that failed in a row.
func (l *look) findings(all []failure) []detect.Finding {
	var out []detect.Finding
	for k := 0; k < len(all); k++ {
		if !all[k].failed {
			continue
		}
		last, worst := k, all[k]
		for last+1 < len(all) && (all[last+1].failed || !all[last+1].told && last+2 < len(all) && all[last+2].failed) {
			last++
			if all[last].failed && all[last].chance > worst.chance {
				worst = all[last]
			}
		}
		out = append(out, l.finding(k, last, all[k:last+1], worst))
		k = last
	}
	return out
}

func (l *look) finding(first, last int, fails []failure, f failure) detect.Finding {
	o, end := &l.occasions[first], l.occasions[last].End+detect.Day
	if last+1 < len(l.occasions) {
		end = min(end, l.occasions[last+1].Start)
	}
	out := detect.Finding{
		Start: max(o.Start, l.whole.Start), End: min(end, l.whole.End), Open: end >= l.whole.End,
		Measured:   float64(f.missed) / float64(f.asked),
		Threshold:  1 - float64(l.dissent(f.asked))/float64(f.asked),
		Unit:       "share of the probes that normally answer",
		Confidence: math.Min(0.95, 1-math.Sqrt(f.chance)),
	}
	out.Readings = f.missed
	for i := range l.probes {
		out.Probes = append(out.Probes, l.probes[i].Probe.Index)
	}
	slices.Sort(out.Probes)
	n := 0
	for _, x := range fails {
		if x.failed {
			n++
		}
	}
	what := "the watering of " + detect.Stamp(o.Start)
	if o.MM.OK {
		what += fmt.Sprintf(" (%.1f mm)", o.MM.V)
	}
	if n > 1 {
		what += fmt.Sprintf(" and %d after it", n-1)
	}
	if f.partly > 0 {
		out.Measured, out.Threshold, out.Unit = f.partly, l.p.Param("partial_middle"), "share of what so much water brings"
		out.Confidence = math.Min(0.9, 1-2*f.chance)
		out.Evidence = f.evidence(what)
		return out
	}
	out.Evidence = fmt.Sprintf("%d of %d probes that normally answer, at %d posts, did not answer %s; they answer %.0f %% of such waterings, and the last one before at %.2f of the usual size; each missing on its own, this has a chance of %.1g",
		f.missed, f.asked, f.posts, what, 100*f.answers, f.before, math.Max(f.chance, 1e-12))
	return out
}
