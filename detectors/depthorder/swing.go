package depthorder

import (
	"math"

	"probeward/detectors/detect"
)

// calm says whether no water of the zone and no rain touches a day or the half day
// before it. Water that comes at the same hour of many days makes a swing of its own,
// and a deep probe that it reaches along a cable has it first; heat and uptake go on
// every day.
func (l *look) calm(start int64) bool {
	if calm, known := l.calms[start]; known {
		return calm
	}
	day := detect.Span{Start: start - detect.Day/2, End: start + detect.Day}
	calm := true
	for _, w := range l.p.Irrigation() {
		calm = calm && w.Overlap(day).Length() == 0
	}
	for _, r := range l.p.Rain() {
		calm = calm && (r.Overlap(day).Length() == 0 || r.MM.OK && r.MM.V < wetting)
	}
	l.calms[start] = calm
	return calm
}

// wetting is the rain, in mm, that the canopy and the mulch do not hold (common
// practice, no source).
const wetting = 2.0

// beat is how a probe swings on calm days.
type beat struct {
	days  int     // with a clear swing
	hour  float64 // at which it is highest
	unity float64 // length of the mean of unit vectors: 1 where all days agree
	size  float64 // mean amplitude in wetness; days without a clear one count as none
}

func (l *look) beat(m *member) (b beat) {
	var c, s, size float64
	all := 0
	for _, d := range m.days {
		if l.calm(d.Start) {
			all++
		}
	}
	for _, x := range m.Swings[detect.SoilMoisture] {
		if !l.calm(int64(x.Day) * detect.Day) {
			continue
		}
		sin, cos := math.Sincos(float64(x.Hour) * math.Pi / 12)
		c, s = c+cos, s+sin
		size += float64(x.Size)
		b.days++
	}
	b.hour = math.Atan2(s, c) * 12 / math.Pi
	b.unity = math.Hypot(c, s) / math.Max(1, float64(b.days))
	b.size = size / math.Max(1, float64(all))
	return b
}

// clear says whether the days agree on the hour better than chance: by Rayleigh's test
// n R^2 passes 5 in one of 150 series without any.
func (b beat) clear() bool { return b.days >= 8 && float64(b.days)*b.unity*b.unity >= 5 }

// early says whether the daily swing speaks for the wrong order: heat and uptake reach
// the deeper one later, and less of them. Either both swing at an hour of their own, the
// one that is registered deeper earlier and no less; or it swings alone, where the other
// one has readings on as many days.
func (l *look) early(u, d *member) bool {
	a, b := l.beat(u), l.beat(d)
	if !b.clear() || 2*len(u.days) < len(d.days) {
		return false
	}
	if a.clear() {
		return b.size >= a.size && math.Remainder(a.hour-b.hour, 24) >= l.p.Param("phase_hours")
	}
	const none = 1e-4 // of wetness: what a swing that no day shows clearly may be
	return float64(b.days) >= l.p.Param("phase_days")*float64(a.days) && b.size+none >= l.p.Param("swing_ratio")*(a.size+none)
}
