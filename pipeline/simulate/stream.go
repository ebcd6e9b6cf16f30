package simulate

import (
	"math"
	"math/rand/v2"
)

// purpose keeps random streams apart: what is drawn for one purpose never moves
// what is drawn for another.
type purpose uint64

const (
	forWeather purpose = iota + 1
	forZone
	forPost
	forPosition
	forProbe
	forNoise
	forFault
	forTelemetry
	forChoice
)

// stream is the generator of one purpose and index under a seed.
func stream(seed uint64, p purpose, index int) *rand.Rand {
	return rand.New(rand.NewPCG(scatter(seed^uint64(p)<<48), scatter(uint64(index)<<8|uint64(p))))
}

// scatter spreads near numbers far apart (the finaliser of splitmix64, Steele,
// Lea & Flood 2014), so that seeds 1 and 2 share no visible pattern.
func scatter(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// between draws evenly from [lo, hi).
func between(r *rand.Rand, lo, hi float64) float64 { return lo + float64((hi-lo)*r.Float64()) }

// around draws a positive factor whose logarithm has this spread.
func around(r *rand.Rand, sigma float64) float64 { return math.Exp(sigma * r.NormFloat64()) }
