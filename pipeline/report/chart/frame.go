package chart

import (
	"compress/flate"
	"fmt"
	"strings"
	"time"

	"probeward/detectors/detect"
)

// Measures of every chart, in units of its view box. At the width that a page shows
// it in, one is about one pixel.
const (
	left   = 6
	wide   = 680 // pixel columns of the plot
	lane   = 26  // rain and waterings, above the plot
	plot   = 140 // the plot
	under  = 11  // the finding's own stretch, below the plot
	foot   = 19  // the time axis
	right  = 56  // room for the value axis, beside the newest readings
	total  = left + wide + right
	height = lane + plot + under + foot
	coarse = 2 // columns of the neighbours' lines are this wide
)

// Frame is what all charts of a page share: the time axis.
type Frame struct {
	period  detect.Period
	zone    *time.Location
	deflate *flate.Writer // for Pack, one line after the other
}

// NewFrame makes the frame of a period, in the zone of its ticks; nil: UTC.
func NewFrame(period detect.Period, zone *time.Location) *Frame {
	if zone == nil {
		zone = time.UTC
	}
	if period.Window.End <= period.Lookback {
		period.Window.End = period.Lookback + 1
	}
	deflate, err := flate.NewWriter(nil, flate.BestCompression)
	if err != nil {
		panic(err) // a level that does not exist
	}
	return &Frame{period, zone, deflate}
}

func (f *Frame) columns(n int) columns {
	return columns{f.period.Lookback, f.period.Window.End - f.period.Lookback, n}
}

// cut gives the columns of a span, at least one wide; ok is false where it lies
// outside of the period.
func (f *Frame) cut(s detect.Span) (x, width int, ok bool) {
	s = s.Overlap(f.period.Whole())
	if s.End <= s.Start {
		return 0, 0, false
	}
	c := f.columns(wide)
	x = c.of(s.Start)
	end := c.of(s.End-1) + 1
	return x, max(1, end-x), true
}

// midnight gives the first instant of the local day that lies days after that of t.
func (f *Frame) midnight(t int64, days int) int64 {
	y, m, d := time.UnixMicro(t).In(f.zone).Date()
	return time.Date(y, m, d+days, 0, 0, 0, 0, f.zone).UnixMicro()
}

// timeTick is one mark of the time axis.
type timeTick struct {
	at   int64
	text string
}

// timeTicks gives marks at local midnights, Mondays or months, or at hours of a short
// period; about ten at most.
func (f *Frame) timeTicks() (out []timeTick) {
	const most = 10
	whole := f.period.Whole()
	days := detect.Days(whole.Length())
	start := time.UnixMicro(whole.Start).In(f.zone)
	y, m, d := start.Date()
	var step func(n int) time.Time
	form := "2 Jan"
	switch {
	case days <= 3:
		hours := 6
		if days > 1.5 {
			hours = 12
		}
		form = "2 Jan 15:04"
		step = func(n int) time.Time { return time.Date(y, m, d, n*hours, 0, 0, 0, f.zone) }
	case days <= most:
		step = func(n int) time.Time { return time.Date(y, m, d+n, 0, 0, 0, 0, f.zone) }
	case days <= 28*most:
		weeks := 1
		for days > float64(7*weeks*most) {
			weeks *= 2
		}
		monday := d - (int(start.Weekday())+6)%7
		step = func(n int) time.Time { return time.Date(y, m, monday+7*weeks*n, 0, 0, 0, 0, f.zone) }
	default:
		months := int(days/30/most) + 1
		form = "Jan 2006"
		step = func(n int) time.Time { return time.Date(y, m+time.Month(n*months), 1, 0, 0, 0, 0, f.zone) }
	}
	for n := 0; n < 100; n++ {
		t := step(n)
		if at := t.UnixMicro(); at >= whole.End {
			break
		} else if at >= whole.Start {
			out = append(out, timeTick{at, t.Format(form)})
		}
	}
	return out
}

// Shared gives what stands once in the page's defs: the hatch, the cut of the plot,
// the frame with its time axis (fx), and the rain of each local day (fr).
func (f *Frame) Shared(rain []detect.Water) string {
	var b strings.Builder
	b.WriteString(`<pattern id="hx" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">` +
		`<rect class="hb" width="6" height="6"/><path class="hl" d="M0 0v6"/></pattern>`)
	fmt.Fprintf(&b, `<clipPath id="cp"><rect x="%d" y="%d" width="%d" height="%d"/></clipPath>`, 0, 0, wide, plot)
	b.WriteString(`<g id="fx">`)
	fmt.Fprintf(&b, `<rect class="pl" x="%d" y="%d" width="%d" height="%d"/>`, left, lane, wide, plot)
	if x, w, ok := f.cut(f.period.Window); ok {
		fmt.Fprintf(&b, `<rect class="wi" x="%d" y="0" width="%d" height="%d"/>`, left+x, w, lane+plot+under)
	}
	var grid strings.Builder
	c := f.columns(wide)
	for _, t := range f.timeTicks() {
		x := left + c.of(t.at)
		fmt.Fprintf(&grid, "M%d %dv%d", x, lane, plot+under+4)
		fmt.Fprintf(&b, `<text x="%d" y="%d">%s</text>`, x+2, height-4, t.text)
	}
	fmt.Fprintf(&b, `<path class="gr" d="%s"/></g>`, grid.String())
	fmt.Fprintf(&b, `<path id="fr" class="ra" d="%s"/>`, f.rain(rain))
	return b.String()
}

// rainDay is what fell on one local day.
type rainDay struct {
	start int64
	mm    float64
}

// rainDays sums rain up by local day. A spell that runs over midnight counts for the
// day on which it began.
func (f *Frame) rainDays(rain []detect.Water) (days []rainDay, most float64) {
	for _, w := range rain {
		if w.Overlap(f.period.Whole()).Length() == 0 {
			continue
		}
		at := f.midnight(max(w.Start, f.period.Lookback), 0)
		if n := len(days); n == 0 || days[n-1].start != at {
			days = append(days, rainDay{start: at})
		}
		d := &days[len(days)-1]
		d.mm += w.MM.V
		most = max(most, d.mm)
	}
	return days, most
}

// WettestDay is the depth of the longest bar of rain, in mm.
func (f *Frame) WettestDay(rain []detect.Water) float64 {
	_, most := f.rainDays(rain)
	return most
}

// rain hangs a bar for each local day from the top, as long as the day's depth to
// that of the wettest day. Spells without a depth count as the least bar.
func (f *Frame) rain(rain []detect.Water) string {
	days, most := f.rainDays(rain)
	var b strings.Builder
	for _, d := range days {
		x, w, ok := f.cut(detect.Span{Start: d.start, End: f.midnight(d.start, 1)})
		if !ok {
			continue
		}
		tall := 2
		if most > 0 {
			tall = max(2, int(d.mm/most*(lane-4)+0.5))
		}
		gap := 0
		if w > 3 {
			gap = 1
		}
		fmt.Fprintf(&b, "M%d 0h%dv%dh%dz", left+x, w-gap, tall, gap-w)
	}
	return b.String()
}

// Waterings gives the marks of one zone's waterings under an id: a block for each in
// the lane, and a hair line down the plot where it began.
func (f *Frame) Waterings(id string, waters []detect.Water) string {
	var blocks, hairs strings.Builder
	for _, w := range waters {
		x, width, ok := f.cut(w.Span)
		if !ok {
			continue
		}
		width = max(width, 2)
		fmt.Fprintf(&blocks, "M%d %dh%dv8h%dz", left+x, lane-9, width, -width)
		fmt.Fprintf(&hairs, "M%d %dv%d", left+x, lane, plot)
	}
	return fmt.Sprintf(`<g id="%s"><path class="ih" d="%s"/><path class="ir" d="%s"/></g>`, id, hairs.String(), blocks.String())
}

// Line gives a probe's line under an id, a column a pixel.
func (f *Frame) Line(id string, l Line) string {
	return fmt.Sprintf(`<path class="l" id="%s" d="%s"/>`, id, l.path(f.columns(wide)))
}

// Neighbour gives a probe's line under an id for charts in which it is a neighbour:
// the mean of each two columns.
func (f *Frame) Neighbour(id string, l Line) string {
	return fmt.Sprintf(`<path class="l" id="%s" d="%s"/>`, id, l.mean(f.columns(wide/coarse)))
}
