package detect

import (
	"math"
	"slices"
	"sort"

	"probeward/detectors/robust"
)

// AnswerRule says when a wetting counts as an answer to water. Group detectors fill
// it from their parameters.
type AnswerRule struct {
	Merge    int64   // pulses nearer than this are one watering
	Response int64   // how long after the water's end an answer may begin
	Early    int64   // how long before the logged start: clocks differ
	Plateau  int64   // how much older than a rise its onset may be, where the series lay calm before
	RainMM   float64 // a spell of rain of so much wets probes
	RainMemo int64   // how long after its end
	Separate float64 // an answer is at least so many times what quiet time brings
	Share    float64 // and at least this share of the probe's usual answer
	Covered  float64 // a window with less of it heard tells nothing
}

// Spells joins waters that lie nearer than gap, and adds up their depths. A depth
// is absent when that of any part is.
func Spells(waters []Water, gap int64) []Water {
	var out []Water
	for _, w := range waters {
		n := len(out)
		if n == 0 || w.Start-out[n-1].End >= gap {
			out = append(out, w)
			continue
		}
		last := &out[n-1]
		last.End = max(last.End, w.End)
		last.MM = Maybe[float64]{V: last.MM.V + w.MM.V, OK: last.MM.OK && w.MM.OK}
	}
	return out
}

// Heavy keeps the spells of at least mm, and those whose depth nobody knows.
func Heavy(spells []Water, mm float64) []Water {
	var out []Water
	for _, s := range spells {
		if !s.MM.OK || s.MM.V >= mm {
			out = append(out, s)
		}
	}
	return out
}

// Occasion is a watering at which the probes of a zone could answer.
type Occasion struct {
	Water
	Window Span // in which an answer may begin; it ends with the period, and with the next watering
	Rained bool // rain had fallen that could be answered in its place; later rain ends the window
}

// Occasions are the waterings of the log, pulses joined, that begin within the
// period. The rain is that of Heavy spells.
func (r *AnswerRule) Occasions(log, rain []Water, whole Span) []Occasion {
	var out []Occasion
	for _, w := range Spells(log, r.Merge) {
		if w.Start < whole.Start || w.Start >= whole.End {
			continue
		}
		if n := len(out); n > 0 {
			out[n-1].Window.End = min(out[n-1].Window.End, w.Start-r.Early)
		}
		out = append(out, Occasion{Water: w, Window: Span{w.Start - r.Early, min(whole.End, w.End+r.Response)}})
	}
	for i := range out {
		o := &out[i]
		for _, wet := range rain {
			o.Rained = o.Rained || wet.Start <= o.Start && o.Window.Start < wet.End+r.RainMemo
			if wet.Start > o.Start {
				o.Window.End = min(o.Window.End, wet.Start)
			}
		}
	}
	return out
}

// Answer is what a probe did at one occasion.
type Answer struct {
	Seen  bool    // enough was heard of the window, and neither rain nor a bad contact blurred it
	Size  float64 // largest rise that began in the window or was under way, in wetness; 0: none
	Onset int64   // of the first rise that is large enough to be an answer; before the window, where it was under way then
	Given bool    // there was one
}

// Habit is how a probe answers the water of its zone.
type Habit struct {
	At     []Answer // by occasion
	Usual  float64  // median size of what may be answers, in wetness; 0: it has none
	Least  float64  // the least rise that is an answer
	Quiet  float64  // what quiet time brings in a day: the upper quartile
	Days   int      // quiet days that Quiet was taken from
	Lag    int64    // median from the water's start to the onset of an answer
	Latest int64    // the lag that nine answers in ten keep to
}

// Habit studies a probe. It judges by onsets and sizes alone: a rise that quiet
// days bring as well is no answer.
func (r *AnswerRule) Habit(s *Summary, occasions []Occasion, rain []Water) Habit {
	h := Habit{At: make([]Answer, len(occasions))}
	for i := range occasions {
		o := &occasions[i]
		h.At[i].Seen = !o.Rained && s.First.OK && s.First.V <= o.Start && s.Heard(o.Window) >= r.Covered && !s.Stood(o.Window)
		for _, w := range r.Rising(s, o.Window) {
			if !s.Stood(Span{w.Onset, w.Peak}) {
				h.At[i].Size = max(h.At[i].Size, w.Rise)
			}
		}
	}
	var days []float64
	for _, q := range r.quiet(s, occasions, rain) {
		for ; q.Length() >= Day; q.Start += Day {
			day := Span{q.Start, q.Start + Day}
			if s.Heard(day) < r.Covered {
				continue
			}
			most := 0.0
			for _, w := range s.Began(day) {
				most = max(most, w.Rise)
			}
			days = append(days, most)
		}
	}
	scratch := make([]float64, len(days)+len(occasions))
	if h.Days = len(days); h.Days > 0 {
		h.Quiet = robust.Quantile(days, scratch, 0.75)
	}
	var sizes []float64
	for _, a := range h.At {
		if a.Seen && a.Size > 0 && a.Size >= r.Separate*h.Quiet {
			sizes = append(sizes, a.Size)
		}
	}
	h.Least = math.Inf(1)
	if len(sizes) == 0 {
		return h
	}
	h.Usual = robust.Median(sizes, scratch)
	h.Least = max(r.Share*h.Usual, r.Separate*h.Quiet)
	var lags []float64
	for i := range occasions {
		a := &h.At[i]
		if under, ok := s.underWay(occasions[i].Window.Start); ok && under.Rise >= h.Least && under.Onset < occasions[i].Window.Start-r.Plateau {
			a.Seen = false
		}
		for _, w := range r.Rising(s, occasions[i].Window) {
			if w.Rise >= h.Least && !s.Stood(Span{w.Onset, w.Peak}) {
				a.Given, a.Onset = true, w.Onset
				break
			}
		}
		if a.Given && a.Seen && a.Onset >= occasions[i].Window.Start {
			lags = append(lags, float64(max(0, a.Onset-occasions[i].Start)))
		}
	}
	if len(lags) > 0 {
		h.Lag = int64(robust.Median(lags, scratch))
		h.Latest = int64(robust.Quantile(lags, scratch, 0.9))
	}
	return h
}

// quiet lists the time in which no water can be answered.
func (r *AnswerRule) quiet(s *Summary, occasions []Occasion, rain []Water) []Span {
	var wet []Span
	for _, o := range occasions {
		wet = append(wet, Span{o.Window.Start, o.End + r.Response})
	}
	for _, w := range rain {
		wet = append(wet, Span{w.Start, w.End + r.RainMemo})
	}
	slices.SortFunc(wet, func(a, b Span) int {
		if a.Start < b.Start {
			return -1
		}
		if a.Start > b.Start {
			return 1
		}
		return 0
	})
	var out []Span
	from := s.Period.Lookback
	for _, w := range wet {
		if w.Start > from {
			out = append(out, Span{from, w.Start})
		}
		from = max(from, w.End)
	}
	if end := s.Period.Window.End; end > from {
		out = append(out, Span{from, end})
	}
	return out
}

// Began lists the wettings whose onset lies in a span.
func (s *Summary) Began(span Span) []Wetting {
	i := sort.Search(len(s.Wettings), func(i int) bool { return s.Wettings[i].Onset >= span.Start })
	j := i + sort.Search(len(s.Wettings)-i, func(j int) bool { return s.Wettings[i+j].Onset >= span.End })
	return s.Wettings[i:j]
}

// Rising lists the wettings that began in a window, and before them the one that was
// under way when it opened: on a calm series the lowest reading before a rise may be
// hours older than the rise.
func (r *AnswerRule) Rising(s *Summary, window Span) []Wetting {
	if under, ok := s.underWay(window.Start); ok && under.Onset >= window.Start-r.Plateau {
		window.Start = under.Onset
	}
	return s.Began(window)
}

// Stood says whether the probe stood at an impossible or dead value within a span: a
// way back from there is no wetting.
func (s *Summary) Stood(span Span) bool {
	for _, e := range s.Excursions {
		if e.Start <= span.End && span.Start <= e.End {
			return true
		}
	}
	return false
}

// underWay is the wetting that began before an instant and reached its peak after it.
func (s *Summary) underWay(t int64) (Wetting, bool) {
	i := sort.Search(len(s.Wettings), func(i int) bool { return s.Wettings[i].Onset >= t })
	if i > 0 && s.Wettings[i-1].Peak > t {
		return s.Wettings[i-1], true
	}
	return Wetting{}, false
}

// shortHole is a silence that hides no wetting, which lasts for hours: where a logger
// now reads at twice its cadence, every step of it is one.
const shortHole = 2 * Hour

// Heard is the share of a span in which the probe's port was not silent and the
// probe stood at no impossible value, from 0 to 1.
func (s *Summary) Heard(span Span) float64 {
	if span.Length() == 0 || !s.First.OK {
		return 0
	}
	lost := int64(0)
	within := span.Overlap(Span{s.First.V, s.Last.V + max(1, s.Cadence)})
	lost += span.Length() - within.Length()
	for _, h := range s.Silences {
		if h.Length() > shortHole {
			lost += h.Overlap(within).Length()
		}
	}
	for _, e := range s.Excursions {
		lost += e.Overlap(within).Length()
	}
	return max(0, 1-float64(lost)/float64(span.Length()))
}
