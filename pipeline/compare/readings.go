package compare

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/previous"
	"probeward/pipeline/runfolder"
)

// readings compares what is left out, over the time that both runs looked at.
func (d *Diff) readings(a, b *runfolder.Run, before, after map[string]runfolder.Row) {
	both := a.Past.Period.Whole().Overlap(b.Past.Period.Whole())
	type key struct{ zone, day string }
	type tally struct {
		withdrawn, restored int64
		probes, reasons     map[string]bool
	}
	days := map[key]*tally{}
	var withdrawn, restored, onlyLater, onlyEarlier int64
	for _, probe := range names(before, after) {
		then, now := a.Past.Exclusions[probe], b.Past.Exclusions[probe]
		zone := cmp.Or(after[probe].Text("zone"), before[probe].Text("zone"))
		_, was := before[probe]
		_, is := after[probe]
		onlyLater += outside(now, both)
		onlyEarlier += outside(then, both)
		if !was || !is {
			continue // a probe that one run did not have: nothing was taken from or given to anyone
		}
		for _, change := range []struct {
			of, left []previous.Exclusion
			given    bool
		}{{now, then, false}, {then, now, true}} {
			for _, s := range without(change.of, change.left, both) {
				for part := range midnights(s.Span, d.zone) {
					k := key{zone, time.UnixMicro(part.Start).In(d.zone).Format(time.DateOnly)}
					t := days[k]
					if t == nil {
						t = &tally{probes: map[string]bool{}, reasons: map[string]bool{}}
						days[k] = t
					}
					if change.given {
						t.restored, restored = t.restored+part.Length(), restored+part.Length()
					} else {
						t.withdrawn, withdrawn = t.withdrawn+part.Length(), withdrawn+part.Length()
					}
					t.probes[probe] = true
					for _, r := range strings.Fields(s.Reasons) {
						t.reasons[r] = true
					}
				}
			}
		}
	}
	for _, k := range slices.SortedFunc(maps.Keys(days), func(x, y key) int {
		return cmp.Or(cmp.Compare(x.zone, y.zone), cmp.Compare(x.day, y.day))
	}) {
		t := days[k]
		d.Readings = append(d.Readings, Day{Zone: k.zone, Day: k.day, Withdrawn: hours(t.withdrawn), Restored: hours(t.restored),
			Probes: slices.Sorted(maps.Keys(t.probes)), Reasons: slices.Sorted(maps.Keys(t.reasons))})
	}
	c := &d.Counts
	c.Withdrawn, c.Restored, c.OnlyLater, c.OnlyEarlier = hours(withdrawn), hours(restored), hours(onlyLater), hours(onlyEarlier)
}

// hours to a hundredth: exclusions begin and end with readings, minutes apart.
func hours(micros int64) float64 { return math.Round(100*detect.Hours(micros)) / 100 }

// outside is how much of the stretches lies outside of in.
func outside(list []previous.Exclusion, in detect.Span) (sum int64) {
	for _, s := range list {
		sum += s.Length() - max(0, s.Overlap(in).Length())
	}
	return sum
}

// without gives what of a lies in the span and outside of b. Both are sorted and
// disjoint, as exclusions.csv promises.
func without(a, b []previous.Exclusion, in detect.Span) (out []previous.Exclusion) {
	for _, s := range a {
		s.Span = s.Overlap(in)
		for _, o := range b {
			if s.Length() <= 0 || o.Start >= s.End {
				break
			}
			if o.End <= s.Start {
				continue
			}
			if o.Start > s.Start {
				out = append(out, previous.Exclusion{Span: detect.Span{Start: s.Start, End: o.Start}, Reasons: s.Reasons})
			}
			s.Start = o.End
		}
		if s.Length() > 0 {
			out = append(out, s)
		}
	}
	return out
}

// midnights cuts a stretch at the zone's midnights.
func midnights(s detect.Span, zone *time.Location) func(func(detect.Span) bool) {
	return func(yield func(detect.Span) bool) {
		for s.Length() > 0 {
			y, m, d := time.UnixMicro(s.Start).In(zone).Date()
			next := time.Date(y, m, d+1, 0, 0, 0, 0, zone).UnixMicro()
			if next <= s.Start { // a zone whose midnight the clocks leave out
				next = s.Start + detect.Day
			}
			end := min(s.End, next)
			if !yield(detect.Span{Start: s.Start, End: end}) {
				return
			}
			s.Start = end
		}
	}
}
