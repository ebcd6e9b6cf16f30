package wrongkind

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
)

// thermistorB is the constant of a usual thermistor, in kelvin (common practice, no
// source: 3400 to 4200 K). A block's resistance changes half as much with heat.
const thermistorB = 3950

// degrees gives what a reading would be as a temperature: the exported number itself,
// or, of ohms, that of a thermistor, up to a constant.
func (l *look) degrees(v float64) float64 {
	if l.p.Quantity() != detect.Ohms {
		return l.p.Exported(v)
	}
	return 1/(1/298.15+math.Log(math.Max(v, 1)/10_000)/thermistorB) - 273.15
}

// heat is how a series goes with the soil temperature beside it.
type heat struct {
	days        int
	correlation float64 // within the days
	slope       float64 // degrees a degree, within the days
	swing       float64 // the lesser of the two mean swings, degC
	level       float64 // median distance of the days' means, degC
	drift       float64 // how far that distance wanders, degC, either way
	spread      float64 // of the days' mean soil temperatures, as standard deviation
	follows     float64 // correlation of the days' means
	rate        float64 // degrees a degree, of the days' means
}

// warmth holds the whole series against the soil temperature, within the days and
// from day to day.
func (l *look) warmth() (h heat) {
	temp := l.p.Temperature()
	var inV, inT sums // the swings within the days
	var means sums
	level, offsets := 0.0, [2]float64{math.Inf(1), math.Inf(-1)}
	for i := 0; i < len(l.v); {
		j, sumV, sumT, k := i, 0.0, 0.0, 0
		for ; j < len(l.v) && l.t[j]-l.t[i] < detect.Day; j++ {
			if x := float64(temp[j]); x == x {
				sumV, sumT, k = sumV+l.degrees(l.v[j]), sumT+x, k+1
			}
		}
		if k >= 8 {
			h.days++
			meanV, meanT := sumV/float64(k), sumT/float64(k)
			apart := meanV - meanT
			level += math.Abs(apart)
			offsets = [2]float64{min(offsets[0], apart), max(offsets[1], apart)}
			means.add(meanT, meanV)
			for m := i; m < j; m++ {
				if x := float64(temp[m]); x == x {
					a, b := l.degrees(l.v[m])-meanV, x-meanT
					inV.xy += a * b
					inV.xx += a * a
					inT.xx += b * b
					inV.n++
				}
			}
		}
		i = j
	}
	if h.days == 0 || inV.xx == 0 || inT.xx == 0 {
		return heat{}
	}
	h.correlation, h.slope = inV.xy/math.Sqrt(inV.xx*inT.xx), math.Sqrt(inV.xx/inT.xx)
	h.swing = math.Sqrt(min(inV.xx, inT.xx) / inV.n)
	h.level, h.drift = level/float64(h.days), (offsets[1]-offsets[0])/2
	h.spread, h.follows, h.rate = means.correlate()
	return h
}

// sums of pairs.
type sums struct{ n, x, y, xx, xy, yy float64 }

func (s *sums) add(x, y float64) {
	s.n, s.x, s.y = s.n+1, s.x+x, s.y+y
	s.xx, s.xy, s.yy = s.xx+x*x, s.xy+x*y, s.yy+y*y
}

// correlate gives the standard deviation of x, the correlation, and the regression
// of y on x.
func (s *sums) correlate() (deviation, correlation, slope float64) {
	xx, yy, xy := s.xx/s.n-s.x*s.x/s.n/s.n, s.yy/s.n-s.y*s.y/s.n/s.n, s.xy/s.n-s.x*s.y/s.n/s.n
	if xx <= 0 || yy <= 0 {
		return 0, 0, 0
	}
	return math.Sqrt(xx), xy / math.Sqrt(xx*yy), xy / xx
}

// thermometer says whether the whole series is a temperature: whether it goes with
// the soil temperature beside it within the day, degree by degree, and from day to day.
func (l *look) thermometer() (detect.Finding, bool) {
	p := l.p
	if !p.Has(detect.NeedTemperature) {
		return detect.Finding{}, false
	}
	h := l.warmth()
	ohms := p.Quantity() == detect.Ohms
	switch {
	case h.days < int(p.Param("move_days")), h.correlation < p.Param("heat_correlation"),
		h.slope < 0.4, h.slope > 2.5, h.swing < p.Param("heat_swing"):
		return detect.Finding{}, false
	case h.drift > p.Param("heat_drift"), !ohms && h.level > p.Param("heat_level"):
		return detect.Finding{}, false
	case ohms && (h.spread < p.Param("heat_spread") || h.follows < 0.9 || h.rate < 0.7 || h.rate > 1.4):
		// Nothing tells the level of a thermistor, so it must follow the weather, too.
		return detect.Finding{}, false
	}
	l.measure(0)
	f := l.finding(0, "", 1)
	f.Confidence, f.Measured, f.Threshold, f.Unit = 0.9, h.correlation, p.Param("heat_correlation"), "1"
	as := fmt.Sprintf("its level is %.1f degC from it", h.level)
	if ohms {
		as = fmt.Sprintf("as a thermistor of %.0f K does, and from day to day by %.2f degrees a degree", float64(thermistorB), h.rate)
	} else {
		f.Amends = []detect.Amend{{Probe: p.Place(), Column: "kind", Value: string(detect.SoilTemperature)}, {Probe: p.Place(), Column: "unit", Value: "degC"}}
	}
	f.Evidence = fmt.Sprintf("registered as %s in %s, and it reads a temperature: within the day it goes with the soil temperature beside it, %.2f degrees a degree with a correlation of %.2f over %d days, and %s",
		p.Kind(), p.Unit(), h.slope, h.correlation, h.days, as)
	return f, true
}
