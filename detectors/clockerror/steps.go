package clockerror

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// back is a step back of some hours between two good segments of a file.
type back struct {
	f     *file
	a, b  detect.Segment
	shift int64 // by how much the clock would have been set back
	off   bool  // it left the grid of the stamps before
	seen  bool  // the segment after it holds stamps seen before, and no others
	tail  bool  // the segment after it is the file's last
	anew  bool  // the segment before it began after a hole or after stamps that cannot be
}

// setBack are the findings of clocks that were set back by hours.
func (l *look) setBack() []event {
	backs := l.backs()
	var out []event
	for _, s := range backs {
		if e, ok := l.stepBack(s, alone(s, backs)); ok && !l.refuted(s.b.First, s.shift) {
			out = append(out, e)
		}
	}
	return out
}

// backs lists the steps back that may be a clock's.
func (l *look) backs() []back {
	change, zone := l.span("clock_change", detect.Hour), l.span("zone_hours", detect.Hour)
	var out []back
	for i := range l.files {
		f := &l.files[i]
		c := f.Cadence
		if c <= 0 {
			continue
		}
		slack := int64(l.p.Param("grid") * float64(c))
		gridded := true
		for _, s := range f.Segments {
			gridded = gridded && fromGrid(s.Last-s.First, c) <= slack
		}
		passed := int64(math.MinInt64) // the latest good stamp so far
		for k := 1; k < len(f.Segments); k++ {
			a, b := f.Segments[k-1], f.Segments[k]
			if !f.bad[k-1] {
				passed = max(passed, a.Last)
			}
			s := back{f: f, a: a, b: b, shift: a.Last + c - b.First, seen: b.Last <= passed, tail: k == len(f.Segments)-1}
			if f.bad[k-1] || f.bad[k] || s.shift <= change+slack || s.shift < 2*c || s.shift > zone+slack {
				continue
			}
			s.anew = k > 1 && (f.bad[k-2] || f.Segments[k-2].Last < a.First)
			s.off = gridded && fromGrid(b.First-a.First, c) > slack
			out = append(out, s)
		}
	}
	return out
}

// alone says whether the logger stepped back at no other time: one that sends
// records again does so many times.
func alone(s back, all []back) bool {
	for _, o := range all {
		if o.b.First != s.b.First || o.a.Last != s.a.Last {
			return false
		}
	}
	return true
}

// stepBack judges one step back.
func (l *look) stepBack(s back, single bool) (event, bool) {
	if s.seen && !s.off {
		return event{}, false // sent again
	}
	c := s.f.Cadence
	overlap := detect.Span{Start: s.b.First, End: s.a.Last + c}
	f := detect.Finding{
		Readings: int((overlap.Length() + c - 1) / c), Unit: "h",
		Measured: -detect.Hours(s.shift), Threshold: l.p.Param("clock_change"),
	}
	if n, known := l.p.Contradictions(overlap); known && float64(n) < l.p.Param("written_twice")*float64(f.Readings) && !s.off {
		return event{}, false // rows out of order, or sent again: no hour is there twice
	}
	text := fmt.Sprintf("%s line %d: the stamp steps back by %.1f h, %s to %s, as if the clock was set back by %.1f h", s.f.File, s.b.FromLine,
		detect.Hours(s.a.Last-s.b.First), detect.Stamp(s.a.Last), detect.Stamp(s.b.First), detect.Hours(s.shift))
	flag := schemas.FlagFail
	wrong, why, witnessed := l.witness(s)
	switch {
	case witnessed:
		f.Confidence = 0.7
		f.Readings = int(wrong.Length() / c)
		text += "; " + why
	case s.off:
		f.Confidence, flag = 0.6, schemas.FlagSuspect
		wrong = overlap
		text += fmt.Sprintf("; the stamps after it stand off those before by %s of a step of %s; which side is right cannot be told", detect.Length(fromGrid(s.b.First-s.a.First, c)), detect.Length(c))
	case single && s.anew && lossless(s.f, l.span("clock_change", detect.Hour)) && fromGrid(s.shift, detect.Hour) <= detect.Minute:
		f.Confidence, flag = 0.35, schemas.FlagSuspect
		wrong = overlap
		text += fmt.Sprintf("; whole hours, in a file that lost no record, and the clock had started anew at %s: a time zone set wrong there, or a block sent again", detect.Stamp(s.a.First))
	default:
		return event{}, false
	}
	f.Start, f.End = wrong.Start, wrong.End
	f.Evidence = text
	f.Parts = []detect.Part{{Span: wrong, Flag: flag}}
	return event{f, s.f.File}, true
}

// witness looks for the time that a clock set back leaves missing: as a hole at
// which it was set forward before or after, at the end of the data, or in what two
// files have in common. It gives the stretch with the wrong stamps.
func (l *look) witness(s back) (detect.Span, string, bool) {
	c := s.f.Cadence
	silences := slices.DeleteFunc(l.silences(), func(q detect.Span) bool {
		return q.End < s.a.First || q.Start > s.b.Last+c
	})
	long := 0
	for _, q := range silences {
		if 2*q.Length() >= s.shift {
			long++
		}
	}
	if long <= manySilences {
		for _, q := range slices.Backward(silences) {
			if q.End <= s.b.First && q.Start > l.whole.Start && near(q.Length(), s.shift+c, c/2) {
				return detect.Span{Start: q.End, End: s.a.Last + c}, fmt.Sprintf("as much is missing before, to %s: it ran ahead from there on", detect.Stamp(q.End)), true
			}
		}
		for _, q := range silences {
			if q.Start < s.b.First || q.Start >= s.b.Last+c && !s.tail {
				continue
			}
			if q.End < l.whole.End && near(q.Length(), s.shift+c, c/2) {
				return detect.Span{Start: s.b.First, End: q.Start + c}, fmt.Sprintf("as much is missing after, from %s on: it ran behind until then", detect.Stamp(q.Start)), true
			}
			if q.End == l.whole.End && s.tail && q.Length() >= s.shift && q.Length() <= s.shift+c+detect.Hour {
				return detect.Span{Start: s.b.First, End: l.whole.End}, "the logger's last stamp is as much behind the end of the data: it still runs behind", true
			}
		}
	}
	if s.tail && l.shortOverlap(s) {
		return detect.Span{Start: s.b.First, End: s.b.Last + c}, "the next file repeats as much less of this one than files of this logger do: it ran behind to the file's end", true
	}
	return detect.Span{}, "", false
}

// manySilences of half the length or more prove nothing: one of them fits.
const manySilences = 5

// silences in which none of the logger's ports spoke: those of its fastest port that
// lie, but for a step, in one of every other.
func (l *look) silences() []detect.Span {
	members := l.p.Members()
	var fastest *detect.Summary
	for i := range members {
		if m := &members[i]; m.Cadence > 0 && (fastest == nil || m.Cadence < fastest.Cadence) {
			fastest = m
		}
	}
	if fastest == nil {
		return nil
	}
	var out []detect.Span
	for _, h := range fastest.Silences {
		all := true
		for i := range members {
			m := &members[i]
			all = all && (m.Cadence > fastest.Cadence || m.Cadence <= 0 || slices.ContainsFunc(m.Silences, func(o detect.Hole) bool {
				return h.Overlap(o.Span).Length() >= h.Length()-fastest.Cadence
			}))
		}
		if all {
			out = append(out, h.Span)
		}
	}
	return out
}

// shortOverlap says whether the file after this one repeats less of it, by the
// shift, than files of this logger usually do.
func (l *look) shortOverlap(s back) bool {
	files := slices.Clone(l.files)
	start := func(f *file) int64 { return f.Segments[0].First }
	slices.SortStableFunc(files, func(a, b file) int { return cmp.Compare(start(&a), start(&b)) })
	var others []int64
	own, found := int64(0), false
	for i := 0; i+1 < len(files); i++ {
		f := &files[i]
		end := f.Segments[len(f.Segments)-1].Last
		o := end + f.Cadence - start(&files[i+1])
		if f.Stamps == s.f.Stamps {
			own, found = o, true
			continue
		}
		others = append(others, o)
	}
	if !found || len(others) < 2 {
		return false
	}
	slices.Sort(others)
	c := s.f.Cadence
	middle := others[len(others)/2]
	return near(others[0], middle, 2*c) && near(others[len(others)-1], middle, 2*c) && near(middle-own, s.shift, c)
}

// lossless says whether a file holds every record of its segments; a logger that
// keeps winter's time is an hour off in summer.
func lossless(f *file, change int64) bool {
	for _, s := range f.Segments {
		if d := s.Last - s.First - int64(s.Rows-1)*f.Cadence; d != 0 && d != change && d != -change {
			return false
		}
	}
	return true
}

// fromGrid is how far a duration is from a multiple of the step.
func fromGrid(d, step int64) int64 {
	r := ((d % step) + step) % step
	return min(r, step-r)
}

func near(a, b, by int64) bool { return math.Abs(float64(a-b)) <= float64(by) }
