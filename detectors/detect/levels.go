package detect

// LevelStep is the length of the blocks of Levels: as long as the smoothing of the
// series they are taken from, so that a block holds about one independent value.
const LevelStep = wateredSmooth

// Levels are the means of a smoothed series, in wetness, by blocks of LevelStep that
// lie alike for all probes of a run. A block without a reading has none.
type Levels struct {
	From int64 // start of the first block
	At   []Maybe[float32]
}

// levels gives the blocks from the series' first reading to its last. Impossible
// values are no levels.
func (s *studied) levels() Levels {
	from := s.t[0] - ((s.t[0]%LevelStep)+LevelStep)%LevelStep
	out := Levels{From: from, At: make([]Maybe[float32], (s.t[len(s.t)-1]-from)/LevelStep+1)}
	limits := s.probe.Limits()
	for i := 0; i < len(s.t); {
		k := (s.t[i] - from) / LevelStep
		sum, n := 0.0, 0
		for ; i < len(s.t) && (s.t[i]-from)/LevelStep == k; i++ {
			if !limits.Outside(s.series.Value[i]) {
				sum += s.w[i]
				n++
			}
		}
		if n > 0 {
			out.At[k] = Some(float32(sum / float64(n)))
		}
	}
	return out
}

// Level is that of the block that begins at an instant.
func (l *Levels) Level(t int64) (float64, bool) {
	if t < l.From {
		return 0, false
	}
	k := (t - l.From) / LevelStep
	if k >= int64(len(l.At)) || !l.At[k].OK {
		return 0, false
	}
	return float64(l.At[k].V), true
}

// Lift is how far the level rose at most from the block that begins at t to one that
// ends by until, less what it rose in the same time a day earlier. Water that came
// before is answered by ever less a day, and the swing of the day comes again, so that
// neither lifts a probe. It is not ok where most of either time was not heard.
func (l *Levels) Lift(t, until int64) (float64, bool) {
	now, ok := l.Climb(t, until)
	before, was := l.Climb(t-Day, until-Day)
	return now - before, ok && was
}

// Climb is the largest rise above the level of the block at t in blocks that end by
// until, at least 0. It is not ok where a third of them or more was not heard.
func (l *Levels) Climb(t, until int64) (float64, bool) {
	base, ok := l.Level(t)
	if !ok {
		return 0, false
	}
	most, heard, of := 0.0, 0, 0
	for at := t + LevelStep; at+LevelStep <= until; at += LevelStep {
		of++
		if v, ok := l.Level(at); ok {
			heard++
			most = max(most, v-base)
		}
	}
	return most, of > 0 && 3*heard >= 2*of
}
