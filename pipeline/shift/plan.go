package shift

import (
	"cmp"
	"math"
	"slices"
	"time"

	"probeward/pipeline/rank"
)

// Point is a place in degrees, WGS 84.
type Point struct{ Lat, Lon float64 }

// Stop is what a plan may take or leave.
type Stop struct {
	Name    string
	At      Point
	Value   float64 // what making it is worth; any unit, above 0
	Minutes float64 // of work there
}

// Options of a plan. A field of 0 stands for its default.
type Options struct {
	SpeedKMH       float64 // on the way; 25
	Detour         float64 // way over straight line, 1 or more; 1.3
	ParkingMinutes float64 // at each new place; 3. Below 0: none
}

// Defaults of Options, and what is close enough for one parking.
const (
	DefaultSpeedKMH       = 25.0
	DefaultDetour         = 1.3
	DefaultParkingMinutes = 3.0
	SharedParkingM        = 30.0
)

// Filled gives the options with their defaults in place.
func (o Options) Filled() Options {
	if !(o.SpeedKMH > 0) {
		o.SpeedKMH = DefaultSpeedKMH
	}
	if !(o.Detour >= 1) {
		o.Detour = DefaultDetour
	}
	if o.ParkingMinutes == 0 || math.IsNaN(o.ParkingMinutes) {
		o.ParkingMinutes = DefaultParkingMinutes
	}
	return o
}

// Call is one stop as a crew makes it. Minutes count from the shift's start.
type Call struct {
	Stop   int // place in the stops that were given
	Name   string
	Drive  float64 // minutes on the way there, parking included
	Arrive float64
	Leave  float64
}

// Crew is one crew's shift. A crew without calls stays at the start.
type Crew struct {
	Calls []Call
	Home  float64 // minutes on the way back
	Back  float64 // when it is back, in minutes from the start
	Value float64
}

// Plan gives each crew's shift: always crews of them, the one of greatest value
// first. A stop without value, with negative or unknown minutes, or at no place on
// Earth is never made. The method is in the package comment.
func Plan(stops []Stop, crews int, length time.Duration, start Point, opts Options) []Crew {
	if crews <= 0 {
		return nil
	}
	opts = opts.Filled()
	p := newPlanner(stops, crews, length.Minutes(), start, opts)
	best := p.solve()
	out := make([]Crew, crews)
	for i, way := range best.ways {
		out[i] = p.crew(stops, way)
	}
	slices.SortStableFunc(out, func(a, b Crew) int { return cmp.Compare(b.Value, a.Value) })
	return out
}

// Left gives the places of the stops that no crew makes.
func Left(stops []Stop, crews []Crew) []int {
	made := make([]bool, len(stops))
	for _, c := range crews {
		for _, call := range c.Calls {
			made[call.Stop] = true
		}
	}
	var out []int
	for i := range stops {
		if !made[i] {
			out = append(out, i)
		}
	}
	return out
}

// Stops makes the stops of a queue. Visits without coordinates cannot be planned and
// are not among them.
func Stops(visits []rank.Visit) []Stop {
	var out []Stop
	for _, v := range visits {
		if v.Latitude.OK && v.Longitude.OK {
			out = append(out, Stop{Name: v.Name, At: Point{v.Latitude.V, v.Longitude.V}, Value: v.Priority * v.Minutes, Minutes: v.Minutes})
		}
	}
	return out
}

// earthM is the mean radius in metres.
const earthM = 6_371_008.8

// Metres between two places along the great circle (haversine).
func Metres(a, b Point) float64 {
	const rad = math.Pi / 180
	dLat, dLon := (b.Lat-a.Lat)*rad, (b.Lon-a.Lon)*rad
	sLat, sLon := math.Sin(dLat/2), math.Sin(dLon/2)
	h := float64(sLat*sLat) + float64(math.Cos(a.Lat*rad)*math.Cos(b.Lat*rad)*sLon)*sLon
	return 2 * earthM * math.Asin(math.Sqrt(min(1, h)))
}

// drive is the time between two places in minutes.
func (o Options) drive(a, b Point, parks bool) float64 {
	m := Metres(a, b)
	if m <= SharedParkingM {
		return 0
	}
	minutes := m * o.Detour / (o.SpeedKMH * 1000 / 60)
	if parks && o.ParkingMinutes > 0 {
		minutes += o.ParkingMinutes
	}
	return minutes
}

func onEarth(p Point) bool { return math.Abs(p.Lat) <= 90 && math.Abs(p.Lon) <= 180 }

func usable(s Stop) bool {
	return s.Value > 0 && !math.IsInf(s.Value, 0) && s.Minutes >= 0 && !math.IsInf(s.Minutes, 0) && onEarth(s.At)
}
