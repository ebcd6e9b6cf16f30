package noise

import (
	"math"
	"math/rand/v2"
	"testing"

	"probeward/detectors/detecttest"
)

func TestDetector(t *testing.T) { detecttest.Run(t, Detector) }

// drawn is the middle of the absolute second differences of normal noise of a deviation,
// rounded to whole counts or not, and the share of them that turn.
func drawn(r *rand.Rand, sigma, at float64, rounded bool) (middle, turns float64) {
	x := make([]float64, 20_000)
	for i := range x {
		x[i] = at + sigma*r.NormFloat64()
		if rounded {
			x[i] = math.Round(x[i])
		}
	}
	d := make([]float64, len(x)-2)
	for i := range d {
		d[i] = x[i] - 2*x[i+1] + x[i+2]
		if i > 0 && d[i]*d[i-1] < 0 {
			turns++
		}
	}
	for i := range d {
		d[i] = math.Abs(d[i])
	}
	return (&look{}).middle(d), turns / float64(len(d)-1)
}

// What white noise of one shows, and how often it turns: 0.657 sqrt(6), and
// arccos(-2/3)/pi = 0.732 (derived; here by drawing).
func TestWhiteNoise(t *testing.T) {
	median, turns := drawn(rand.New(rand.NewPCG(1, 2)), 1, 0, false)
	if math.Abs(median-middleOfSigma) > 0.05 {
		t.Errorf("white noise of one shows %.3f, want %.3f", median, middleOfSigma)
	}
	if want := math.Acos(-2.0/3) / math.Pi; math.Abs(turns-want) > 0.02 {
		t.Errorf("it turns %.3f times, want %.3f", turns, want)
	}
}

// counts claims that rounding alone shows at most one count while the noise is up to
// 0.3 of a count, wherever the level lies
// between two counts.
func TestRoundingShowsNoMoreThanCounts(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	most := 0.0
	for at := 0.0; at <= 0.5; at += 0.05 {
		for sigma := 0.02; sigma <= 0.3; sigma += 0.04 {
			median, _ := drawn(r, sigma, at, true)
			most = max(most, median)
		}
	}
	for _, p := range Detector.Params {
		if p.Name == "counts" && (most > p.Default || most < 0.8*p.Default) {
			t.Errorf("rounding shows up to %v counts, the parameter says %v", most, p.Default)
		}
	}
}
