package gap

import (
	"fmt"
	"math"
	"sort"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
	"probeward/schemas"
)

// never is the finding of a probe without a single value.
func (x *examination) never() detect.Finding {
	last := x.expected[len(x.expected)-1]
	f := detect.Finding{
		Start: x.expected[0].Start, End: last.End, Open: last.End == x.whole.End,
		Confidence: 0.9, Measured: detect.Hours(length(x.expected)), Threshold: x.p.Param("hole_hours"), Unit: "h",
	}
	for _, s := range x.expected {
		if len(x.expected) > 1 {
			f.Parts = append(f.Parts, detect.Part{Span: s, Flag: schemas.FlagMissing})
		}
	}
	f.Readings = len(x.blank)
	f.Evidence = fmt.Sprintf("never a value in the period, %s from %s; %s", detect.Length(length(x.expected)), detect.Stamp(f.Start), x.blanksIn(detect.Span{Start: f.Start, End: f.End}, 0))
	if len(x.blank) == 0 {
		f.Confidence = 0.75
		f.Evidence = fmt.Sprintf("never a value in the period, %s from %s; no blanks either: no record names this port", detect.Length(length(x.expected)), detect.Stamp(f.Start))
	}
	return f
}

// findings judges the holes.
func (x *examination) findings() []detect.Finding {
	limit, least := x.p.ParamHours("hole_hours"), int(x.p.Param("min_missed"))
	// How often this probe loses a record, by the holes that are too short to count.
	lost := 0.0
	due := math.Max(1, x.due)
	for _, h := range x.holes {
		if h.sure < limit || h.missed < least {
			lost += float64(h.missed)
		} else {
			due -= float64(h.missed)
		}
	}
	rate := math.Min(0.99, (lost+0.5)/(math.Max(1, due)+1))
	for i := range x.holes {
		h := &x.holes[i]
		h.long = h.sure >= limit && h.missed >= least &&
			math.Max(1, x.due)*math.Pow(rate, float64(h.missed)) < x.p.Param("chance")
	}
	var out []detect.Finding
	var group []hole
	share := x.p.Param("join_share")
	for _, h := range x.holes {
		if !h.long {
			continue
		}
		if n := len(group); n > 0 && float64(h.Start-group[n-1].End) > share*float64(group[n-1].Length()) {
			out = append(out, x.missing(group))
			group = nil
		}
		group = append(group, h)
	}
	if len(group) > 0 {
		out = append(out, x.missing(group))
	}
	if f, ok := x.scattered(); ok {
		out = append(out, f)
		sort.SliceStable(out, func(i, j int) bool { return out[i].Start < out[j].Start })
	}
	return out
}

// missing is the finding of one long hole, or of several with little between.
func (x *examination) missing(holes []hole) detect.Finding {
	first, last := holes[0], holes[len(holes)-1]
	f := detect.Finding{
		Start: first.Start, End: last.End, Open: last.last, Confidence: 0.95,
		Threshold: x.p.Param("hole_hours"), Unit: "h",
	}
	longest := first
	sum := int64(0)
	for _, h := range holes {
		sum += h.Length()
		f.Readings += h.missed
		if h.Length() > longest.Length() {
			longest = h
		}
	}
	f.Measured = detect.Hours(longest.Length())
	span := detect.Span{Start: f.Start, End: f.End}
	if len(holes) == 1 {
		if last.last && last.Length() < x.p.ParamHours("handover") {
			f.Confidence = 0.6
		}
		f.Evidence = fmt.Sprintf("no value for %s, %s (usual step %s): %s", detect.Length(sum), words(f), detect.Length(first.step), x.blanksIn(span, f.Readings))
		return f
	}
	f.Parts = parts(holes)
	f.Evidence = fmt.Sprintf("no value for %s in %d holes, %s, with shorter spells between; longest %s from %s: %s",
		detect.Length(sum), len(holes), words(f), detect.Length(longest.Length()), detect.Stamp(longest.Start), x.blanksIn(span, f.Readings))
	return f
}

// scattered is the finding of a window of which too much is missing in all, when
// no long hole tells it already.
func (x *examination) scattered() (detect.Finding, bool) {
	window := x.p.Period().Window
	expected := overlap(x.sure, window)
	if first := max(x.time[0], window.Start); len(x.holes) == 0 || x.holes[0].Start >= x.time[0] {
		expected = min(expected, max(0, window.End-first)) // nothing is due before it was first heard
	}
	if expected < day {
		return detect.Finding{}, false
	}
	var all, short int64
	var holes []hole
	missed, before := 0, 0
	for _, h := range x.holes {
		part := h.Span.Overlap(window)
		sure := overlap(x.sure, part)
		if h.Start < window.Start && !h.long {
			before += int(math.Round(float64(h.sure-sure) / float64(h.step)))
		}
		if sure <= 0 {
			continue
		}
		all += sure
		if h.long {
			continue
		}
		short += sure
		h.Span = part
		missed += int(math.Round(float64(sure) / float64(h.step)))
		holes = append(holes, h)
	}
	share, threshold, usual := float64(all)/float64(expected), x.p.Param("window_share"), x.p.Param("usual_loss")
	if share < threshold || float64(short) < usual*float64(expected) || missed < int(x.p.Param("min_missed")) {
		return detect.Finding{}, false
	}
	// The look-back says how much this probe usually loses; with nothing to go by,
	// or with more, as much as healthy telemetry may.
	prior := x.p.Param("prior")
	step := holes[len(holes)-1].step
	n := int(expected / step)
	earlier := math.Max(0, x.due-float64(n))
	loss := math.Min(usual, (float64(before)+float64(prior*usual))/(earlier+prior))
	// Records are lost in bursts; a burst is one event, however long.
	burst := float64(missed) / float64(len(holes))
	events, trials := len(holes), int(math.Round(float64(n)/burst))
	if robust.BinomialTail(events, max(trials, events), loss) >= x.p.Param("chance") {
		return detect.Finding{}, false
	}
	last := holes[len(holes)-1]
	f := detect.Finding{
		Start: holes[0].Start, End: last.End, Parts: parts(holes), Readings: missed, Confidence: 0.9,
		Measured: 100 * share, Threshold: 100 * threshold, Unit: "% of the window",
	}
	lastDay := detect.Span{Start: window.End - day, End: window.End}
	gone := int64(0)
	for _, h := range x.holes {
		gone += h.Span.Overlap(lastDay).Length()
	}
	f.Open = float64(gone) >= x.p.Param("lasting_share")*float64(day)
	f.Evidence = fmt.Sprintf("%.1f %% of the window is missing, in %s of up to %s; %.0f %% is tolerated: %s", f.Measured,
		counted(len(holes), "hole", "holes"), detect.Length(longest(holes)), f.Threshold, x.blanksIn(detect.Span{Start: f.Start, End: f.End}, missed))
	return f, true
}

const day = detect.Day

func longest(holes []hole) (most int64) {
	for _, h := range holes {
		most = max(most, h.Length())
	}
	return most
}

func parts(holes []hole) []detect.Part {
	out := make([]detect.Part, 0, len(holes))
	for _, h := range holes {
		out = append(out, detect.Part{Span: h.Span, Flag: schemas.FlagMissing})
	}
	return out
}

func words(f detect.Finding) string {
	if f.Open {
		return "since " + detect.Stamp(f.Start)
	}
	return fmt.Sprintf("%s to %s", detect.Stamp(f.Start), detect.Stamp(f.End))
}

// blanksIn says whether the logger kept speaking where so many readings are missing.
func (x *examination) blanksIn(s detect.Span, missed int) string {
	at := func(t int64) int { return sort.Search(len(x.blank), func(i int) bool { return x.blank[i] >= t }) }
	n := at(s.End) - at(s.Start)
	if n == 0 {
		return "no record came at all"
	}
	text := counted(n, "blank", "blanks") + ", the logger kept speaking"
	if 2*n < missed {
		text = counted(n, "blank", "blanks") + ", and otherwise no record came at all"
	}
	coded := 0
	for _, c := range x.p.Coded() {
		if s.Holds(c.Time) {
			coded++
		}
	}
	if coded > 0 {
		text += fmt.Sprintf(", with its fault code in %d of them", coded)
	}
	return text
}
