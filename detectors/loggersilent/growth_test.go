package loggersilent

import (
	"strings"
	"testing"

	"probeward/detectors/detect"
)

// Gaps as long as one another are a slower step; a dying battery makes each longer.
func TestGrowth(t *testing.T) {
	const start = 20_000 * detect.Day
	for _, c := range []struct {
		name string
		gaps []int64 // seconds
		want bool
	}{
		{"a step of three hours, give or take seconds", []int64{10_801, 10_803, 10_806, 10_810}, false},
		{"each an hour longer", []int64{7_200, 10_800, 14_400, 18_000}, true},
	} {
		quiet := []detect.Hole{}
		at := int64(start)
		for _, g := range append(c.gaps, 60*3_600) {
			quiet = append(quiet, detect.Hole{Span: detect.Span{Start: at, End: at + g*detect.Second}})
			at += g*detect.Second + detect.Hour
		}
		member := detect.Summary{
			Probe:   detect.Probe{Name: "A", Wirings: []detect.Wiring{{Logger: "L1", Port: "1", Span: detect.Span{Start: 0, End: 1 << 62}}}},
			Period:  detect.Period{Lookback: start - 50*detect.Day, Window: detect.Span{Start: start - detect.Day, End: start + 6*detect.Day}},
			Cadence: 5 * detect.Minute, Values: 1000, First: detect.Some(int64(start - 50*detect.Day)), Silences: quiet,
		}
		e, err := detect.NewExaminer([]*detect.Detector{Detector}, nil)
		if err != nil {
			t.Fatal(err)
		}
		g := detect.Group{Scope: detect.PerLogger, Name: "L1", Period: member.Period, Members: []detect.Summary{member}}
		text := ""
		for _, f := range e.Group(&g)[0].Findings {
			text += f.Evidence
		}
		if got := strings.Contains(text, "battery dying"); got != c.want || text == "" {
			t.Errorf("%s: %q", c.name, text)
		}
	}
}
