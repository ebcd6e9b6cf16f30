package gap

import (
	"math"
	"testing"

	"probeward/detectors/detect"
)

// What is due follows from when the register has the probe at a port.
func TestWirings(t *testing.T) {
	const start = 20_000 * detect.Day
	period := detect.Period{Lookback: start, Window: detect.Span{Start: start + 56*detect.Day, End: start + 63*detect.Day}}
	values := func(from, to int64) (out []int64) {
		for at := start + from*detect.Hour; at < start+to*detect.Hour; at += detect.Hour {
			out = append(out, at)
		}
		return out
	}
	wired := func(from, to int64) detect.Wiring {
		w := detect.Wiring{Logger: "L1", Port: "1", Span: detect.Span{Start: math.MinInt64, End: math.MaxInt64}}
		if from >= 0 {
			w.Start = start + from*detect.Day
		}
		if to >= 0 {
			w.End = start + to*detect.Day
		}
		return w
	}
	const days = 24
	for _, c := range []struct {
		name    string
		wirings []detect.Wiring
		time    []int64
		blank   []int64
		want    detect.State
		from    int64 // hours into the period, of the finding
	}{
		{"taken out after four weeks", []detect.Wiring{wired(-1, 28)}, values(0, 28*days-5), nil, detect.Clear, 0},
		{"put in after four weeks", []detect.Wiring{wired(28, -1)}, values(28*days+20, 63*days), nil, detect.Clear, 0},
		{"moved, with a day at the workshop", []detect.Wiring{wired(-1, 28), wired(28, -1)}, append(values(0, 28*days-9), values(28*days+16, 63*days)...), nil, detect.Clear, 0},
		{"moved, and a month on no logger", []detect.Wiring{wired(-1, 10), wired(40, -1)}, append(values(0, 10*days-3), values(40*days+7, 63*days)...), nil, detect.Clear, 0},
		{"moved, and never heard at the new port", []detect.Wiring{wired(-1, 28), wired(28, -1)}, values(0, 28*days), nil, detect.Found, 28 * days},
		{"silent a week before it was taken out", []detect.Wiring{wired(-1, 28)}, values(0, 21*days), nil, detect.Found, 21 * days},
		{"never a value at the port that it has had for a week", []detect.Wiring{wired(56, -1)}, nil, values(0, 63*days), detect.Found, 56 * days},
		{"gone before the period", []detect.Wiring{wired(-1, 0)}, nil, nil, detect.NotEvaluated, 0},
		{"readings of before it came are none of its own", []detect.Wiring{wired(56, -1)}, values(0, 56*days), nil, detect.Found, 56 * days},
	} {
		e, err := detect.NewExaminer([]*detect.Detector{Detector}, nil)
		if err != nil {
			t.Fatal(err)
		}
		e.Strict = true
		probe := detect.Probe{Name: "A", Kind: detect.Dielectric, Quantity: detect.WaterContent, Scale: 1, Wirings: c.wirings}
		series := detect.Series{Time: c.time, Blank: c.blank}
		for range c.time {
			series.Value = append(series.Value, 0.2)
		}
		o := e.Probe(&probe, &series, &detect.Context{}, period).Outcomes[0]
		if o.State != c.want {
			t.Errorf("%s: is %s, want %s (%s %v)", c.name, o.State, c.want, o.Why, o.Findings)
			continue
		}
		if o.State == detect.Found && (len(o.Findings) != 1 || o.Findings[0].Start != start+c.from*detect.Hour) {
			t.Errorf("%s: found %v, want it from hour %d on", c.name, o.Findings, c.from)
		}
	}
}
