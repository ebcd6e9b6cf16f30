package crew

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Size of the map in its own units, of which a phone shows one for each pixel.
const (
	mapWidth     = 360.0
	mapMaxHeight = 400.0
	mapMinHeight = 130.0
	mapPad       = 30.0
	mapFoot      = 30.0 // for the scale bar and the arrow
	labelHeight  = 22.0
	leastSpanM   = 60.0 // a single stop is not shown larger than this
)

// spot is a place on the map.
type spot struct{ X, Y float64 }

// mark is a stop on the map: where it is, and where its number stands.
type mark struct {
	spot
	Rank   int
	Width  float64 // of the number's plate
	Label  spot    // middle of the plate
	Leader bool    // the plate stands apart, and a line leads to the place
}

// Left, Top are the plate's corner.
func (m mark) Left() float64 { return m.Label.X - m.Width/2 }

// Top is the plate's upper edge.
func (m mark) Top() float64 { return m.Label.Y - labelHeight/2 }

// named is a word on the map.
type named struct {
	spot
	Name string
}

// plot is the map: stops at their places, seen from above, north up. There are no
// tiles under it.
type plot struct {
	Height, Foot float64
	Marks        []mark
	Posts        []spot  // the farm's other posts
	Blocks       []named // in the middle of their posts
	Way          string  // of the round, as a path
	BarWidth     float64
	BarLabel     string
	Text         string // what the map shows, in words
}

const metresPerDegree = 6_371_008.8 * math.Pi / 180

// flat gives metres east and north of a first point; longitudes go the short way.
type flat struct{ lat, lon, cos float64 }

func (f flat) metres(lat, lon float64) (x, y float64) {
	d := math.Mod(lon-f.lon+540, 360) - 180
	return d * f.cos * metresPerDegree, (lat - f.lat) * metresPerDegree
}

// plot draws the map; nil when no stop has coordinates.
func (in *Input) plot() *plot {
	var ranks []int
	var stops, posts []spot // metres, y up
	var from flat
	for i := range in.Visits {
		v := &in.Visits[i]
		if !hasPlace(v) {
			continue
		}
		if ranks == nil {
			from = flat{v.Latitude.V, v.Longitude.V, max(0.01, math.Cos(v.Latitude.V*math.Pi/180))}
		}
		x, y := from.metres(v.Latitude.V, v.Longitude.V)
		ranks, stops = append(ranks, i), append(stops, spot{x, y})
	}
	if ranks == nil {
		return nil
	}
	posts, blocks := in.posts(from)
	west, east, south, north := bounds(stops)
	// Posts far beyond the stops would make the round a speck.
	reach := max(east-west, north-south, 200) * 0.6
	near := func(s spot) bool {
		return s.X > west-reach && s.X < east+reach && s.Y > south-reach && s.Y < north+reach
	}
	posts = slices.DeleteFunc(posts, func(s spot) bool { return !near(s) })
	blocks = slices.DeleteFunc(blocks, func(b named) bool { return !near(b.spot) })
	west, east, south, north = bounds(append(slices.Clone(stops), posts...))
	if short := leastSpanM - (east - west); short > 0 {
		west, east = west-short/2, east+short/2
	}
	scale := min((mapWidth-2*mapPad)/(east-west), (mapMaxHeight-2*mapPad)/max(north-south, 1e-9))
	// Room for every number, were they all on one spot, with as much again to spare.
	room := 2 * float64(len(ranks)) * (labelHeight + 2*plateGap) * 36 / mapWidth
	height := max(mapMinHeight, room, float64((north-south)*scale)+2*mapPad)
	midX, midY := (west+east)/2, (south+north)/2
	place := func(s spot) spot {
		return spot{tenth(mapWidth/2 + float64((s.X-midX)*scale)), tenth(height/2 - float64((s.Y-midY)*scale))}
	}
	p := &plot{Height: tenth(height + mapFoot), Foot: tenth(height)}
	for k, i := range ranks {
		at := place(stops[k])
		p.Marks = append(p.Marks, mark{spot: at, Rank: i + 1, Label: at, Width: 14 + 9*float64(len(strconv.Itoa(i+1)))})
	}
	for _, s := range posts {
		p.Posts = append(p.Posts, place(s))
	}
	spread(p.Marks, mapWidth, height)
	for _, b := range blocks {
		p.name(place(b.spot), b.Name, height)
	}
	p.bar(scale)
	p.way(in, ranks)
	return p
}

// posts gives each place of the register once, and each block amid its own.
func (in *Input) posts(from flat) (posts []spot, blocks []named) {
	seen := map[spot]bool{}
	of := map[string][]spot{}
	for i := range in.Details {
		d := &in.Details[i]
		if !d.Latitude.OK || !d.Longitude.OK || !in.state(i).InGround {
			continue
		}
		x, y := from.metres(d.Latitude.V, d.Longitude.V)
		if s := (spot{x, y}); !seen[s] {
			seen[s] = true
			posts = append(posts, s)
			of[in.probe(i).Block] = append(of[in.probe(i).Block], s)
		}
	}
	for name, list := range of {
		if name == "" {
			continue
		}
		x, y := 0.0, 0.0
		for _, s := range list {
			x, y = x+s.X, y+s.Y
		}
		blocks = append(blocks, named{spot{x / float64(len(list)), y / float64(len(list))}, name})
	}
	slices.SortFunc(blocks, func(a, b named) int { return strings.Compare(a.Name, b.Name) })
	return posts, blocks
}

func bounds(all []spot) (west, east, south, north float64) {
	west, east, south, north = all[0].X, all[0].X, all[0].Y, all[0].Y
	for _, s := range all[1:] {
		west, east = min(west, s.X), max(east, s.X)
		south, north = min(south, s.Y), max(north, s.Y)
	}
	return west, east, south, north
}

func tenth(v float64) float64 { return math.Round(v*10) / 10 }

// bar is the longest of 1, 2 or 5 with noughts that takes a third of the width.
func (p *plot) bar(scale float64) {
	most := mapWidth / 3 / scale
	length := math.Pow(10, math.Floor(math.Log10(most)))
	for _, k := range []float64{5, 2} {
		if k*length <= most {
			length *= k
			break
		}
	}
	p.BarWidth = tenth(length * scale)
	p.BarLabel = strconv.FormatFloat(length, 'f', -1, 64) + " m"
}

// way draws the round and tells the map in words.
func (p *plot) way(in *Input, ranks []int) {
	var round []int // places among the marks
	for k, i := range ranks {
		if in.Visits[i].RouteOrder.OK {
			round = append(round, k)
		}
	}
	slices.SortStableFunc(round, func(a, b int) int {
		return in.Visits[ranks[a]].RouteOrder.V - in.Visits[ranks[b]].RouteOrder.V
	})
	var d strings.Builder
	var numbers []string
	for n, k := range round {
		op := "L"
		if n == 0 {
			op = "M"
		}
		fmt.Fprintf(&d, "%s%v %v", op, p.Marks[k].X, p.Marks[k].Y)
		numbers = append(numbers, strconv.Itoa(p.Marks[k].Rank))
	}
	p.Text = fmt.Sprintf("%s seen from above, north up.", plural(len(ranks), "stop"))
	if len(round) > 1 {
		p.Way = d.String()
		p.Text += " The short way round goes " + strings.Join(numbers, ", ") + "."
	}
	if n := len(in.Visits) - len(ranks); n > 0 {
		p.Text += fmt.Sprintf(" %s without coordinates not shown.", plural(n, "stop"))
	}
}
