// Package changes compares a run's exclusions with those of the run before, by probe
// and day of the farm: what was newly withdrawn, and what was given back.
package changes

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
)

// Change is how much of one probe's day was withdrawn or given back.
type Change struct {
	Zone, Probe string
	Day         int64   // its midnight at the farm
	Withdrawn   bool    // else given back
	Hours       float64 // of the day
	Reasons     string  // the faults, blank between
}

// Exclusions compares over the time that both runs looked at: what the one never saw,
// it could not give or withdraw. Sorted by zone, day and probe, what was given back
// before what was withdrawn. Nothing when there was no run before.
func Exclusions(probes []detect.Probe, judged *judge.Result, before *previous.Run, zone *time.Location) (out []Change) {
	if before == nil {
		return nil
	}
	both := judged.Period.Whole().Overlap(before.Period.Whole())
	now := map[int][]reasoned{}
	for _, e := range judged.Exclusions {
		now[e.Probe] = append(now[e.Probe], reasoned{e.Span, strings.Join(e.Reasons, " ")})
	}
	for i := range probes {
		p := &probes[i]
		var then []reasoned
		for _, e := range before.Exclusions[p.Name] {
			then = append(then, reasoned{e.Span, e.Reasons})
		}
		for _, c := range []struct {
			withdrawn bool
			of, left  []reasoned
		}{{false, then, now[i]}, {true, now[i], then}} {
			for _, day := range byDay(without(c.of, c.left, both), zone) {
				out = append(out, Change{p.Zone, p.Name, day.start, c.withdrawn, detect.Hours(day.length), day.reasons})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Change) int {
		return cmp.Or(cmp.Compare(a.Zone, b.Zone), cmp.Compare(a.Day, b.Day), cmp.Compare(a.Probe, b.Probe))
	})
	return out
}

// reasoned is a stretch that is left out, and for which faults.
type reasoned struct {
	detect.Span
	reasons string // blank between
}

// without gives what of a lies in the given span and outside of b. Both are sorted
// and do not overlap.
func without(a, b []reasoned, in detect.Span) (out []reasoned) {
	for _, s := range a {
		s.Span = s.Overlap(in)
		for _, o := range b {
			if s.Length() == 0 || o.Start >= s.End {
				break
			}
			if o.End <= s.Start {
				continue
			}
			if o.Start > s.Start {
				out = append(out, reasoned{detect.Span{Start: s.Start, End: o.Start}, s.reasons})
			}
			s.Start = o.End
		}
		if s.Length() > 0 {
			out = append(out, s)
		}
	}
	return out
}

// dayPart is how much of one local day is meant, and for which faults.
type dayPart struct {
	start, length int64
	reasons       string
}

// byDay splits stretches (sorted, disjoint) at the zone's midnights.
func byDay(stretches []reasoned, zone *time.Location) (out []dayPart) {
	for _, s := range stretches {
		for s.Length() > 0 {
			y, m, d := time.UnixMicro(s.Start).In(zone).Date()
			from := time.Date(y, m, d, 0, 0, 0, 0, zone).UnixMicro()
			next := min(s.End, time.Date(y, m, d+1, 0, 0, 0, 0, zone).UnixMicro())
			if n := len(out); n > 0 && out[n-1].start == from {
				out[n-1].length += next - s.Start
				out[n-1].reasons = joinWords(out[n-1].reasons, s.reasons)
			} else {
				out = append(out, dayPart{from, next - s.Start, s.reasons})
			}
			s.Start = next
		}
	}
	return out
}

// joinWords gives the words of both, each once, in the order first met.
func joinWords(a, b string) string {
	words := strings.Fields(a)
	for _, w := range strings.Fields(b) {
		if !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	return strings.Join(words, " ")
}
