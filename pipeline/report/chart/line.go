package chart

import "strconv"

// Line is one probe's readings, ready to draw: instants and levels of equal length,
// in time order, and the longest step between two readings that still is no hole.
type Line struct {
	Time  []int64
	Level []int32
	Hole  int64 // a longer step breaks the line; 0: none does
}

// columns spreads a stretch of time over whole pixel columns.
type columns struct {
	start, length int64
	n             int
}

func (c columns) of(t int64) int {
	// 128 bits are not needed: a century in microseconds times a thousand columns
	// stays below 2^63.
	return int((t - c.start) * int64(c.n) / c.length)
}

// pen writes relative SVG path commands in whole numbers.
type pen struct {
	out  []byte
	x, y int
	down bool
}

func (p *pen) number(n int) {
	if last := p.out[len(p.out)-1]; n >= 0 && last >= '0' && last <= '9' {
		p.out = append(p.out, ' ')
	}
	p.out = strconv.AppendInt(p.out, int64(n), 10)
}

func (p *pen) to(x, y int) {
	dx, dy := x-p.x, y-p.y
	switch {
	case !p.down && len(p.out) == 0:
		p.out = append(p.out, 'M')
		p.number(x)
		p.number(y)
	case !p.down:
		p.out = append(p.out, 'm')
		p.number(dx)
		p.number(dy)
	case dx == 0 && dy == 0:
		return
	case dx == 0:
		p.out = append(p.out, 'v')
		p.number(dy)
	case dy == 0:
		p.out = append(p.out, 'h')
		p.number(dx)
	default:
		p.out = append(p.out, 'l')
		p.number(dx)
		p.number(dy)
	}
	p.x, p.y, p.down = x, y, true
}

// lift ends a stretch; a stretch of one point gets a dash to be seen by.
func (p *pen) lift(single bool) {
	if single {
		p.to(p.x+1, p.y)
	}
	p.down = false
}

// path draws the line over the columns, with the least and the greatest level of
// each column in the order in which they came. y is the level, up is up.
func (l Line) path(c columns) string {
	p := pen{}
	points, column := 0, -1
	var low, high, lowAt, highAt int
	flush := func() {
		if column < 0 {
			return
		}
		first, second := low, high
		if highAt < lowAt {
			first, second = high, low
		}
		p.to(column, first)
		p.to(column, second)
		points++
		if low != high {
			points++
		}
		column = -1
	}
	for i, t := range l.Time {
		if t < c.start || t >= c.start+c.length {
			continue
		}
		x := c.of(t)
		if column >= 0 && l.Hole > 0 && t-l.Time[i-1] > l.Hole {
			flush()
			p.lift(points == 1)
			points = 0
		}
		level := int(l.Level[i])
		if x != column {
			flush()
			column, low, high, lowAt, highAt = x, level, level, i, i
			continue
		}
		if level < low {
			low, lowAt = level, i
		}
		if level > high {
			high, highAt = level, i
		}
	}
	flush()
	p.lift(points == 1)
	return string(p.out)
}

// mean draws the line with one point a column, the mean of its levels: what a
// neighbour needs.
func (l Line) mean(c columns) string {
	var out Line
	out.Hole = l.Hole
	middle := func(x int) int64 { return c.start + (2*int64(x)+1)*c.length/(2*int64(c.n)) }
	for i := 0; i < len(l.Time); {
		if l.Time[i] < c.start || l.Time[i] >= c.start+c.length {
			i++
			continue
		}
		x, sum, j := c.of(l.Time[i]), int64(0), i
		for ; j < len(l.Time) && l.Time[j] < c.start+c.length && c.of(l.Time[j]) == x; j++ {
			sum += int64(l.Level[j])
		}
		out.Time, out.Level = append(out.Time, middle(x)), append(out.Level, int32(sum/int64(j-i)))
		i = j
	}
	out.Hole = max(out.Hole, 3*c.length/(2*int64(c.n)))
	return out.path(c)
}
