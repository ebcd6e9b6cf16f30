package irrigationfailure

import (
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

// measured lays out what each probe did at each occasion, where its own study of its
// waterings has it; nil: nothing was heard, or rain blurred it.
func (l *look) measure() {
	l.measured = make([][]*detect.Watered, len(l.probes))
	for i, s := range l.probes {
		l.measured[i] = make([]*detect.Watered, len(l.occasions))
		for j := range s.Waterings.At {
			w := &s.Waterings.At[j]
			k, ok := slices.BinarySearchFunc(l.occasions, w.Start, func(o detect.Occasion, t int64) int {
				switch {
				case o.Start < t:
					return -1
				case o.Start > t:
					return 1
				}
				return 0
			})
			if ok && !w.Blind && !w.AtEnd {
				l.measured[i][k] = w
			}
		}
		// A rise that was under way when the valve opened is older than the water: what
		// counts is what came on top of the level at that moment.
		h := &l.habits[i]
		for k := range l.occasions {
			if w := l.measured[i][k]; w != nil && h.At[k].Given && w.Rise < l.rule.Share*h.Usual {
				h.At[k].Given, h.At[k].Size = false, w.Rise
			}
		}
	}
}

// ratio is what a probe did at an occasion as a share of what it does with so much
// water: the median of its rises a millimetre at the other waterings of about that
// depth. It is not ok where the probe has too few of these, no room, or no answer that
// stands clear of its quiet time.
func (l *look) ratio(i, k int) (r float64, ok bool) {
	w := l.measured[i][k]
	if w == nil {
		return 0, false
	}
	unit := l.probes[i].Waterings.Unit
	var rises []float64
	answered, wettest, roomy := 0, math.Inf(-1), math.Inf(-1)
	for j := range l.occasions {
		o := l.measured[i][j]
		if j == k || o == nil || l.low[j] || !l.alike(j, k) {
			continue
		}
		size := o.Rise
		if w.MM.OK && o.MM.OK && o.MM.V > 0 {
			size *= w.MM.V / o.MM.V
		}
		if o.Rise > l.rule.Separate*unit {
			answered++
			wettest = max(wettest, o.Level+o.Rise)
			roomy = max(roomy, o.Level)
		}
		rises = append(rises, size)
	}
	if len(rises) < int(l.p.Param("partial_events")) || float64(answered) < l.p.Param("partial_share")*float64(len(rises)) {
		return 0, false
	}
	expected := robust.Median(rises, make([]float64, len(rises)))
	if w.Level > l.probes[i].Waterings.Dead {
		expected = min(expected, wettest-w.Level)
	}
	if expected < l.p.Param("clear_units")*unit {
		return 0, false
	}
	// Wet soil has no room for an answer, unless the probe has answered in full from a
	// level as wet.
	if l.noRoom(k) && w.Level > roomy {
		return 0, false
	}
	// What swings by so much more than its answers is out of order.
	r = w.Rise / expected
	return r, r <= l.p.Param("partial_wild")
}

// share is the median ratio of the zone's probes at an occasion, and how it was made.
type share struct {
	middle, most float64 // median, and the ratio that nearly all probes keep under
	probes       int
	posts        int
	low          int // posts at which a probe stands low
	told         bool
}

func (l *look) shareOf(k int) share {
	var s share
	var ratios []float64
	posts, low := map[string]bool{}, map[string]bool{}
	for i := range l.probes {
		if r, ok := l.ratio(i, k); ok {
			ratios = append(ratios, r)
			posts[postOf(l.probes[i])] = true
			if r <= l.p.Param("partial_all") {
				low[postOf(l.probes[i])] = true
			}
		}
	}
	s.probes, s.posts, s.low = len(ratios), len(posts), len(low)
	if s.probes < int(l.p.Param("min_probes")) || s.posts < int(l.p.Param("min_posts")) {
		return s
	}
	scratch := make([]float64, len(ratios))
	s.told, s.middle, s.most = true, robust.Median(ratios, scratch), robust.Quantile(ratios, scratch, l.p.Param("partial_quantile"))
	return s
}

// partial judges the waterings by size: one that nearly all probes answered by much
// less than they answer so much water, while the zone's answers else go with the
// water, came only in part.
func (l *look) partial(fails []failure) {
	l.low = make([]bool, len(l.occasions))
	for k := range fails {
		l.low[k] = fails[k].failed || l.blank[k]
	}
	shares := make([]share, len(l.occasions))
	var logs []float64
	for k := range shares {
		if shares[k] = l.shareOf(k); shares[k].told && !l.low[k] {
			logs = append(logs, math.Log(max(shares[k].middle, 0.01)))
		}
	}
	if len(logs) < int(l.p.Param("partial_events")) {
		return
	}
	middle, mad := robust.MAD(logs, make([]float64, len(logs)))
	spread := max(l.p.Param("partial_spread"), robust.Consistency*mad)
	for k := range shares {
		s := &shares[k]
		if !s.told || fails[k].failed || s.most > l.p.Param("partial_all") || s.middle > l.p.Param("partial_middle") || s.low < int(l.p.Param("min_posts")) {
			continue
		}
		// Silence of a few is what deficit brings, too, one after the other.
		if s.middle < l.p.Param("miss_share") && s.probes <= int(l.p.Param("min_probes")) {
			continue
		}
		z := (middle - math.Log(max(s.middle, 0.01))) / spread
		if z < l.p.Param("partial_scales") || !l.wholeBefore(shares, fails, k) {
			continue
		}
		// By Cantelli's inequality, which holds for any distribution.
		fails[k] = failure{failed: true, told: true, partly: s.middle, missed: s.probes, asked: s.probes, posts: s.posts, chance: 1 / (1 + z*z)}
	}
}

// wholeBefore says whether the last watering before that tells was answered in full:
// answers that shrink step by step are deficit.
func (l *look) wholeBefore(shares []share, fails []failure, k int) bool {
	for j := k - 1; j >= 0; j-- {
		if shares[j].told && !fails[j].failed {
			return shares[j].middle >= l.p.Param("partial_before")
		}
	}
	return false
}

func (f *failure) evidence(what string) string {
	return fmt.Sprintf("%d probes at %d posts answered %s by %.2f of what they do with so much water (median), and nearly all of them by less than usual, the watering before in full: the water came only in part, or not at all; answers of the zone differ so with a chance of %.2g at most",
		f.asked, f.posts, what, f.partly, f.chance)
}
