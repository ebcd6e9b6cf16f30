package simulate

import (
	"math"
	"time"
)

// cropFactor is Kc of wine grapes over the season, after FAO-56 table 12 (0.30,
// 0.70, 0.45) with stages as in its table 11.
func cropFactor(yearDay int) float64 {
	switch d := float64(yearDay); {
	case d < 95:
		return 0.30
	case d < 160:
		return 0.30 + float64(0.40*(d-95)/65)
	case d < 240:
		return 0.70
	case d < 300:
		return 0.70 - float64(0.25*(d-240)/60)
	default:
		return 0.45
	}
}

// water lays a zone's schedule: every few days it gives back a share of what
// the vines used since, less the rain. Only a real storm puts one off.
func (v *Vineyard) water(zone int) {
	const leastMM, mostMM, stormMM = 4.0, 20.0, 8.0
	z := &v.Zones[zone]
	r := stream(v.options.Seed, forZone, 1000+zone)
	farm := local()
	day := v.Start.Add(-10 * 24 * time.Hour).Add(time.Duration(between(r, 0, 24*z.EveryDays)) * time.Hour)
	owed, from := 0.0, v.sky.hour(day.Add(-4*24*time.Hour))
	for day.Before(v.Until) {
		y, m, d := day.In(farm).Date()
		open := time.Date(y, m, d, 0, 0, 0, 0, farm).Add(time.Duration(z.OpensAt*60) * time.Minute)
		open = open.Add(time.Duration(r.IntN(20)) * time.Minute).UTC()
		to := min(v.sky.hour(open), len(v.sky.et0))
		lately := 0.0
		for h := from; h < to; h++ {
			owed += float64(v.sky.et0[h]*cropFactor(open.YearDay())) - float64(0.4*v.sky.rain[h])
			if h >= to-48 {
				lately += v.sky.rain[h]
			}
		}
		from, owed = to, max(0, owed)
		if lately < stormMM && z.Replaced*owed > leastMM/3 { // in winter the rain does it
			depth := min(mostMM, max(leastMM, z.Replaced*owed))
			length := time.Duration(60*depth/z.RateMMPerHour) * time.Minute
			depth = math.Round(10*z.RateMMPerHour*length.Hours()) / 10
			if open.Add(length).Before(v.Until) {
				z.Waterings = append(z.Waterings, Watering{Start: open, End: open.Add(length), DepthMM: depth, Logged: true, Delivered: true})
			}
			owed = 0
		}
		gap := min(6.9, max(3, z.EveryDays+float64(0.6*r.NormFloat64())))
		day = day.Add(time.Duration(24*gap) * time.Hour)
	}
}

// supply is the water at a zone's emitters in mm over its area and column step,
// from the spin-up on. faultless gives the schedule as the log has it.
func (v *Vineyard) supply(zone int, faultless bool) []float64 {
	out := make([]float64, v.steps())
	z := v.Zones[zone]
	origin := v.Start.Add(-spinUp)
	for _, w := range z.Waterings {
		if faultless && !w.Logged || !faultless && !w.Delivered {
			continue
		}
		length := w.End.Sub(w.Start)
		first, last := int(w.Start.Sub(origin)/columnStep), int(w.End.Sub(origin)/columnStep)
		for s := max(0, first); s <= last && s < len(out); s++ {
			from := origin.Add(time.Duration(s) * columnStep)
			to := from.Add(columnStep)
			came := 1.0
			if !faultless {
				came -= w.Lost
			}
			if from.Before(w.Start) {
				from = w.Start
			}
			if to.After(w.End) {
				to = w.End
			}
			if to.After(from) {
				out[s] += came * w.DepthMM * float64(to.Sub(from)) / float64(length)
			}
		}
	}
	return out
}

func (v *Vineyard) steps() int { return int(v.Until.Add(spinUp).Sub(v.Start) / columnStep) }
