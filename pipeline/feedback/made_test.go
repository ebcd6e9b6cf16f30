package feedback

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// The farm of these tests: a week that ends on Monday, 15 June 2026, after eight weeks.
var (
	zone, _ = time.LoadLocation("America/Los_Angeles")
	end     = at("2026-06-15 00:00")
	period  = detect.Period{Lookback: end - 63*detect.Day, Window: detect.Span{Start: end - 7*detect.Day, End: end}}
)

func at(text string) int64 {
	t, err := time.ParseInLocation("2006-01-02 15:04", text, zone)
	if err != nil {
		panic(err)
	}
	return t.UnixMicro()
}

// Places of the probes.
const (
	a30 = iota
	a60
	b30
	b60
	c30
)

func registered(t testing.TB) *register.Register {
	t.Helper()
	path := filepath.Join(t.TempDir(), "probes.csv")
	rows := []string{"probe,farm,logger,port,post,zone,depth_cm,kind,unit",
		"A-30,Home,L1,s1,P 1,Z1,30,granular_matrix,kPa", "A-60,Home,L1,s2,P 1,Z1,60,granular_matrix,kPa",
		"B-30,Home,L2,s1,P2,Z1,30,granular_matrix,kPa", "B-60,Home,L2,s2,P2,Z1,60,granular_matrix,kPa",
		"C-30,Home,L3,s1,P3,Z2,30,granular_matrix,kPa"}
	if err := os.WriteFile(path, []byte(strings.Join(rows, "\n")+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	reg, err := register.Load(path, "", zone)
	if err != nil {
		t.Fatal(err)
	}
	return reg
}

// lastWeek is a run of the week before, and one of the week before that, with the main
// faults of some probes.
func lastWeek(faults map[string]string) *previous.Run {
	r := &previous.Run{Period: detect.Period{Lookback: period.Lookback - 7*detect.Day,
		Window: detect.Span{Start: period.Window.Start - 7*detect.Day, End: period.Window.Start}}, Visits: map[string]previous.Visit{}}
	for _, back := range []int64{14, 7} {
		for _, p := range []string{"A-30", "A-60", "B-30", "B-60", "C-30"} {
			r.History = append(r.History, previous.Past{Probe: p, MainFault: faults[p],
				Window: detect.Span{Start: end - (back+7)*detect.Day, End: end - back*detect.Day}})
		}
	}
	return r
}

// visit is a row of a round on Tuesday, 9 June.
func visit(name, post, logger, probe, found string, outcome fieldlog.Outcome) fieldlog.Visit {
	return fieldlog.Visit{Line: 2, Visit: name, VisitedOn: at("2026-06-09 08:00"), Post: post, Logger: logger, Probe: probe,
		Found: found, Outcome: outcome, Minutes: detect.Some(30.0)}
}

func on(v fieldlog.Visit, when string) fieldlog.Visit {
	v.VisitedOn = at(when)
	return v
}

func book(t testing.TB, run *previous.Run, rows ...fieldlog.Visit) *Book {
	t.Helper()
	return New(Input{File: "visits.csv", Rows: rows, Register: registered(t), Before: run, Period: period, Zone: zone})
}

// found is an open finding of a probe since so many days before the window's end.
func found(fault string, probe int, name string, confidence, days float64) judge.Finding {
	row, _ := schemas.FaultNamed(fault)
	f := judge.Finding{Subject: row.Subject, Name: name, Probe: probe, Family: row.Family, Detector: fault}
	f.Fault, f.Confidence, f.Open, f.Start, f.End = fault, confidence, true, end-int64(days*float64(detect.Day)), end
	f.Measured, f.Threshold = 3, 2
	return f
}
