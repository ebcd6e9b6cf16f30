package detect

import "math"

// Channel is something that a logger records and that has a daily swing.
type Channel uint8

// The channels.
const (
	SoilMoisture Channel = iota
	Temperature
	BatteryVoltage
	channels
)

// String names the channel.
func (c Channel) String() string {
	return [...]string{"soil moisture", "temperature", "battery voltage"}[c]
}

// Swing is the daily swing of one UTC day: the hour at which its first harmonic is
// highest, a trend over the day taken out.
type Swing struct {
	Day   int32   // since 1970
	Hour  float32 // UTC, 0 to 24
	Error float32 // standard error, h
	Size  float32 // amplitude, in the channel's unit; of soil moisture in wetness
}

// Swings are a probe's daily swings by channel: one a day that has a clear one,
// sorted.
type Swings [channels][]Swing

const (
	// swingCovered is the share of a day's readings that a swing is taken from.
	swingCovered = 0.75
	// swingError is the largest error at which a swing counts, in hours: the swing is
	// then three of its errors high, which noise alone is on one day in a hundred
	// (derived: exp(-(12/pi/1.25)^2/2)).
	swingError = 1.25
)

// wave has the cosine and the sine of each minute of the day.
var wave = func() (w [24 * 60][2]float64) {
	for i := range w {
		w[i][1], w[i][0] = math.Sincos(2 * math.Pi * float64(i) / float64(len(w)))
	}
	return w
}()

// swings takes the daily swings of what a probe's port recorded.
func (s *Shared) swings() (out Swings) {
	t := s.series.Time
	cadence := s.Cadence()
	if len(t) == 0 || cadence <= 0 || cadence > 4*Hour { // a sine needs more than four points beside its trend
		return out
	}
	least := max(8, int(swingCovered*float64(Day)/float64(cadence)))
	own := SoilMoisture
	values := s.series.Value
	switch {
	case s.probe.TellsWater():
		values = s.Wetness()
	case s.probe.Quantity == Celsius:
		own = Temperature
	default:
		values = nil
	}
	limits := s.probe.Limits()
	s.days = s.days[:0]
	for i := 0; i < len(t); {
		day := floorDay(t[i])
		s.days = append(s.days, harmonics{day: day})
		fits := &s.days[len(s.days)-1].of
		j := i
		for ; j < len(t) && floorDay(t[j]) == day; j++ {
			at := wave[(t[j]-day*Day+Minute/2)/Minute%int64(len(wave))]
			x := float64(t[j]-day*Day)/float64(Day) - 0.5
			if values != nil && !limits.Outside(s.series.Value[j]) {
				fits[own].add(x, at, values[j])
			}
			if s.series.Temperature != nil && own != Temperature {
				if v := float64(s.series.Temperature[j]); v == v {
					fits[Temperature].add(x, at, v)
				}
			}
			if s.series.Battery != nil {
				if v := float64(s.series.Battery[j]); v == v {
					fits[BatteryVoltage].add(x, at, v)
				}
			}
		}
		for c := range fits {
			fits[c].solve(least)
		}
		i = j
	}
	for c := range channels {
		for i := range s.days {
			f := &s.days[i].of[c]
			if !f.ok {
				continue
			}
			if hour, err, ok := f.phase(s.trend(i, c)); ok && err <= swingError {
				out[c] = append(out[c], Swing{Day: int32(s.days[i].day), Hour: float32(hour), Error: float32(err), Size: float32(f.size)})
			}
		}
	}
	return out
}

// trend is how fast the level of a channel goes, a day, by the days around: a trend
// fitted within the day would take a part of the swing with it.
func (s *Shared) trend(i int, c Channel) float64 {
	from, to := i, i
	if i > 0 && s.days[i-1].of[c].ok && s.days[i-1].day == s.days[i].day-1 {
		from--
	}
	if i+1 < len(s.days) && s.days[i+1].of[c].ok && s.days[i+1].day == s.days[i].day+1 {
		to++
	}
	if from == to {
		return 0
	}
	return (s.days[to].of[c].level - s.days[from].of[c].level) / float64(to-from)
}

// harmonics are one day's fits.
type harmonics struct {
	day int64
	of  [channels]harmonic
}

// harmonic fits a level and a sine to one day by least squares.
type harmonic struct {
	n, base float64
	a       [3][3]float64 // normal equations: level, cosine, sine
	b, x    [3]float64    // of the values, and of a trend of one a day
	yy, xy  float64
	xx      float64
	inv     [3][3]float64
	level   float64
	size    float64 // amplitude, once phase has found it
	ok      bool
}

func (f *harmonic) add(x float64, at [2]float64, y float64) {
	if f.n == 0 {
		f.base = y // small numbers keep their digits
	}
	y -= f.base
	c, s := at[0], at[1]
	f.n++
	f.a[0][1] += c
	f.a[0][2] += s
	f.a[1][1] += c * c
	f.a[1][2] += c * s
	f.a[2][2] += s * s
	f.b[0] += y
	f.b[1] += c * y
	f.b[2] += s * y
	f.x[0] += x
	f.x[1] += c * x
	f.x[2] += s * x
	f.yy += y * y
	f.xy += x * y
	f.xx += x * x
}

// solve finds the level of a day of so many readings at least.
func (f *harmonic) solve(least int) {
	if int(f.n) < least {
		return
	}
	f.a[0][0] = f.n
	for i := range f.a {
		for j := range i {
			f.a[i][j] = f.a[j][i]
		}
	}
	if f.inv, f.ok = inverted(f.a); f.ok {
		f.level = f.base + f.inv[0][0]*f.b[0] + f.inv[0][1]*f.b[1] + f.inv[0][2]*f.b[2]
	}
}

// phase is the hour at which the sine is highest once a trend is taken out, and its
// standard error in hours. It is not ok where the day never moves.
func (f *harmonic) phase(trend float64) (hour, stderr float64, ok bool) {
	var beta [3]float64
	rss := f.yy - 2*trend*f.xy + trend*trend*f.xx
	for i := range beta {
		for j := range f.b {
			beta[i] += f.inv[i][j] * (f.b[j] - trend*f.x[j])
		}
		rss -= beta[i] * (f.b[i] - trend*f.x[i])
	}
	c, s := beta[1], beta[2]
	size := math.Hypot(c, s)
	f.size = size
	if f.n <= 4 || size <= 1e-9*(1+math.Abs(f.base)) {
		return 0, 0, false
	}
	variance := max(0, rss) / (f.n - 4) * (s*s*f.inv[1][1] - 2*s*c*f.inv[1][2] + c*c*f.inv[2][2]) / (size * size)
	hour = math.Mod(math.Atan2(s, c)*12/math.Pi+24, 24)
	return hour, math.Sqrt(max(0, variance)) / size * 12 / math.Pi, true
}

// inverted inverts a symmetric positive matrix by elimination; not ok where it is
// near singular.
func inverted(m [3][3]float64) (inv [3][3]float64, ok bool) {
	for i := range inv {
		inv[i][i] = 1
	}
	for k := range m {
		p := m[k][k]
		if !(p > 1e-6) {
			return inv, false
		}
		for j := range m {
			m[k][j] /= p
			inv[k][j] /= p
		}
		for i := range m {
			if i == k {
				continue
			}
			f := m[i][k]
			for j := range m {
				m[i][j] -= f * m[k][j]
				inv[i][j] -= f * inv[k][j]
			}
		}
	}
	return inv, true
}
