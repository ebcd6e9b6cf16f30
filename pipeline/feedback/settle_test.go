package feedback

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/pipeline/corroborate"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

const step = detect.Hour

// raw is a finding as a detector gives it.
func raw(fault, from, to string, parts ...detect.Span) detect.Finding {
	f := detect.Finding{Fault: fault, Start: at(from), End: end, Open: true, Confidence: 0.9}
	if to != "" {
		f.End, f.Open = at(to), false
	}
	for _, p := range parts {
		f.Parts = append(f.Parts, detect.Part{Span: p, Flag: schemas.FlagFail})
	}
	return f
}

// reports give one probe some findings, and all of them a cadence.
func reports(probe int, findings ...detect.Finding) []detect.Report {
	out := make([]detect.Report, 5)
	for i := range out {
		out[i].Summary.Cadence = step
		out[i].Outcomes = []detect.Outcome{detect.Healthy()}
	}
	out[probe].Outcomes[0] = detect.Faulty(findings...)
	return out
}

// settled runs Settle with a second look that sees what again says.
func settled(b *Book, in []detect.Report, again ...detect.Finding) ([]detect.Finding, []judge.Mended) {
	s := Settle{Reports: in, Again: func(probe int, since int64) detect.Report {
		return detect.Report{Summary: in[probe].Summary, Outcomes: []detect.Outcome{detect.Faulty(again...)}}
	}}
	out, _, ends := b.Settle(s)
	return out[a30].Outcomes[0].Findings, ends
}

func TestWhatWorkEnds(t *testing.T) {
	repaired := visit("P_1-cable", "P 1", "L1", "A-30", "open_circuit", fieldlog.Repaired)
	done := at("2026-06-09 08:30")
	for name, c := range map[string]struct {
		row    fieldlog.Visit
		in     detect.Finding
		again  []detect.Finding
		cut    bool // the finding ends with the work
		ends   bool // the visit explains it
		others int  // findings besides
	}{
		"it had ended":             {row: repaired, in: raw("open_circuit", "2026-06-08 10:00", "2026-06-09 07:00"), ends: true},
		"it stands, and not since": {row: repaired, in: raw("open_circuit", "2026-06-08 10:00", ""), cut: true, ends: true},
		"it stands, since as well": {row: repaired, in: raw("open_circuit", "2026-06-08 10:00", ""),
			again: []detect.Finding{raw("open_circuit", "2026-06-09 12:00", "")}, cut: true, ends: true, others: 1},
		"since then another fault, that was not there before": {row: repaired, in: raw("open_circuit", "2026-06-08 10:00", ""),
			again: []detect.Finding{raw("flat_line", "2026-06-09 12:00", "")}, cut: true, ends: true},
		"another fault of the probe":      {row: repaired, in: raw("dry_out_spike", "2026-06-08 10:00", ""), cut: true, ends: true},
		"it began after the work":         {row: repaired, in: raw("open_circuit", "2026-06-10 10:00", "")},
		"a fault of the register":         {row: repaired, in: raw("wrong_zone", "2026-06-08 10:00", "")},
		"settling":                        {row: repaired, in: raw("settling", "2026-06-08 10:00", "")},
		"replaced, and nobody said why":   {row: visit("", "", "", "A-30", "nothing_wrong", fieldlog.Replaced), in: raw("flat_line", "2026-06-08 10:00", ""), cut: true, ends: true},
		"seen and left":                   {row: visit("", "", "", "A-30", "open_circuit", fieldlog.Left), in: raw("open_circuit", "2026-06-08 10:00", "")},
		"nobody got there":                {row: visit("", "", "", "A-30", "open_circuit", fieldlog.CouldNotReach), in: raw("open_circuit", "2026-06-08 10:00", "")},
		"the register's row was mended":   {row: visit("", "", "", "A-30", "wrong_zone", fieldlog.RegisterMended), in: raw("wrong_zone", "2026-06-08 10:00", "")},
		"work at another probe":           {row: visit("", "", "", "B-30", "open_circuit", fieldlog.Repaired), in: raw("open_circuit", "2026-06-08 10:00", "")},
		"its logger's, which explains it": {row: visit("", "", "L1", "", "logger_power", fieldlog.Repaired), in: raw("open_circuit", "2026-06-08 10:00", ""), cut: true, ends: true},
		"its logger's, which does not":    {row: visit("", "", "L1", "", "logger_power", fieldlog.Repaired), in: raw("wrong_zone", "2026-06-08 10:00", "")},
		"another logger's":                {row: visit("", "", "L2", "", "logger_power", fieldlog.Repaired), in: raw("open_circuit", "2026-06-08 10:00", "")},
		"its valve's":                     {row: visit("Z1-water", "", "", "", "irrigation_failure", fieldlog.Repaired), in: raw("missing_irrigation_response", "2026-06-08 10:00", ""), cut: true, ends: true},
	} {
		t.Run(name, func(t *testing.T) {
			in := reports(a30, c.in)
			got, ends := settled(book(t, nil, c.row), in, c.again...)
			if d := cmp.Diff(c.in, in[a30].Outcomes[0].Findings[0]); d != "" {
				t.Fatalf("the input was changed: %s", d)
			}
			if len(got) != 1+c.others {
				t.Fatalf("%d findings, want %d: %+v", len(got), 1+c.others, got)
			}
			want := c.in
			if c.cut {
				want.End, want.Open = done, false
				if !strings.Contains(got[0].Evidence, "mended on 2026-06-09") {
					t.Errorf("evidence %q", got[0].Evidence)
				}
				got[0].Evidence = ""
			}
			if d := cmp.Diff(want, got[0]); d != "" {
				t.Error(d)
			}
			if (len(ends) == 1) != c.ends {
				t.Errorf("the visit explains %+v", ends)
			}
			if c.ends && (ends[0].Start != c.in.Start || ends[0].Name != "A-30" || ends[0].By != "visit: mended on 2026-06-09") {
				t.Errorf("explains %+v", ends[0])
			}
		})
	}
}

func TestAGroupIsAskedAgain(t *testing.T) {
	power := raw("logger_power", "2026-06-07 10:00", "")
	g := corroborate.Verdict{Group: detect.Group{Scope: detect.PerLogger, Name: "L1", Members: []detect.Summary{
		{Probe: detect.Probe{Index: a30}}, {Probe: detect.Probe{Index: a60}}}}, Outcomes: []detect.Outcome{detect.Faulty(power)}}
	b := book(t, nil, visit("P_1-logger", "", "L1", "", "logger_power", fieldlog.Repaired))
	for _, still := range []bool{false, true} {
		var asked []int
		_, groups, ends := b.Settle(Settle{Reports: reports(a30), Groups: []corroborate.Verdict{g},
			Again: func(probe int, since int64) detect.Report {
				asked = append(asked, probe)
				if since != at("2026-06-09 08:30") {
					t.Errorf("asked since %s", detect.Stamp(since))
				}
				return detect.Report{Outcomes: []detect.Outcome{detect.Healthy()}}
			},
			Regroup: func([]detect.Report) []corroborate.Verdict {
				o := detect.Healthy()
				if still {
					o = detect.Faulty(raw("logger_power", "2026-06-12 10:00", ""))
				}
				return []corroborate.Verdict{{Group: g.Group, Outcomes: []detect.Outcome{o}}}
			}})
		if d := cmp.Diff([]int{a30, a60}, asked); d != "" {
			t.Error(d)
		}
		got := groups[0].Outcomes[0].Findings
		if len(ends) != 1 || got[0].End != at("2026-06-09 08:30") || got[0].Open || (len(got) == 2) != still {
			t.Errorf("still %v: %+v, explained %+v", still, got, ends)
		}
	}
}

func TestAValveIsBackWithTheNextWatering(t *testing.T) {
	b := book(t, nil, visit("Z1-water", "", "", "", "irrigation_failure", fieldlog.Repaired))
	for next, back := range map[string]bool{"2026-06-12 03:00": true, "2026-06-09 03:00": false} {
		g := corroborate.Verdict{Group: detect.Group{Scope: detect.PerZone, Name: "Z1",
			Irrigation: []detect.Water{{Span: detect.Span{Start: at(next), End: at(next) + detect.Hour}}}},
			Outcomes: []detect.Outcome{detect.Faulty(raw("irrigation_failure", "2026-06-05 03:00", ""))}}
		_, groups, _ := b.Settle(Settle{Reports: reports(a30), Groups: []corroborate.Verdict{g}})
		if got := groups[0].Outcomes[0].Findings; (len(got) == 2) != back {
			t.Errorf("a watering at %s: %+v", next, got)
		}
	}
}

func TestAnswersThatStillDoNotCome(t *testing.T) {
	waterings := func(rises ...float64) detect.Waterings {
		w := detect.Waterings{Unit: 0.1, Dead: math.Inf(1)}
		for i, r := range rises {
			w.At = append(w.At, detect.Watered{Water: detect.Water{Span: detect.Span{Start: at("2026-06-10 03:00") + int64(i)*2*detect.Day}}, Rise: r})
		}
		return w
	}
	for name, c := range map[string]struct {
		own, other []float64
		back       bool
	}{
		"two misses that the other answers": {[]float64{0.05, 0.1}, []float64{1, 1}, true},
		"one miss":                          {[]float64{0.05}, []float64{1}, false},
		"one answer":                        {[]float64{0.05, 0.1, 1}, []float64{1, 1, 1}, false},
		"the other misses them as well":     {[]float64{0.05, 0.1}, []float64{1, 0.1}, false},
		"no watering":                       {nil, nil, false},
	} {
		in := reports(c30)
		in[a30].Summary.Waterings = waterings(c.own...)
		lost := raw("missing_irrigation_response", "2026-06-01 03:00", "")
		lost.Probes = []int{a30}
		g := corroborate.Verdict{Group: detect.Group{Scope: detect.PerZone, Name: "Z1", Members: []detect.Summary{
			{Probe: detect.Probe{Index: a30}, Waterings: waterings(c.own...)}, {Probe: detect.Probe{Index: b30}, Waterings: waterings(c.other...)}}},
			Outcomes: []detect.Outcome{detect.Faulty(lost)}}
		b := book(t, nil, visit("", "", "", "A-30", "missing_irrigation_response", fieldlog.Repaired))
		_, groups, ends := b.Settle(Settle{Reports: in, Groups: []corroborate.Verdict{g}})
		got := groups[0].Outcomes[0].Findings
		if (len(got) == 2) != c.back || len(ends) != 1 {
			t.Errorf("%s: %+v", name, got)
		}
		if c.back && (got[1].Start != at("2026-06-10 03:00") || !got[1].Open || b.Watch(a30) != "mended 2026-06-09, and back since 2026-06-10") {
			t.Errorf("%s: back as %+v, watch %q", name, got[1], b.Watch(a30))
		}
	}
}

func TestWatch(t *testing.T) {
	hours := func(n int) func(int) []int64 {
		return func(int) (out []int64) {
			for i := range n {
				out = append(out, at("2026-06-09 09:00")+int64(i)*step)
			}
			return out
		}
	}
	cable := visit("", "", "", "A-30", "open_circuit", fieldlog.Repaired)
	response := visit("", "", "", "A-30", "missing_irrigation_response", fieldlog.Repaired)
	// Two shows with 20 clean hours between: three times as many prove it gone.
	flips := raw("open_circuit", "2026-06-07 10:00", "2026-06-08 08:00",
		detect.Span{Start: at("2026-06-07 10:00"), End: at("2026-06-07 11:00")}, detect.Span{Start: at("2026-06-08 07:00"), End: at("2026-06-08 08:00")})
	water := func(rise float64, blind bool) detect.Waterings {
		return detect.Waterings{Unit: 0.1, At: []detect.Watered{{Water: detect.Water{Span: detect.Span{Start: at("2026-06-11 03:00")}}, Rise: rise, Blind: blind}}}
	}
	for name, c := range map[string]struct {
		row      fieldlog.Visit
		finding  detect.Finding
		readings int
		water    detect.Waterings
		want     string
	}{
		"too few readings":      {row: cable, finding: raw("open_circuit", "2026-06-08 10:00", ""), readings: 9, want: "mended 2026-06-09, not yet proven: 9 of 10 readings since"},
		"ten of its own steps":  {row: cable, finding: raw("open_circuit", "2026-06-08 10:00", ""), readings: 10},
		"it came and went":      {row: cable, finding: flips, readings: 59, want: "mended 2026-06-09, not yet proven: 59 of 60 readings since"},
		"and has not since":     {row: cable, finding: flips, readings: 60},
		"no water":              {row: response, finding: raw("missing_irrigation_response", "2026-06-08 10:00", ""), readings: 99, want: "mended 2026-06-09, not yet proven: no watering since"},
		"a watering in rain":    {row: response, finding: raw("missing_irrigation_response", "2026-06-08 10:00", ""), readings: 99, water: water(1, true), want: "mended 2026-06-09, not yet proven: no watering since"},
		"water, and no answer":  {row: response, finding: raw("missing_irrigation_response", "2026-06-08 10:00", ""), readings: 99, water: water(0.14, false), want: "mended 2026-06-09, not yet proven: none of 1 waterings since answered"},
		"an answered watering":  {row: response, finding: raw("missing_irrigation_response", "2026-06-08 10:00", ""), readings: 99, water: water(0.16, false)},
		"its logger was mended": {row: visit("", "", "L1", "", "logger_power", fieldlog.Repaired), finding: raw("gap", "2026-06-08 10:00", ""), readings: 3, want: "logger L1 mended 2026-06-09, not yet proven: 3 of 10 readings since"},
		"it was only seen":      {row: visit("", "", "", "A-30", "open_circuit", fieldlog.Left), finding: raw("open_circuit", "2026-06-08 10:00", "")},
	} {
		t.Run(name, func(t *testing.T) {
			b := book(t, nil, c.row)
			in := reports(a30, c.finding)
			in[a30].Summary.Waterings = c.water
			b.Settle(Settle{Reports: in, Times: hours(c.readings)})
			if got := b.Watch(a30); got != c.want {
				t.Errorf("watch %q, want %q", got, c.want)
			}
			if got := b.Watch(c30); got != "" {
				t.Errorf("another probe is watched: %q", got)
			}
		})
	}
}

func TestCleanForIsThreeMeanStretchesWithinBounds(t *testing.T) {
	show := func(days ...float64) (out []detect.Span) {
		for _, d := range days {
			out = append(out, detect.Span{Start: int64(d * float64(detect.Day)), End: int64(d*float64(detect.Day)) + detect.Hour})
		}
		return out
	}
	for _, c := range []struct {
		shows []detect.Span
		want  int64
	}{
		{nil, 10 * step}, {show(1), 10 * step}, {show(0, 1), 3 * 23 * detect.Hour}, {show(0, 1, 3), 3 * 35 * detect.Hour}, {show(0, 30), 28 * detect.Day},
	} {
		if got := CleanFor(c.shows, step); got != c.want {
			t.Errorf("%v: %s, want %s", c.shows, detect.Length(got), detect.Length(c.want))
		}
	}
}

func TestCutLeavesWhatCameSince(t *testing.T) {
	s := &detect.Series{Time: []int64{1, 3, 5}, Value: []float64{10, 30, 50}, Temperature: []float32{1, 2, 3}, Blank: []int64{2, 4}, Coded: []detect.Coded{{Time: 2}, {Time: 4}}}
	Cut(s, 3)
	want := &detect.Series{Time: []int64{3, 5}, Value: []float64{30, 50}, Temperature: []float32{2, 3}, Blank: []int64{4}, Coded: []detect.Coded{{Time: 4}}}
	if d := cmp.Diff(want, s); d != "" {
		t.Error(d)
	}
	waters := []detect.Water{{Span: detect.Span{Start: 1, End: 2}}, {Span: detect.Span{Start: 3, End: 4}}}
	if got := Since(waters, 3); len(got) != 1 || got[0].Start != 3 || Since(nil, 3) != nil {
		t.Errorf("since 3: %v", got)
	}
}
