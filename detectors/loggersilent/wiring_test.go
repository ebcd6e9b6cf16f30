package loggersilent

import (
	"math"
	"testing"

	"probeward/detectors/detect"
)

// A logger answers for its probes only while the register has them there.
func TestWirings(t *testing.T) {
	const start = 20_000 * detect.Day
	period := detect.Period{Lookback: start, Window: detect.Span{Start: start + 56*detect.Day, End: start + 63*detect.Day}}
	at := func(logger string, from, to int64) detect.Wiring {
		w := detect.Wiring{Logger: logger, Port: "1", Span: detect.Span{Start: math.MinInt64, End: math.MaxInt64}}
		if from >= 0 {
			w.Start = start + from*detect.Day
		}
		if to >= 0 {
			w.End = start + to*detect.Day
		}
		return w
	}
	hole := func(from, to int64) detect.Hole {
		return detect.Hole{Span: detect.Span{Start: start + from*detect.Hour, End: start + to*detect.Hour}}
	}
	member := func(i int, wirings []detect.Wiring, holes ...detect.Hole) detect.Summary {
		return detect.Summary{
			Probe:  detect.Probe{Index: i, Name: string(rune('A' + i)), Wirings: wirings},
			Period: period, Cadence: detect.Hour, Values: 1000, First: detect.Some(int64(start)), Silences: holes,
		}
	}
	const days = 24
	for _, c := range []struct {
		name    string
		members []detect.Summary
		want    detect.State
		from    int64 // hours into the period
		open    bool
		probes  []int
	}{
		{"both moved away after four weeks, and silent later, elsewhere", []detect.Summary{
			member(0, []detect.Wiring{at("L1", -1, 28), at("L2", 28, -1)}, hole(40*days, 45*days)),
			member(1, []detect.Wiring{at("L1", -1, 28), at("L2", 28, -1)}, hole(40*days, 45*days)),
		}, detect.Clear, 0, false, nil},
		{"one moved away and speaks elsewhere while the other is silent here", []detect.Summary{
			member(0, []detect.Wiring{at("L1", -1, 28), at("L2", 28, -1)}),
			member(1, []detect.Wiring{at("L1", -1, -1)}, hole(40*days, 45*days)),
		}, detect.Found, 40*days + 1, false, []int{1}},
		{"silent from five days before they were moved until they spoke elsewhere", []detect.Summary{
			member(0, []detect.Wiring{at("L1", -1, 28), at("L2", 28, -1)}, hole(23*days, 28*days+7)),
			member(1, []detect.Wiring{at("L1", -1, 28), at("L2", 28, -1)}, hole(23*days, 28*days+7)),
		}, detect.Found, 23*days + 1, false, []int{0, 1}},
		{"a move that took a day", []detect.Summary{
			member(0, []detect.Wiring{at("L1", -1, 28), at("L2", 28, -1)}, hole(28*days-8, 28*days+12)),
			member(1, []detect.Wiring{at("L2", -1, 28), at("L1", 28, -1)}, hole(28*days-8, 28*days+12)),
		}, detect.Clear, 0, false, nil},
		{"moved here, and not a word since", []detect.Summary{
			member(0, []detect.Wiring{at("L2", -1, 28), at("L1", 28, -1)}, hole(28*days, 63*days)),
			member(1, []detect.Wiring{at("L2", -1, 28), at("L1", 28, -1)}, hole(28*days, 63*days)),
		}, detect.Found, 28 * days, true, []int{0, 1}},
		{"nobody was ever here in the period", []detect.Summary{
			member(0, []detect.Wiring{at("L1", -1, 0), at("L2", 0, -1)}),
		}, detect.NotEvaluated, 0, false, nil},
	} {
		e, err := detect.NewExaminer([]*detect.Detector{Detector}, nil)
		if err != nil {
			t.Fatal(err)
		}
		e.Strict = true
		g := detect.Group{Scope: detect.PerLogger, Name: "L1", Period: period, Members: c.members, Farm: period.Whole(), Loggers: 5}
		o := e.Group(&g)[0]
		if o.State != c.want {
			t.Errorf("%s: is %s, want %s (%s %v)", c.name, o.State, c.want, o.Why, o.Findings)
			continue
		}
		if o.State != detect.Found {
			continue
		}
		f := o.Findings[0]
		if len(o.Findings) != 1 || f.Start != start+c.from*detect.Hour || f.Open != c.open || len(f.Probes) != len(c.probes) {
			t.Errorf("%s: found %+v, want it from hour %d on, open %v, probes %v", c.name, o.Findings, c.from, c.open, c.probes)
		}
	}
}
