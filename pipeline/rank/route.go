package rank

import (
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geo"

	"probeward/detectors/detect"
)

// Limits of the round: beyond opt2Stops the nearest neighbours stand as they are,
// and opt2Passes ends the shortening of a round that still gains a little.
const (
	opt2Stops  = 1500
	opt2Passes = 60
)

// route numbers the visits that have coordinates in the order of a round. Visits
// come ranked; equal distances go to the better rank. Distances are great circles
// on the sphere of geo, whose radius of 6378.137 km makes all of them 0.1 % longer
// than the mean radius would: an order does not feel it.
func route(visits []Visit) {
	var who []int
	var at []orb.Point
	for i, v := range visits {
		if v.Latitude.OK && v.Longitude.OK {
			who = append(who, i)
			at = append(at, orb.Point{v.Longitude.V, v.Latitude.V})
		}
	}
	round := nearest(at)
	if len(round) <= opt2Stops {
		shorten(round, at)
	}
	for n, k := range round {
		visits[who[k]].RouteOrder = detect.Some(n + 1)
	}
}

// nearest starts at point 0 and always goes on to the nearest that is left.
func nearest(at []orb.Point) []int {
	if len(at) == 0 {
		return nil
	}
	round := make([]int, len(at))
	for i := range round {
		round[i] = i
	}
	for n := 0; n+1 < len(round); n++ {
		best, far := n+1, geo.DistanceHaversine(at[round[n]], at[round[n+1]])
		for k := n + 2; k < len(round); k++ {
			d := geo.DistanceHaversine(at[round[n]], at[round[k]])
			if d < far || d == far && round[k] < round[best] {
				best, far = k, d
			}
		}
		round[n+1], round[best] = round[best], round[n+1]
	}
	return round
}

// shorten reverses stretches of the round while that shortens it: 2-opt of an open
// path whose first stop stays.
func shorten(round []int, at []orb.Point) {
	n := len(round)
	d := func(i, j int) float64 { return geo.DistanceHaversine(at[round[i]], at[round[j]]) }
	const least = 0.01 // metres: below it, rounding would never end
	for range opt2Passes {
		gained := false
		for i := 0; i+2 < n; i++ {
			for j := i + 2; j < n; j++ {
				before, after := d(i, i+1), d(i, j)
				if j+1 < n {
					before += d(j, j+1)
					after += d(i+1, j+1)
				}
				if after < before-least {
					for a, b := i+1, j; a < b; a, b = a+1, b-1 {
						round[a], round[b] = round[b], round[a]
					}
					gained = true
				}
			}
		}
		if !gained {
			return
		}
	}
}
