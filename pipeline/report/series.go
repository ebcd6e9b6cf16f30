package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/report/chart"
	"probeward/schemas"
)

// Bounds of the page's size.
const (
	mostCharts     = 500 // findings beyond them are told in words alone
	mostNeighbours = 5
	neighbourLines = 800       // over all charts; when they are drawn, charts share them
	packBytes      = 2_500_000 // of all lines for the closer look
	fewestBytes    = 4_000     // of one of them
)

// series is what the page holds of one probe's readings.
type series struct {
	main, neighbour bool
	kept, out, mean chart.Use // usable, left out, and usable as a neighbour
	pack            string
	hole            int64
	last            reading
	low, high       float64 // as read
	lastKept        detect.Maybe[float64]
	days            []dayRow
}

type reading struct {
	at    int64
	value float64
}

// drawn says what a finding's chart shows.
type drawn struct {
	main       int // -1: none
	neighbours []int
	svg        string
	label      string
}

// chartsOf settles which probes are drawn where, reads their series once, and draws.
func (w *work) chartsOf() {
	w.series = map[int]*series{}
	w.charts = make([]drawn, len(w.in.Judged.Findings))
	strata := w.strata()
	charts, lines := 0, 0
	for _, f := range w.order {
		d := &w.charts[f]
		d.main = -1
		if charts == mostCharts {
			continue
		}
		touched := w.touched(f)
		for _, p := range touched {
			if w.drawable(p) && (d.main < 0 || w.in.Probes[p].Moisture() && !w.in.Probes[d.main].Moisture()) {
				d.main = p
			}
		}
		if d.main < 0 {
			continue
		}
		charts++
		beside := strata[w.stratumOf(d.main)]
		if len(touched) > 1 {
			beside = touched
		}
		for _, p := range beside {
			if len(d.neighbours) == mostNeighbours || p == d.main || w.in.Probes[p].Quantity != w.in.Probes[d.main].Quantity || !w.drawable(p) {
				continue
			}
			if n := w.want(p); !n.neighbour {
				if lines == neighbourLines {
					continue
				}
				n.neighbour = true
				lines++
			}
			d.neighbours = append(d.neighbours, p)
		}
		w.want(d.main).main = true
	}
	w.load()
	w.marks()
	for _, f := range w.order {
		if w.charts[f].main >= 0 {
			w.draw(f)
		}
	}
}

func (w *work) want(probe int) *series {
	if w.series[probe] == nil {
		w.series[probe] = &series{}
	}
	return w.series[probe]
}

type stratumKey struct {
	farm, zone string
	depth      detect.Maybe[float64]
	quantity   detect.Quantity
}

func (w *work) stratumOf(probe int) stratumKey {
	p := &w.in.Probes[probe]
	return stratumKey{p.Farm, p.Zone, p.DepthCM, p.Quantity}
}

// strata lists the probes of each zone and depth, those to be trusted first.
func (w *work) strata() map[stratumKey][]int {
	out := map[stratumKey][]int{}
	for i := range w.in.Probes {
		if w.in.Probes[i].Zone != "" {
			k := w.stratumOf(i)
			out[k] = append(out[k], i)
		}
	}
	trust := func(p int) int {
		st := &w.in.Judged.States[p]
		switch {
		case st.Verdict == schemas.Fit:
			return 0
		case st.UsableNow:
			return 1
		}
		return 2
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b int) int { return cmp.Compare(trust(a), trust(b)) })
	}
	return out
}

// drawable says whether a probe has a reading with a value.
func (w *work) drawable(probe int) bool {
	parts := w.in.Arranged.Partitions
	n := sort.Search(len(parts), func(i int) bool { return parts[i].First > probe }) - 1
	if n < 0 || probe-parts[n].First >= parts[n].Probes() {
		return false
	}
	v := parts[n].View(probe - parts[n].First)
	for i := range v.Len() {
		if !v.Blank(i) {
			return true
		}
	}
	return false
}

// load goes through the partitions once and puts the lines into the defs.
func (w *work) load() {
	var s detect.Series
	lines := 1
	for _, d := range w.series {
		if d.main {
			lines++
		}
	}
	var all, kept, out chart.Line
	for _, part := range w.in.Arranged.Partitions {
		for i := range part.Probes() {
			p := part.First + i
			d := w.series[p]
			if d == nil {
				continue
			}
			part.View(i).Series(&w.in.Probes[p], &s)
			d.hole = w.hole(p, &s)
			ruler := chart.NewRuler(w.in.Probes[p].Quantity, s.Value)
			all.Hole, kept.Hole, out.Hole = d.hole, d.hole, d.hole
			all.Time, all.Level = s.Time, all.Level[:0]
			for _, v := range s.Value {
				all.Level = append(all.Level, ruler.Level(v))
			}
			d.part(&s, &all, &kept, &out, w.in.Judged.ExclusionsOf(p))
			use := func(prefix string, l *chart.Line) chart.Use {
				if len(l.Time) == 0 {
					return chart.Use{Ruler: ruler}
				}
				return chart.Use{ID: fmt.Sprint(prefix, p), Ruler: ruler, Low: slices.Min(l.Level), High: slices.Max(l.Level)}
			}
			d.kept, d.out, d.mean = use("r", &kept), use("o", &out), use("k", &kept)
			if d.main {
				w.define(d.kept, kept, w.frame.Line)
				w.define(d.out, out, w.frame.Line)
				d.pack = w.frame.Pack(all, max(packBytes/lines, fewestBytes))
				d.days = w.days(&s, w.in.Judged.ExclusionsOf(p))
			}
			if d.neighbour {
				w.define(d.mean, kept, w.frame.Neighbour)
			}
		}
	}
}

func (w *work) define(u chart.Use, l chart.Line, draw func(string, chart.Line) string) {
	if u.ID != "" {
		w.defs.WriteString(draw(u.ID, l))
	}
}

// part parts a probe's readings into those that may be used and those that are left
// out; the latter with the reading before and after each stretch, so that the line
// shows where it left and came back.
func (d *series) part(s *detect.Series, all, kept, out *chart.Line, excluded []judge.Exclusion) {
	kept.Time, kept.Level = kept.Time[:0], kept.Level[:0]
	out.Time, out.Level = out.Time[:0], out.Level[:0]
	d.low, d.high = math.Inf(1), math.Inf(-1)
	walk := outside{spans: excluded}
	was := false
	for k, t := range s.Time {
		v := s.Value[k]
		d.low, d.high = min(d.low, v), max(d.high, v)
		is := walk.holds(t)
		if !is {
			kept.Time, kept.Level = append(kept.Time, t), append(kept.Level, all.Level[k])
			d.lastKept = detect.Some(v)
		}
		if is && !was && k > 0 && (len(out.Time) == 0 || out.Time[len(out.Time)-1] < s.Time[k-1]) {
			out.Time, out.Level = append(out.Time, s.Time[k-1]), append(out.Level, all.Level[k-1])
		}
		if is || was {
			out.Time, out.Level = append(out.Time, t), append(out.Level, all.Level[k])
		}
		was = is
	}
	if n := len(s.Value); n > 0 {
		d.last = reading{s.Time[n-1], s.Value[n-1]}
	}
}

// hole is the longest step that is none: one and a half of the probe's own.
func (w *work) hole(probe int, s *detect.Series) int64 {
	step := int64(0)
	if probe < len(w.in.Reports) {
		step = w.in.Reports[probe].Summary.Cadence
	}
	if step == 0 && len(s.Time) > 1 {
		step = (s.Time[len(s.Time)-1] - s.Time[0]) / int64(len(s.Time)-1)
	}
	return step + step/2
}

// outside walks along a probe's exclusions; it is asked in the order of time.
type outside struct {
	spans []judge.Exclusion
	at    int
}

func (o *outside) holds(t int64) bool {
	for o.at < len(o.spans) && o.spans[o.at].End <= t {
		o.at++
	}
	return o.at < len(o.spans) && o.spans[o.at].Start <= t
}

// marks puts what charts share into the defs.
func (w *work) marks() {
	var zones []string
	for p, d := range w.series {
		if zone := w.in.Probes[p].Zone; d.main && len(w.in.Irrigation[zone]) > 0 && !slices.Contains(zones, zone) {
			zones = append(zones, zone)
		}
	}
	slices.Sort(zones)
	for _, zone := range zones {
		w.defs.WriteString(w.frame.Waterings(anchor("water", zone), w.in.Irrigation[zone]))
	}
	w.defs.WriteString(w.frame.Shared(w.in.Rain))
}

func unitWords(q detect.Quantity) (name, unit string) {
	switch q {
	case detect.Ohms:
		return "Resistance", "ohm"
	case detect.Tension:
		return "Soil water tension", "kPa"
	case detect.WaterContent:
		return "Water content", "m³/m³"
	case detect.Celsius:
		return "Temperature", "°C"
	}
	return "Raw value", "raw"
}

// draw draws one finding's chart and says what it shows.
func (w *work) draw(finding int) {
	f, d := &w.in.Judged.Findings[finding], &w.charts[finding]
	p, s := &w.in.Probes[d.main], w.series[d.main]
	name, unit := unitWords(p.Quantity)
	c := chart.Chart{Caption: fmt.Sprintf("told-%d", finding+1), Unit: unit, Main: s.kept, Out: s.out, Open: f.Open, Finding: detect.Span{Start: f.Start, End: f.End}, Rain: len(w.in.Rain) > 0}
	for _, e := range w.in.Judged.ExclusionsOf(d.main) {
		c.Excluded = append(c.Excluded, e.Span)
	}
	if len(w.in.Irrigation[p.Zone]) > 0 {
		c.Waterings = anchor("water", p.Zone)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s of %s at %s, %s to %s. ", name, p.Name, w.say.depth(p.DepthCM), w.say.day(w.in.Judged.Period.Lookback), w.say.day(w.in.Judged.Period.Window.End-1))
	if s.low <= s.high {
		fmt.Fprintf(&b, "As read from %s to %s %s, last %s %s on %s. ", chart.Number(s.low), chart.Number(s.high), unit, chart.Number(s.last.value), unit, w.say.at(s.last.at))
	} else {
		b.WriteString("No reading has a value. ")
	}
	w.tellExcluded(&b, c.Excluded)
	low, high := math.Inf(1), math.Inf(-1)
	for _, n := range d.neighbours {
		ns := w.series[n]
		c.Neighbours = append(c.Neighbours, ns.mean)
		if ns.lastKept.OK {
			low, high = min(low, ns.lastKept.V), max(high, ns.lastKept.V)
		}
	}
	switch {
	case low == high:
		fmt.Fprintf(&b, "In grey, last at %s %s: %s. ", chart.Number(low), unit, w.names(d.neighbours, mostNeighbours))
	case low < high:
		fmt.Fprintf(&b, "In grey, last between %s and %s %s: %s. ", chart.Number(low), chart.Number(high), unit, w.names(d.neighbours, mostNeighbours))
	}
	w.tellWater(&b, w.in.Irrigation[p.Zone])
	d.label = strings.TrimSpace(b.String())
	d.svg = w.frame.Draw(c)
}

// tellExcluded says how much of the period is left out.
func (w *work) tellExcluded(b *strings.Builder, spans []detect.Span) {
	sum := int64(0)
	for _, s := range spans {
		sum += s.Overlap(w.in.Judged.Period.Whole()).Length()
	}
	if sum == 0 {
		b.WriteString("Nothing is left out. ")
		return
	}
	if len(spans) == 1 {
		fmt.Fprintf(b, "Left out: %s in one stretch. ", length(sum))
		return
	}
	fmt.Fprintf(b, "Left out: %s in %d stretches. ", length(sum), len(spans))
}

// tellWater counts the zone's waterings and the rain of the judged window.
func (w *work) tellWater(b *strings.Builder, waters []detect.Water) {
	window := w.in.Judged.Period.Window
	n, mm := 0, 0.0
	for _, x := range waters {
		if x.Overlap(window).Length() > 0 {
			n++
		}
	}
	for _, x := range w.in.Rain {
		if x.Overlap(window).Length() > 0 {
			mm += x.MM.V
		}
	}
	if len(waters) > 0 {
		fmt.Fprintf(b, "In the judged window the log has %s", count(n, "watering"))
		if len(w.in.Rain) > 0 {
			fmt.Fprintf(b, " and %s mm of rain", chart.Number(mm))
		}
		b.WriteString(". ")
	}
}
