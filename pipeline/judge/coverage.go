package judge

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// stratum is a zone and depth under way.
type stratum struct {
	row    CoverageRow
	blocks []string
	days   []bool // by place of the day in the window
}

// coverage gathers what the probes of a zone and depth still tell.
type coverage struct {
	days   []int64 // first instants of the window's local days, and its end
	window detect.Span
	strata []*stratum
	of     map[stratumKey]*stratum
}

type stratumKey struct {
	farm, zone string
	depth      detect.Maybe[float64]
}

func newCoverage(window detect.Span, zone *time.Location) *coverage {
	c := &coverage{window: window, of: map[stratumKey]*stratum{}}
	if zone == nil {
		zone = time.UTC
	}
	y, m, d := time.UnixMicro(window.Start).In(zone).Date()
	for t := window.Start; t < window.End; {
		c.days = append(c.days, t)
		d++
		// A midnight that daylight saving skips, or a day that a zone skipped
		// altogether, must not stop the march.
		for t = max(t, time.Date(y, m, d, 0, 0, 0, 0, zone).UnixMicro()); t <= c.days[len(c.days)-1]; {
			d++
			t = time.Date(y, m, d, 0, 0, 0, 0, zone).UnixMicro()
		}
	}
	c.days = append(c.days, window.End)
	return c
}

// add enters a probe that is in the ground. trusted are the stretches of the
// period in which its readings are a plain pass.
func (c *coverage) add(probe int, p *detect.Probe, s *State, times []int64, trusted []detect.Span) {
	key := stratumKey{p.Farm, p.Zone, p.DepthCM}
	g := c.of[key]
	if g == nil {
		g = &stratum{days: make([]bool, len(c.days)-1)}
		g.row = CoverageRow{Farm: p.Farm, Zone: p.Zone, DepthCM: p.DepthCM, Verdicts: map[schemas.Verdict]int{}}
		c.of[key] = g
		c.strata = append(c.strata, g)
	}
	g.row.Members = append(g.row.Members, probe)
	g.row.Probes++
	g.row.Verdicts[s.Verdict]++
	if p.Block != "" && !slices.Contains(g.blocks, p.Block) {
		g.blocks = append(g.blocks, p.Block)
	}
	for d := range g.days {
		if g.days[d] {
			continue
		}
		day := []detect.Span{{Start: c.days[d], End: c.days[d+1]}}
		g.days[d] = countIn(times, common(nil, trusted, day)) > 0
	}
	if last, ok := lastIn(times, trusted, s); ok && (!g.row.LastTrusted.OK || last > g.row.LastTrusted.V) {
		g.row.LastTrusted = detect.Some(last)
	}
}

// lastIn finds the newest reading in the trusted stretches; of a probe that is
// not fit, the newest before its fault began.
func lastIn(times []int64, trusted []detect.Span, s *State) (int64, bool) {
	for i := len(trusted) - 1; i >= 0; i-- {
		span := trusted[i]
		if s.Verdict != schemas.Fit && s.Since.OK {
			span.End = min(span.End, s.Since.V)
		}
		n, _ := slices.BinarySearch(times, span.End)
		if n > 0 && times[n-1] >= span.Start {
			return times[n-1], true
		}
	}
	return 0, false
}

// rows completes the rows and sorts them by farm, zone and depth, those without a
// depth last.
func (c *coverage) rows() []CoverageRow {
	var out []CoverageRow
	for _, g := range c.strata {
		slices.Sort(g.blocks)
		g.row.Block = strings.Join(g.blocks, " ")
		for _, usable := range g.days {
			if usable {
				g.row.UsableDays++
			}
		}
		g.row.Blind = g.row.Verdicts[schemas.Fit] == 0
		if g.row.Blind {
			g.row.BlindSince = g.row.LastTrusted
		}
		out = append(out, g.row)
	}
	slices.SortFunc(out, func(a, b CoverageRow) int {
		unknown := 0
		if a.DepthCM.OK != b.DepthCM.OK {
			unknown = 1
			if a.DepthCM.OK {
				unknown = -1
			}
		}
		return cmp.Or(cmp.Compare(a.Farm, b.Farm), cmp.Compare(a.Zone, b.Zone), unknown, cmp.Compare(a.DepthCM.V, b.DepthCM.V))
	})
	return out
}
