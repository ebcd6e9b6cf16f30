package publish

import (
	"slices"
	"strings"

	"probeward/pipeline/table"
	"probeward/schemas"
)

// health gives a row a probe, by name.
func (in *Input) health() *sheet {
	s := &sheet{table: schemas.Health}
	rank := map[int]int{}
	for i, v := range in.Visits {
		for _, p := range v.Places {
			if _, ok := rank[p]; !ok {
				rank[p] = i + 1
			}
		}
	}
	window := in.Arranged.Period.Window
	for i := range in.Register.Probes {
		p, st := &in.Register.Probes[i], &in.Judged.States[i]
		var share, mainFault, family, since, expected, visit any
		if st.Expected.OK {
			expected = int64(st.Expected.V)
			if st.Expected.V > 0 {
				share = round(min(1, float64(st.Usable)/float64(st.Expected.V)))
			}
		}
		if st.Main >= 0 {
			f := in.Judged.Findings[st.Main]
			mainFault, family, since = f.Fault, string(f.Family), cell(st.Since)
		}
		if r, ok := rank[i]; ok {
			visit = int64(r)
		}
		s.add(text(p.Farm), text(p.Block), text(p.Zone), text(p.Post), p.Name, text(st.Logger), text(st.Port), cell(p.DepthCM), string(p.Kind),
			window.Start, window.End, expected, int64(st.Received), int64(st.Rejected), int64(st.Usable), share,
			cell(st.Last), st.UsableNow, string(st.Verdict), text(string(st.Previous)), mainFault, family, text(strings.Join(st.Faults, " ")),
			round(st.Confidence), since, int64(st.Run), int64(st.NotEvaluated), text(st.NotEvaluatedWhy), visit,
			text(in.Feedback.Watch(i)), text(in.words(i)))
	}
	return s
}

func (in *Input) findings() *sheet {
	s := &sheet{table: schemas.Findings}
	for _, f := range in.Judged.Findings {
		var probe, end any
		if f.Probe >= 0 {
			probe = in.Register.Probes[f.Probe].Name
		}
		if !f.Open {
			end = f.End
		}
		evidence := f.Evidence
		if evidence == "" {
			fault, _ := schemas.FaultNamed(f.Fault)
			evidence = fault.Sentence
		}
		s.add(string(f.Subject), f.Name, probe, f.Fault, string(f.Family), f.Start, end, int64(f.Readings), int64(f.Flag),
			round(f.Confidence), round(f.Measured), round(f.Threshold), text(f.Unit), evidence, f.Detector, text(f.MaskedBy))
	}
	return s
}

func (in *Input) exclusions() *sheet {
	s := &sheet{table: schemas.Exclusions}
	for _, e := range in.Judged.Exclusions {
		s.add(in.Register.Probes[e.Probe].Name, e.Start, e.End, int64(e.Flag), strings.Join(e.Reasons, " "), round(e.Confidence))
	}
	return s
}

func (in *Input) coverage() *sheet {
	s := &sheet{table: schemas.Coverage}
	for _, c := range in.Judged.Coverage {
		n := func(v schemas.Verdict) int64 { return int64(c.Verdicts[v]) }
		s.add(text(c.Zone), text(c.Block), cell(c.DepthCM), int64(c.Probes), n(schemas.Fit), n(schemas.Doubtful), n(schemas.Unfit),
			n(schemas.Silent), n(schemas.Settling), n(schemas.Unknown), int64(c.UsableDays), c.Blind, cell(c.BlindSince), cell(c.LastTrusted))
	}
	return s
}

func (in *Input) queue() *sheet {
	s := &sheet{table: schemas.Queue}
	words := func(list []string) any { return text(strings.Join(list, " ")) }
	for i := range in.Visits {
		v := &in.Visits[i]
		var order any
		if v.RouteOrder.OK {
			order = int64(v.RouteOrder.V)
		}
		s.add(int64(i+1), v.Name, text(v.Farm), text(v.Block), words(v.Zones), text(v.Post), text(v.Tag), text(v.Row),
			cell(v.Latitude), cell(v.Longitude), words(v.Loggers), text(strings.Join(v.Ports, " / ")), words(v.Probes), words(v.Depths),
			v.Cause, string(v.Family), strings.Join(v.Faults, " "), round(v.Confidence), cell(v.LastReading),
			strings.Join(v.Check, "; "), strings.Join(v.Bring, "; "), round(v.Minutes), round(v.Priority), v.Why,
			cell(v.OpenSince), int64(v.RunsOpen), order)
	}
	return s
}

// rejects lists the reader's and the arranger's rejects, and the rows of the
// register and of the logs that could not be used.
func (in *Input) rejects() *sheet {
	s := &sheet{table: schemas.Rejects}
	for _, n := range in.TableNotes {
		if n.Severity != table.Error {
			continue
		}
		s.add(n.File, line(n.Line), text(n.Column), n.Problem, text(n.Text), nil, int64(0))
	}
	for _, r := range in.Arranged.Rejects {
		var last any
		if r.LastLine != r.Line {
			last = line(r.LastLine)
		}
		s.add(in.Arranged.Files[r.File].Path, line(r.Line), text(r.Column), r.Why, text(r.Text), last, r.Readings)
	}
	slices.SortStableFunc(s.rows, func(a, b row) int { return strings.Compare(a[0].(string), b[0].(string)) })
	return s
}

func line(n int) any {
	if n <= 0 {
		return nil
	}
	return int64(n)
}

// exclusionsChanged gives a row a probe, day and direction.
func (in *Input) exclusionsChanged() *sheet {
	s := &sheet{table: schemas.ExclusionsChanged}
	for _, c := range in.Changes {
		word := "restored"
		if c.Withdrawn {
			word = "withdrawn"
		}
		s.add(text(c.Zone), c.Day, c.Probe, word, round(c.Hours), text(c.Reasons))
	}
	return s
}
