package main

import (
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline"
	"probeward/schemas"
)

// scanSummary is what scan --json prints. Times are RFC 3339 in UTC. Everything but
// Run follows from the input alone.
type scanSummary struct {
	Out      string         `json:"out"`
	Window   scanWindow     `json:"window"`
	Files    scanFiles      `json:"files"`
	Readings scanReadings   `json:"readings"`
	Probes   int            `json:"probes"`
	Verdicts map[string]int `json:"verdicts"` // all six, 0 where there is none
	Checks   scanChecks     `json:"checks"`
	Blind    []scanPlace    `json:"blind"` // zones and depths without a probe to trust
	Places   int            `json:"zone_depths"`
	Visits   []scanVisit    `json:"visits"`
	Notes    []string       `json:"notes"`
	FailOn   *scanFailOn    `json:"fail_on"` // null: not asked for
	Run      scanRun        `json:"run"`
}

type scanWindow struct {
	Start string `json:"start"`
	End   string `json:"end"`
	Zone  string `json:"timezone"`
	Why   string `json:"why"`
}

type scanFiles struct {
	Given  int `json:"given"`
	Failed int `json:"failed"` // not read, or only in part
}

// scanReadings balance: read = used + repeated + rejected.
type scanReadings struct {
	Read     int64 `json:"read"`
	Used     int64 `json:"used"`
	Repeated int64 `json:"repeated"`
	Rejected int64 `json:"rejected"`
}

type scanChecks struct {
	Found        int `json:"found"`
	Clear        int `json:"clear"`
	NotEvaluated int `json:"not_evaluated"`
}

type scanPlace struct {
	Zone    string   `json:"zone"`
	DepthCM *float64 `json:"depth_cm"` // null: not registered
	Since   string   `json:"blind_since"`
}

type scanVisit struct {
	Rank       int      `json:"rank"`
	Visit      string   `json:"visit"`
	Post       string   `json:"post"`
	Probes     []string `json:"probes"`
	Faults     []string `json:"faults"`
	Confidence float64  `json:"confidence"`
	Minutes    float64  `json:"minutes"`
	Priority   float64  `json:"priority"`
}

type scanFailOn struct {
	Verdict string   `json:"verdict"`
	Probes  []string `json:"probes"` // that have it, or a worse one; empty: exit 0
}

type scanRun struct {
	Version string  `json:"version"`
	Seconds float64 `json:"seconds"`
}

func summaryOf(s *pipeline.Summary, f *scanFlags, took time.Duration) scanSummary {
	m := s.Manifest
	t := m.Totals
	out := scanSummary{
		Out: f.out, Probes: t.Probes, Verdicts: map[string]int{}, Blind: []scanPlace{}, Places: len(s.Judged.Coverage),
		Visits: []scanVisit{}, Notes: append([]string{}, m.Warnings...), Run: scanRun{version, took.Seconds()},
		Window:   scanWindow{m.Period.Start, m.Period.End, m.Period.Zone, m.Period.Why},
		Files:    scanFiles{t.Files, t.Failed},
		Readings: scanReadings{t.Read, t.Used, t.Repeated, t.Rejected},
	}
	for _, v := range schemas.Verdicts() {
		out.Verdicts[string(v)] = m.Verdicts[string(v)]
	}
	for _, d := range m.Detectors {
		out.Checks.Found, out.Checks.Clear = out.Checks.Found+d.Found, out.Checks.Clear+d.Clear
		out.Checks.NotEvaluated += d.NotRun + d.Absent + d.TooShort + d.NoChance
	}
	for _, c := range s.Judged.Coverage {
		if !c.Blind {
			continue
		}
		p := scanPlace{Zone: c.Zone}
		if c.DepthCM.OK {
			p.DepthCM = &c.DepthCM.V
		}
		if c.BlindSince.OK {
			p.Since = utc(c.BlindSince)
		}
		out.Blind = append(out.Blind, p)
	}
	for i, v := range s.Visits {
		out.Visits = append(out.Visits, scanVisit{Rank: i + 1, Visit: v.Name, Post: v.Post, Probes: v.Probes, Faults: v.Faults,
			Confidence: v.Confidence, Minutes: v.Minutes, Priority: v.Priority})
	}
	if f.failOn != "" {
		out.FailOn = &scanFailOn{Verdict: f.failOn, Probes: append([]string{}, f.worse(s)...)}
	}
	return out
}

func utc(m detect.Maybe[int64]) string { return time.UnixMicro(m.V).UTC().Format(time.RFC3339) }
