package chart

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"

	"probeward/detectors/detect"
)

// Use is a line of the page's defs, as one chart shows it.
type Use struct {
	ID        string
	Ruler     Ruler
	Low, High int32 // least and greatest level
}

// Chart is one chart. Lines and marks are named by what Frame put into the defs.
type Chart struct {
	Caption    string // id of the text that tells what a reader does not see
	Unit       string
	Main       Use // the readings that may be used
	Out        Use // those that are left out; without an ID: none is
	Neighbours []Use
	Excluded   []detect.Span // sorted
	Finding    detect.Span
	Open       bool   // the finding still stands
	Waterings  string // id; empty: none
	Rain       bool
}

// Draw gives the chart as an svg element.
func (f *Frame) Draw(c Chart) string {
	low, high := c.levels()
	scale := float64(plot) / (high - low)
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="ch" viewBox="0 0 %d %d" role="img" aria-labelledby="%s"><use href="#fx"/>`, total, height, html.EscapeString(c.Caption))
	if c.Rain {
		b.WriteString(`<use href="#fr"/>`)
	}
	if c.Waterings != "" {
		fmt.Fprintf(&b, `<use href="#%s"/>`, c.Waterings)
	}
	f.valueAxis(&b, &c, low, high, scale)
	fmt.Fprintf(&b, `<g transform="translate(%d %d)">`, left, lane)
	if out := f.stretches(c.Excluded); out != "" {
		fmt.Fprintf(&b, `<path class="ex" d="%s"/>`, out)
	}
	b.WriteString(`<g clip-path="url(#cp)">`)
	use := func(class string, u Use, columns int) {
		if u.ID != "" {
			fmt.Fprintf(&b, `<use class="%s" href="#%s" transform="matrix(%d 0 0 %s 0 %s)"/>`, class, u.ID, columns,
				short(-scale*u.Ruler.step/c.Main.Ruler.step), short(float64(plot)+float64(low*scale)))
		}
	}
	for _, n := range c.Neighbours {
		use("nb", n, coarse)
	}
	use("rw", c.Out, 1)
	use("cl", c.Main, 1)
	b.WriteString(`</g>`)
	if x, w, ok := f.cut(c.Finding); ok {
		w = max(w, 2)
		fmt.Fprintf(&b, `<path class="fb" d="M%d %dh%dv5h%dz"/>`, x, plot+3, w, -w)
		if c.Open {
			fmt.Fprintf(&b, `<path class="fb" d="M%d %dl6 4.5-6 4.5z"/>`, x+w, plot+1)
		}
	}
	b.WriteString(`</g></svg>`)
	return b.String()
}

// levels is the range of the value axis: all that is drawn, within what is sane for
// the quantity, with a margin.
func (c *Chart) levels() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(u Use) {
		if u.ID == "" || u.Low > u.High {
			return
		}
		k := u.Ruler.step / c.Main.Ruler.step
		low, high = min(low, float64(u.Low)*k), max(high, float64(u.High)*k)
	}
	take(c.Main)
	take(c.Out)
	for _, n := range c.Neighbours {
		take(n)
	}
	if low > high {
		low, high = 0, 0
	}
	a, b := c.Main.Ruler.sane()
	low, high = min(max(low, a), b), max(min(high, b), a)
	if need := c.Main.Ruler.least(); high-low < need {
		mid := (high + low) / 2
		low, high = mid-need/2, mid+need/2
	}
	margin := (high - low) * 0.05
	return low - margin, high + margin
}

// valueAxis writes the unit, the ticks and which way is wet.
func (f *Frame) valueAxis(b *strings.Builder, c *Chart, low, high, scale float64) {
	var grid strings.Builder
	for _, t := range c.Main.Ruler.ticks(low, high, 24/scale) {
		y := lane + plot - int(math.Round((t.Level-low)*scale))
		fmt.Fprintf(&grid, "M%d %dh%d", left, y, wide+4)
		fmt.Fprintf(b, `<text x="%d" y="%d">%s</text>`, left+wide+7, min(y+4, lane+plot), t.Text)
	}
	fmt.Fprintf(b, `<path class="gr" d="%s"/>`, grid.String())
	fmt.Fprintf(b, `<text class="u" x="%d" y="%d">%s</text>`, left+wide+7, 11, html.EscapeString(c.Unit))
	if c.Main.Ruler.Quantity.Moist() {
		fmt.Fprintf(b, `<text class="w" x="%d" y="%d">wetter ↑</text>`, left+wide+7, 22)
	}
}

// stretches gives the excluded columns as rectangles over the plot. Exclusions that
// meet in a column are one.
func (f *Frame) stretches(excluded []detect.Span) string {
	var out strings.Builder
	from, until := 0, -1 // of the stretch under way
	flush := func() {
		if until > from {
			fmt.Fprintf(&out, "M%d 0h%dv%dh%dz", from, until-from, plot, from-until)
		}
	}
	for _, s := range excluded {
		x, w, ok := f.cut(s)
		if !ok {
			continue
		}
		if until >= 0 && x <= until {
			until = max(until, x+w)
			continue
		}
		flush()
		from, until = x, x+w
	}
	flush()
	return out.String()
}

// short writes a number with as many digits as a chart can show.
func short(v float64) string { return strconv.FormatFloat(v, 'g', 5, 64) }
