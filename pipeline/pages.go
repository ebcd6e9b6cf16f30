package pipeline

import (
	"fmt"
	"strings"
	"time"

	"probeward/pipeline/changes"
	"probeward/pipeline/crew"
	"probeward/pipeline/publish"
	"probeward/pipeline/report"
	"probeward/pipeline/shift"
)

// Shift asks for a plan of one working day.
type Shift struct {
	Length              time.Duration
	Crews               int
	Latitude, Longitude float64 // where the crews start and end, deg, WGS 84
	SpeedKMH            float64 // on the way; 0: the default
}

// pages makes what people read: the crew's page and what goes with it, and the report.
func (s *scan) pages(changed []changes.Change) ([]publish.Page, error) {
	files, err := crew.Files(crew.Input{
		Visits: s.visits, Probes: s.register.Probes, Details: s.register.Details,
		Judged: s.judged, Window: s.arranged.Period.Window, Zone: s.config.Zone, Units: s.config.Units, Plan: s.plan(), Remarks: s.remarks(),
	})
	if err != nil {
		return nil, err
	}
	var out []publish.Page
	for _, f := range files {
		out = append(out, publish.Page{Name: f.Name, Rows: f.Rows, Bytes: f.Bytes})
	}
	page, err := report.Page(s.reportInput(changed))
	if err != nil {
		return nil, err
	}
	return append(out, publish.Page{Name: "report.html", Rows: int64(len(s.judged.Findings)), Bytes: page}), nil
}

// plan lays out the shift that was asked for.
func (s *scan) plan() *crew.Plan {
	if s.Shift == nil {
		return nil
	}
	start := shift.Point{Lat: s.Shift.Latitude, Lon: s.Shift.Longitude}
	opts := shift.Options{SpeedKMH: s.Shift.SpeedKMH}
	return &crew.Plan{Length: s.Shift.Length, Start: start, Opts: opts.Filled(),
		Crews: shift.Plan(shift.Stops(s.visits), s.Shift.Crews, s.Shift.Length, start, opts)}
}

func (s *scan) reportInput(changed []changes.Change) report.Input {
	in := report.Input{
		Probes: s.register.Probes, Arranged: s.arranged, Judged: s.judged, Visits: s.visits, Notes: s.notes,
		ProbeDetectors: s.examiner.ProbeDetectors(), GroupDetectors: s.examiner.GroupDetectors(), Reports: s.reports, Groups: s.groups,
		Irrigation: s.water, Rain: s.weather.Rain, Zone: s.config.Zone, Inches: s.config.Units.Depth == "in", Previous: s.before, Book: s.book, Quiet: s.quiet,
	}
	for _, c := range changed {
		in.Changed = append(in.Changed, report.Changed(c))
	}
	return in
}

// remarks is what the crew is told beside its stops: what waits because of what was
// found there, and what was mended and has still to prove itself.
func (s *scan) remarks() (out []crew.Remark) {
	for _, q := range s.quiet {
		f := &s.judged.Findings[q.Finding]
		out = append(out, crew.Remark{Text: fmt.Sprintf("not on the list: %s of %s: %s", strings.ReplaceAll(f.Fault, "_", " "), f.Name, q.Why)})
	}
	for i := range s.register.Probes {
		if text := s.book.Watch(i); text != "" {
			out = append(out, crew.Remark{Text: s.register.Probes[i].Name + ": " + text})
		}
	}
	return out
}
