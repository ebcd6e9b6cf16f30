package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"probeward/pipeline"
)

// The bounds of a shift that can be meant: beyond them a unit was mistaken.
const (
	longestShift  = 24 * time.Hour
	mostCrews     = 50
	greatestSpeed = 200 // km/h
)

// plan reads the flags of a working day; nil when none was asked for.
func (f *scanFlags) plan() (*pipeline.Shift, error) {
	if f.shift == "" {
		if f.start != "" || f.speed != 0 || f.crews != 1 {
			return nil, fmt.Errorf("--start, --crews and --speed are about a shift: say how long it is with --shift 8h")
		}
		return nil, nil
	}
	length, err := time.ParseDuration(f.shift)
	if err != nil || length <= 0 || length > longestShift {
		return nil, fmt.Errorf("--shift %q: write hours and minutes, like 8h or 7h30m, up to 24h", f.shift)
	}
	if f.start == "" {
		return nil, fmt.Errorf("--shift needs the place where the crews start: --start LAT,LON in degrees, like 41.374,-119.116")
	}
	lat, lon, err := place(f.start)
	if err != nil {
		return nil, fmt.Errorf("--start %q: %w", f.start, err)
	}
	if f.crews < 1 || f.crews > mostCrews {
		return nil, fmt.Errorf("--crews %d: from 1 to %d", f.crews, mostCrews)
	}
	if f.speed < 0 || f.speed > greatestSpeed || math.IsNaN(f.speed) {
		return nil, fmt.Errorf("--speed %g: km/h, above 0 and up to %d; leave it out for the usual speed on farm tracks", f.speed, greatestSpeed)
	}
	return &pipeline.Shift{Length: length, Crews: f.crews, Latitude: lat, Longitude: lon, SpeedKMH: f.speed}, nil
}

// place reads a latitude and a longitude in degrees.
func place(text string) (lat, lon float64, err error) {
	parts := strings.Split(text, ",")
	if len(parts) != 2 {
		return 0, 0, fmt.Errorf("write latitude, a comma and longitude in degrees with points, like 41.374,-119.116")
	}
	for _, p := range []struct {
		name, text string
		most       float64
		to         *float64
	}{{"latitude", parts[0], 90, &lat}, {"longitude", parts[1], 180, &lon}} {
		v, err := strconv.ParseFloat(strings.TrimSpace(p.text), 64)
		if err != nil || math.IsNaN(v) || math.Abs(v) > p.most {
			return 0, 0, fmt.Errorf("the %s is from -%g to %g degrees, latitude first", p.name, p.most, p.most)
		}
		*p.to = v
	}
	return lat, lon, nil
}
