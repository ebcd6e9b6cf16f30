package peer

import (
	"slices"
	"testing"

	"probeward/detectors/detect"
	"probeward/pipeline/score"
	"probeward/schemas"
)

// The worked examples of the manual's definitions (IOOS QARTOD, from memory).
func TestTestsByTheirDefinitions(t *testing.T) {
	hourly := func(n int) (out []int64) {
		for i := range n {
			out = append(out, int64(i)*detect.Hour)
		}
		return out
	}
	flat := []float64{5, 5, 5, 5, 5, 5, 6}
	step := append(slices.Repeat([]float64{10, 10.2}, 10), 14)
	for name, c := range map[string]struct {
		test   func(*Setting, []float64, []schemas.Flag)
		set    Setting
		values []float64
		want   []schemas.Flag
	}{
		"gross range: span 0-250, operator 2-200": {grossRange, Setting{SensorHigh: 250, OperatorLow: 2, OperatorHigh: 200}, []float64{260, 215, 100, 1, -1}, []schemas.Flag{4, 3, 1, 3, 4}},
		"spike: only the middle":                  {spike, Setting{SpikeLow: 3, SpikeHigh: 5}, []float64{20, 20, 26, 20, 20}, []schemas.Flag{1, 1, 4, 1, 1}},
		"spike: the known smear":                  {spike, Setting{SpikeLow: 2, SpikeHigh: 5}, []float64{20, 20, 26, 20, 20}, []schemas.Flag{1, 3, 4, 3, 1}},
		"flat line: equal to the 3 and 5 before":  {flatLine, Setting{Epsilon: 0.1, FlatSuspect: 3, FlatFail: 5}, flat, []schemas.Flag{1, 1, 1, 3, 3, 4, 1}},
		"rate of change: a step after calm": {func(s *Setting, v []float64, f []schemas.Flag) { rateOfChange(s, hourly(len(v)), v, f) },
			Setting{Deviations: 3, Over: 25 * detect.Hour}, step, append(slices.Repeat([]schemas.Flag{1}, 20), 3)},
	} {
		got := make([]schemas.Flag, len(c.values))
		c.test(&c.set, c.values, got)
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// A step inflates the deviation of the very window that it is in: with n-1 equal
// readings and one that is h away the deviation is h/sqrt(n), and three of them are
// less than h only from n = 10 on (derived).
func TestRateOfChangeNeedsMoreThanNineReadings(t *testing.T) {
	for n, want := range map[int]schemas.Flag{9: 1, 10: 3} {
		values := append(slices.Repeat([]float64{7}, n-1), 9)
		times := make([]int64, n)
		for i := range times {
			times[i] = int64(i) * detect.Hour
		}
		flags := make([]schemas.Flag, n)
		rateOfChange(&Setting{Deviations: 3, Over: 25 * detect.Hour}, times, values, flags)
		if flags[n-1] != want {
			t.Errorf("of %d readings the step has flag %d, want %d", n, flags[n-1], want)
		}
	}
}

func TestFindingsOfAFailedReading(t *testing.T) {
	day := detect.Day
	of := &score.Run{Window: detect.Span{Start: 0, End: 7 * day},
		Probes:   map[string]*score.Probe{"a": {Name: "a", Unit: "kPa", Received: 6}, "b": {Name: "b", Unit: "count"}},
		Readings: map[string]score.Readings{"a": {Time: []int64{-day / 2, day, 2*day - 1, 4 * day, 5 * day, 6 * day}, Value: []float64{-9, -9, -9, 20, 21, 239.5}}}}
	r := Run(of, true)
	if p := r.Probes["a"]; p.Verdict != schemas.Unfit || p.MainFault != "gross range" {
		t.Errorf("verdict %s, main fault %q", p.Verdict, p.MainFault)
	}
	if p := r.Probes["b"]; p.Verdict != schemas.Unknown {
		t.Errorf("without a setting for its unit a probe is %s, want unknown", p.Verdict)
	}
	var gross []score.Finding
	for _, f := range r.Findings {
		if f.Fault == "gross range" {
			gross = append(gross, f)
		}
	}
	if len(gross) != 2 || gross[0].Start != day || gross[0].End != 2*day || gross[1].Start != 6*day {
		t.Errorf("findings %+v: want one from day 1 to day 2 and one on day 6, and none before the window", gross)
	}
	if n := len(r.Exclusions["a"]); n < 4 {
		t.Errorf("%d readings left out, want the 4 out of range at least", n)
	}
}
