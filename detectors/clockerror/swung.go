package clockerror

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// about words a shift with the interval that it lies in, no narrower than half a step.
func (r *rhythm) about(shift, sd float64) string {
	wide := max(2*sd, detect.Hours(r.cadence())/2)
	ahead := "ahead"
	if shift < 0 {
		ahead = "behind"
	}
	if math.Abs(shift) < 1.5 {
		return fmt.Sprintf("%.0f min %s (give or take %.0f)", 60*math.Abs(shift), ahead, 60*wide)
	}
	return fmt.Sprintf("%.1f h %s (give or take %.1f)", math.Abs(shift), ahead, wide)
}

// held words what it was held against.
func (r *rhythm) held() string {
	most := 0
	for _, b := range r.beats {
		most = max(most, b.Loggers-1)
	}
	return fmt.Sprintf("against the daily swings of the farm's %d other loggers", most)
}

func (r *rhythm) finding(at detect.Span, shift float64) detect.Finding {
	f := detect.Finding{
		Start: at.Start, End: at.End, Unit: "h", Measured: shift, Threshold: r.p.Param("least_shift"),
		Readings: int(at.Length() / r.cadence()),
		Parts:    []detect.Part{{Span: at, Flag: r.severity(shift)}},
	}
	return f
}

// stepped is the finding of a stretch between two changes of the clock.
func (r *rhythm) stepped(s *stretch, says []witness, from, to bool) event {
	shift, sd := agreed(says)
	at, text, file := s.Span, "", ""
	if from {
		// The day of the change is in part right: the change is in it or beside it.
		at.Start = max(r.whole.Start, s.Start-detect.Day/2)
		if b := r.stamped(s.Start, shift); b.why != "" {
			at.Start, text, file = b.from, "; "+b.why, b.file
		}
	}
	if to {
		at.End = min(r.whole.End, s.End+detect.Day/2)
		if b := r.stamped(s.End, -shift); b.why != "" {
			at.End, text, file = b.until, text+"; "+b.why, b.file
		}
	}
	if from {
		at.Start = max(at.Start, r.first(s.Span)-detect.Day)
	} else {
		at.Start = max(at.Start, r.begins(s.Span))
	}
	f := r.finding(at, shift)
	f.Open = !to
	f.Confidence = 0.9
	if text != "" {
		f.Confidence = 0.95
	}
	until := "to the end"
	if to {
		until = "to " + detect.Stamp(at.End)
	}
	f.Evidence = fmt.Sprintf("%s the clock stands %s from %s %s: %s%s", r.held(), r.about(shift, sd), detect.Stamp(at.Start), until, words(says), text)
	return event{f, file}
}

// first is the first day of a span that any channel knows of.
func (r *rhythm) first(s detect.Span) int64 {
	first := s.End
	for _, b := range r.beats {
		if p := within(b.Points, s); len(p) > 0 {
			first = min(first, p[0].Time)
		}
	}
	return first
}

// begins is from when on a span is known of: from the logger's first reading, unless
// the swings begin days after it.
func (r *rhythm) begins(s detect.Span) int64 {
	swing := r.first(s) - detect.Day
	first := r.whole.End
	for _, m := range r.p.Members() {
		if m.First.OK {
			first = min(first, m.First.V)
		}
	}
	if swing > first+detect.Day {
		return swing
	}
	return first
}

// constant is the finding of a logger that keeps another time all along.
func (r *rhythm) constant(s *stretch, shift, sd float64) event {
	at := s.Span
	if s.Start == r.whole.Start {
		at.Start = max(at.Start, r.begins(at))
	}
	f := r.finding(at, shift)
	f.Open = s.End >= r.whole.End
	f.Threshold = r.p.Param("standing_shift")
	f.Confidence = 0.85
	f.Evidence = fmt.Sprintf("%s the clock stands %s all along: %s", r.held(), r.about(shift, sd), words(s.says))
	return event{f, ""}
}

// drifting is the finding of a clock that loses or gains time from an instant on.
func (r *rhythm) drifting(at int64, total, sd float64, says []witness) event {
	span := detect.Span{Start: at, End: r.whole.End}
	f := r.finding(span, total)
	f.Open, f.Confidence = true, 0.85
	f.Threshold = r.leastDrift()
	if fail := r.p.Param("fail_shift"); math.Abs(total) > fail {
		turn := at + int64(float64(span.Length())*fail/math.Abs(total))
		f.Parts = []detect.Part{
			{Span: detect.Span{Start: at, End: turn}, Flag: schemas.FlagSuspect},
			{Span: detect.Span{Start: turn, End: span.End}, Flag: schemas.FlagFail},
		}
	}
	verb := "gains"
	if total < 0 {
		verb = "loses"
	}
	f.Evidence = fmt.Sprintf("%s the clock %s %.1f min a day from %s on, and stands %s at the end: %s", r.held(), verb,
		60*math.Abs(total)/detect.Days(span.Length()), detect.Stamp(at), r.about(total, sd), words(says))
	return event{f, ""}
}

// refuted says whether the daily swings, which would show it, show no change of the
// clock where the stamps step back.
func (l *look) refuted(at, shift int64) bool {
	r := rhythm{look: l, beats: l.beats()}
	week := 7 * detect.Day
	by := -detect.Hours(shift)
	for i := range r.beats {
		b := &r.beats[i]
		p, q := within(b.Points, detect.Span{Start: at - week, End: at - detect.Day/2}), within(b.Points, detect.Span{Start: at + detect.Day/2, End: at + week})
		if n := int(r.p.Param("swing_days")); len(p) < n || len(q) < n {
			continue
		}
		m, v := r.level(b, p)
		k, u := r.level(b, q)
		sd := math.Sqrt(v + u + 2*sq(r.week(b)))
		if r.p.Param("swing_clear")*sd < math.Abs(by)/2 && math.Abs(wrapped(k-m-by)) > math.Abs(by)/2 {
			return true
		}
	}
	return false
}

// besides keeps the events that no surer one of others tells of: for half of their
// time or more, or of the same change of the clock, one way or the other.
func besides(events, others []event) []event {
	var out []event
	for _, e := range events {
		told := false
		for _, o := range others {
			at := detect.Span{Start: e.Start, End: e.End}
			same := 2*at.Overlap(detect.Span{Start: o.Start, End: o.End}).Length() >= at.Length()
			for _, edge := range []int64{o.Start, o.End} {
				same = same || size(edge-e.Start) < detect.Day || size(edge-e.End) < detect.Day && !(e.Open && o.Open)
			}
			told = told || same && o.Confidence >= e.Confidence
		}
		if !told {
			out = append(out, e)
		}
	}
	return out
}
