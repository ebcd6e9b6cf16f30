package simulate

import (
	"math"
	"time"
)

// spinUp is how long the soil is let run before the first reading, so that
// nothing in the record remembers how it was filled.
const spinUp = 28 * 24 * time.Hour

// The invented place.
const (
	farmLatitude  = 41.372
	farmLongitude = -119.118
)

// climate is hourly weather from start on.
type climate struct {
	start                           time.Time
	rain, air, rh, wind, solar, et0 []float64 // mm, degC, %, m/s, W/m2, mm
	amplitude                       []float64 // half the day's range, degC, per hour
	crop                            []float64 // Kc of the vines
}

func (c *climate) hour(t time.Time) int { return int(t.Sub(c.start) / time.Hour) }

// newClimate draws the weather of the record and of the spin-up before it.
func newClimate(o Options) climate {
	r := stream(o.Seed, forWeather, 0)
	start := o.Start.Add(-spinUp)
	days := int(o.until().Sub(start)/(24*time.Hour)) + 2
	hours := 24 * days
	c := climate{start: start}
	for _, s := range []*[]float64{&c.rain, &c.air, &c.rh, &c.wind, &c.solar, &c.et0, &c.amplitude, &c.crop} {
		*s = make([]float64, hours)
	}
	c.drawRain(r.Float64, days)

	anomaly := 0.0
	for d := range days {
		midnight := start.AddDate(0, 0, d)
		wet := 0.0
		for h := 24 * d; h < 24*d+24; h++ {
			wet += c.rain[h]
		}
		clear := between(r, 0.82, 1)
		if wet > 0.5 {
			clear = between(r, 0.3, 0.55)
		}
		anomaly = float64(0.72*anomaly) + float64(1.9*r.NormFloat64())
		mean := seasonalMean(midnight.YearDay()) + anomaly - 3*(1-clear)
		half := (3.2 + float64(4.6*clear)) * around(r, 0.08)
		gust := between(r, 0.8, 2.6)

		sun := daySun(farmLatitude, midnight.YearDay())
		// Hargreaves (FAO-56 eq. 52): 0.0023 (T + 17.8) sqrt(range) Ra in mm.
		daily := 0.0023 * max(0, mean+17.8) * math.Sqrt(2*half) * sun.total * (0.35 + float64(0.65*clear))
		for h := 24 * d; h < 24*d+24; h++ {
			t := solarHour(start.Add(time.Duration(h) * time.Hour).Add(30 * time.Minute))
			light := sun.share(t)
			c.air[h] = mean + float64(half*math.Cos(2*math.Pi*(t-15)/24)) + float64(0.25*r.NormFloat64())
			c.amplitude[h] = half
			c.crop[h] = cropFactor(midnight.YearDay())
			c.solar[h] = light * clear * 0.75 * sun.total * 2.45e6 / 3600
			c.et0[h] = light * daily
			c.rh[h] = min(99, max(12, 62-float64(2.6*(c.air[h]-mean))+float64(25*(1-clear))))
			c.wind[h] = max(0.1, gust*(1+float64(0.5*math.Cos(2*math.Pi*(t-16)/24)))+float64(0.2*r.NormFloat64()))
		}
	}
	return c
}

// drawRain lays a few storms, frequent in spring and rare in summer, and at
// least two in the record so that there is one to look at.
func (c *climate) drawRain(uniform func() float64, days int) {
	storm := func(day int) {
		first := 24*day + int(24*uniform())
		length := 3 + int(8*uniform())
		total := 4 + 20*uniform()*uniform()
		for h := first; h < first+length && h < len(c.rain); h++ {
			x := (float64(h-first) + 0.5) / float64(length)
			c.rain[h] += math.Round(10*total*6*x*(1-x)/float64(length)) / 10
		}
	}
	lead := int(spinUp / (24 * time.Hour))
	for d := 0; d < days; d++ {
		yearDay := c.start.AddDate(0, 0, d).YearDay()
		season := max(0, math.Cos(2*math.Pi*float64(yearDay-30)/365))
		perDay := 0.02 + float64(0.13*season*season) + 0.2*math.Pow(season, 8) // in winter the storms come in rows
		if uniform() < perDay {
			storm(d)
		}
	}
	record := days - lead
	storm(lead + record/4 + int(3*uniform()))
	storm(lead + 2*record/3 + int(3*uniform()))
}

func seasonalMean(yearDay int) float64 {
	return 12.5 + float64(9.5*math.Cos(2*math.Pi*float64(yearDay-203)/365))
}

// solarHour is the hour of the sun at the farm, 0 to 24.
func solarHour(t time.Time) float64 {
	t = t.UTC()
	h := float64(t.Hour()) + float64(t.Minute())/60 + farmLongitude/15
	return math.Mod(h+24, 24)
}

// sunlight is one day's radiation above the air.
type sunlight struct {
	total    float64 // mm of water that it would evaporate
	weights  float64
	declined float64
	latitude float64
}

// daySun follows the sun's path: Duffie & Beckman's declination (23.45 deg, from
// memory) and an hourly sum in place of the closed integral.
func daySun(latitude float64, yearDay int) sunlight {
	s := sunlight{latitude: latitude * math.Pi / 180}
	s.declined = 23.45 * math.Pi / 180 * math.Sin(2*math.Pi*float64(284+yearDay)/365)
	for h := range 24 {
		s.weights += s.height(float64(h) + 0.5)
	}
	distance := 1 + float64(0.033*math.Cos(2*math.Pi*float64(yearDay)/365))
	s.total = 1367 * distance * s.weights * 3600 / 2.45e6
	return s
}

// height is the sine of the sun above the horizon, 0 below it.
func (s sunlight) height(hour float64) float64 {
	angle := (hour - 12) * math.Pi / 12
	return max(0, float64(math.Sin(s.latitude)*math.Sin(s.declined))+float64(math.Cos(s.latitude)*math.Cos(s.declined)*math.Cos(angle)))
}

// share is the part of the day's light that falls in the hour around this one.
func (s sunlight) share(hour float64) float64 {
	if s.weights == 0 {
		return 1.0 / 24
	}
	return s.height(hour) / s.weights
}

// soilTemperature gives the soil at a depth in cm, one value an hour from the
// climate's start: the air smoothed and late with depth, and what is left of
// the daily swing there. swing multiplies that swing.
func (c *climate) soilTemperature(depthCM int, swing float64) []float64 {
	z := float64(depthCM)
	const damping = 13.0 // cm, of a daily wave in moist soil (common practice, no source)
	tau := 18 + float64(0.9*z) + float64(0.03*z*z)
	keep := math.Exp(-1 / tau)
	out := make([]float64, len(c.air))
	level := seasonalMean(c.start.YearDay()) + 1
	for h := range out {
		level = float64(keep*level) + float64((1-keep)*(c.air[h]+1.5))
		t := solarHour(c.start.Add(time.Duration(h) * time.Hour))
		wave := math.Cos(2*math.Pi*(t-14)/24 - z/damping)
		out[h] = level + float64(1.1*swing*c.amplitude[h]*math.Exp(-z/damping)*wave)
	}
	return out
}
