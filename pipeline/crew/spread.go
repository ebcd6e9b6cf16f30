package crew

import (
	"math"
	"unicode/utf8"
)

// Steps of the search for a free spot around a stop.
const (
	plateGap    = 2.0
	spreadStep  = 4.0
	spreadTurns = 24
)

// spread puts each number's plate on its stop, or as near to it as none before it is
// covered: in rings around the stop, within the map, and where it can not over another
// stop. A plate for which the map has no room stays on its stop.
func spread(marks []mark, width, height float64) {
	for i := range marks {
		m := &marks[i]
		if at, ok := free(marks, i, width, height, true); ok {
			m.Label = at
		} else if at, ok := free(marks, i, width, height, false); ok {
			m.Label = at
		}
		m.Leader = math.Hypot(m.Label.X-m.X, m.Label.Y-m.Y) > labelHeight/2
	}
}

// free looks for a spot for plate i among those before it.
func free(marks []mark, i int, width, height float64, clear bool) (spot, bool) {
	m := &marks[i]
	halfW, halfH := m.Width/2, labelHeight/2
	for ring := 0.0; ring <= width+height; ring += spreadStep {
		for turn := range spreadTurns {
			angle := 2 * math.Pi * float64(turn) / spreadTurns
			s := spot{tenth(m.X + float64(ring*math.Sin(angle))), tenth(m.Y - float64(ring*math.Cos(angle)))}
			if s.X < halfW+1 || s.X > width-halfW-1 || s.Y < halfH+1 || s.Y > height-halfH-1 {
				continue
			}
			if covers(marks, i, s, clear) {
				continue
			}
			return s, true
		}
	}
	return spot{}, false
}

// covers says whether plate i at s would cover a plate before it or, if clear is asked
// for, the place of another stop.
func covers(marks []mark, i int, s spot, clear bool) bool {
	halfW, halfH := marks[i].Width/2, labelHeight/2
	for k := range i {
		if shared(s, halfW+plateGap, halfH+plateGap, marks[k].Label, marks[k].Width/2, halfH) > 0 {
			return true
		}
	}
	for k := range marks {
		if clear && k != i && marks[k].spot != marks[i].spot && math.Abs(marks[k].X-s.X) < halfW && math.Abs(marks[k].Y-s.Y) < halfH {
			return true
		}
	}
	return false
}

// Size of a block's name on the map: its height, and half of a letter's width.
const (
	nameHeight = 16.0
	halfLetter = 3.9
)

// name puts a block's name near the middle of its posts, where the least of it is
// covered by plates and by names already there.
func (p *plot) name(at spot, name string, height float64) {
	half := halfLetter * float64(utf8.RuneCountInString(name))
	best, least := spot{}, math.Inf(1)
	for _, dy := range []float64{0, -18, 18, -32, 32, -46, 46, -60, 60} {
		for _, dx := range []float64{0, -28, 28, -56, 56} {
			s := spot{min(mapWidth-half, max(half, at.X+dx)), min(height-nameHeight/2, max(nameHeight/2, at.Y+dy))}
			covered := 0.05 * (math.Abs(dx) + math.Abs(dy))
			for _, m := range p.Marks {
				covered += shared(s, half, nameHeight/2, m.Label, m.Width/2, labelHeight/2)
			}
			for _, n := range p.Blocks {
				middle := spot{n.X, n.Y - 4.5}
				covered += shared(s, half, nameHeight/2, middle, halfLetter*float64(utf8.RuneCountInString(n.Name)), nameHeight/2)
			}
			if covered < least {
				best, least = s, covered
			}
		}
	}
	// Text stands on its base line.
	p.Blocks = append(p.Blocks, named{spot{tenth(best.X), tenth(best.Y + 4.5)}, name})
}

// shared is the area that two upright boxes have in common; half sizes are given.
func shared(a spot, aw, ah float64, b spot, bw, bh float64) float64 {
	x := min(a.X+aw, b.X+bw) - max(a.X-aw, b.X-bw)
	y := min(a.Y+ah, b.Y+bh) - max(a.Y-ah, b.Y-bh)
	return max(0, x) * max(0, y)
}
