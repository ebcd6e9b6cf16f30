package loggersilent

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
)

// look is one look at one logger.
type look struct {
	p     *detect.GroupPass
	seats []seat
	whole detect.Span
	quiet []detect.Span // no port says a word; open intervals, sorted
	sure  []detect.Span // when a word was surely due; sorted, disjoint
	at    []detect.Span // the same with the register's grace at its dates
	step  int64         // of its fastest port; 0 when none is known
}

// silence is a stretch in which no port said anything.
type silence struct {
	detect.Span        // from the first record missed
	due         int64  // how much of it was surely due
	missed      int    // records
	place       int    // in quiet
	why         string // "" or what is special of its start
}

// heardFor is how long before the end of the window the logger was first heard.
func (l *look) heardFor() int64 {
	if len(l.quiet) == 0 || l.quiet[0].Start > l.whole.Start {
		return l.whole.Length()
	}
	return l.whole.End - l.quiet[0].End
}

// findings are the silences that count.
func (l *look) findings() []detect.Finding {
	steps := l.newSteps()
	var some []silence
	lost, due := 0.0, 0.0
	if l.step > 0 {
		due = float64(length(l.sure)) / float64(l.step)
	}
	for i, q := range l.quiet {
		if steps[i] > l.step && 2*q.Length() <= 3*steps[i] {
			continue // a step, no silence
		}
		s := l.silence(i, q, steps[i])
		if s.Start >= s.End {
			continue
		}
		if l.tooShort(s) {
			lost += float64(s.missed)
			continue
		}
		due -= float64(s.missed)
		some = append(some, s)
	}
	rate := math.Min(0.99, (lost+0.5)/(math.Max(1, due)+1))
	var out []detect.Finding
	for _, s := range some {
		if l.step > 0 && math.Max(1, due)*math.Pow(rate, float64(s.missed)) >= l.p.Param("chance") {
			continue
		}
		out = append(out, l.finding(s))
	}
	return out
}

// newSteps gives the logger's step at every quiet stretch: after a change to a
// longer step all of its steps are quiet stretches with one record between, most of
// them of one length.
func (l *look) newSteps() []int64 {
	like, run, most := l.p.Param("step_likeness"), int(l.p.Param("step_run")), l.p.Param("step_agreement")
	steps := make([]int64, len(l.quiet))
	for i := 0; i < len(l.quiet); {
		j := i + 1
		for j < len(l.quiet) && l.quiet[j].Start == l.quiet[j-1].End {
			j++
		}
		step := l.step
		if j-i >= run {
			lengths := make([]int64, 0, j-i)
			for _, q := range l.quiet[i:j] {
				lengths = append(lengths, q.Length())
			}
			slices.Sort(lengths)
			middle, alike := lengths[(len(lengths)-1)/2], 0
			for _, d := range lengths {
				if math.Abs(float64(d-middle)) <= like*float64(middle) {
					alike++
				}
			}
			if float64(alike) >= most*float64(len(lengths)) {
				step = middle
			}
		}
		for ; i < j; i++ {
			steps[i] = step
		}
	}
	return steps
}

// silence cuts a quiet stretch down to what was missed of it: nothing was due
// before the logger was first heard, unless the register and the farm's other
// loggers say so.
func (l *look) silence(place int, q detect.Span, step int64) silence {
	s := silence{Span: q, place: place}
	due := l.sure
	if q.Start == l.whole.Start && q.End < l.whole.End {
		s.why = "before it was first heard in the period"
		due = l.datedDue()
	} else if q.Start > l.whole.Start {
		s.Start = min(q.End, q.Start+step)
	}
	_, farm, loggers := l.p.Stamps()
	if q.Start == l.whole.Start && loggers > 0 && farm.Start < farm.End {
		s.Start = max(s.Start, farm.Start)
	}
	s.due = overlap(due, s.Span)
	first, last := s.End, s.Start
	for _, d := range l.at {
		if o := d.Overlap(s.Span); o.Start < o.End {
			first, last = min(first, o.Start), max(last, o.End)
		}
	}
	s.Start, s.End = first, last
	if step > 0 {
		s.missed = int(math.Round(float64(s.due) / float64(step)))
	}
	return s
}

// datedDue is when the register says, by a date, that a word was due; empty where
// the farm's other loggers do not show that its data had begun.
func (l *look) datedDue() []detect.Span {
	if _, _, loggers := l.p.Stamps(); loggers < 2 {
		return nil
	}
	var out []detect.Span
	for i := range l.seats {
		if l.seats[i].dated {
			out = append(out, l.seats[i].sure...)
		}
	}
	return union(out)
}

func (l *look) tooShort(s silence) bool {
	return s.due < l.p.ParamHours("grace") || l.step > 0 && float64(s.missed) < l.p.Param("min_missed")
}

func (l *look) finding(s silence) detect.Finding {
	f := detect.Finding{
		Start: s.Start, End: s.End, Open: s.End == l.whole.End,
		Measured: detect.Hours(s.Length()), Threshold: l.p.Param("grace"), Unit: "h",
	}
	long := s.Length() >= l.p.ParamHours("long_hours")
	never := l.quiet[s.place] == l.whole
	switch {
	case never:
		f.Confidence = 0.8
	case long:
		f.Confidence = 0.95
	case f.Open:
		f.Confidence = 0.6
	default:
		f.Confidence = 0.8
	}
	for i := range l.seats {
		if overlap(l.seats[i].at, s.Span) > 0 {
			f.Probes = append(f.Probes, l.seats[i].Probe.Index)
		}
	}
	slices.Sort(f.Probes)
	if len(f.Probes) == 1 {
		f.Confidence = math.Min(f.Confidence, 0.7)
	}
	f.Readings = s.missed * len(f.Probes)
	when := fmt.Sprintf("%s to %s", detect.Stamp(f.Start), detect.Stamp(f.End))
	if f.Open {
		when = "since " + detect.Stamp(f.Start)
	}
	text := fmt.Sprintf("no word from any of %d ports for %s, %s", len(f.Probes), detect.Length(s.Length()), when)
	if len(f.Probes) == 1 {
		text = fmt.Sprintf("no word from its only port for %s, %s", detect.Length(s.Length()), when)
	}
	switch {
	case never:
		text += "; never heard in the period"
	case s.why != "":
		text += ", " + s.why
	case l.step > 0:
		text += fmt.Sprintf(" (usual step %s)", detect.Length(l.step))
	}
	f.Evidence = text + l.growth(s) + l.battery(s)
	return f
}

// growth tells of silences that grew before this one.
func (l *look) growth(s silence) string {
	since := l.quiet[s.place].Start - int64(l.p.Param("growth_days")*float64(detect.Day))
	size := l.quiet[s.place].Length()
	var grew []string
	for i := s.place - 1; i >= 0 && l.step > 0; i-- {
		q := l.quiet[i]
		if q.Start < since || q.Length() >= size {
			break
		}
		if q.Length() < 3*l.step { // one lost record
			continue
		}
		if size-q.Length() < l.step { // as long as the next: a slower step, and no growth
			break
		}
		size = q.Length()
		grew = append(grew, fmt.Sprintf("%.1f", detect.Hours(q.Length())))
	}
	if len(grew) < 2 {
		return ""
	}
	slices.Reverse(grew)
	return fmt.Sprintf("; gaps growing before it (%s h): battery dying", strings.Join(grew, ", "))
}

// battery tells what the battery did before the silence.
func (l *look) battery(s silence) string {
	if !l.p.HasBattery() {
		return ""
	}
	from := s.Start - int64(l.p.Param("battery_weeks")*7*float64(detect.Day))
	var last detect.Maybe[detect.Level]
	var earlier []float64
	for i := range l.seats {
		for _, v := range l.seats[i].Battery {
			if v.Time >= s.Start || v.Time < from {
				continue
			}
			earlier = append(earlier, v.Volts)
			if !last.OK || v.Time > last.V.Time || v.Time == last.V.Time && v.Volts < last.V.Volts {
				last = detect.Some(v)
			}
		}
	}
	if !last.OK {
		return ""
	}
	slices.Sort(earlier)
	return fmt.Sprintf("; battery low of %.2f V on its last day, %.2f V on the median day of the %.0f weeks before",
		last.V.Volts, earlier[len(earlier)/2], l.p.Param("battery_weeks"))
}
