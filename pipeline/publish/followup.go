package publish

import (
	"cmp"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/previous"
	"probeward/schemas"
)

// usableDaily gives a row a probe and day.
func (in *Input) usableDaily() *sheet {
	s := &sheet{table: schemas.UsableDaily}
	for _, d := range in.Days {
		p := &in.Register.Probes[d.Probe]
		unit := p.Quantity.Unit()
		if unit == "" {
			unit = cmp.Or(p.Unit, "unknown")
		}
		s.add(d.Start, text(p.Zone), text(p.Block), cell(p.DepthCM), p.Name, unit,
			round(d.Minimum), round(d.Mean), round(d.Maximum), round(d.Last), int64(d.Readings), int64(d.Excluded))
	}
	return s
}

func (in *Input) installs() *sheet {
	s := &sheet{table: schemas.Installs}
	for _, n := range in.Installs {
		var hours any
		if n.HoursToFirst.OK {
			hours = round(n.HoursToFirst.V)
		}
		s.add(in.Register.Probes[n.Probe].Name, cell(n.InstalledOn), cell(n.First), hours, cell(n.OnPort), cell(n.FitsKind),
			cell(n.UsableFrom), n.Accepted, n.Why)
	}
	return s
}

func (in *Input) registerMends() *sheet {
	s := &sheet{table: schemas.RegisterMends}
	for _, m := range in.Mends {
		s.add(m.Severity, m.Subject, m.Name, m.Problem, text(m.Evidence), text(m.Row))
	}
	return s
}

// history carries the earlier runs on, and adds this one. A run of the same window,
// done again, takes the place of its first doing.
func (in *Input) history() *sheet {
	s := &sheet{table: schemas.History}
	window := in.Arranged.Period.Window
	var rows []previous.Past
	if in.Previous != nil {
		for _, h := range in.Previous.History {
			if h.Window != window {
				rows = append(rows, h)
			}
		}
	}
	for i := range in.Register.Probes {
		p, st := &in.Register.Probes[i], &in.Judged.States[i]
		h := previous.Past{Window: window, Probe: p.Name, Zone: p.Zone, Verdict: st.Verdict}
		if st.Main >= 0 {
			h.MainFault = in.Judged.Findings[st.Main].Fault
		}
		if st.Expected.OK && st.Expected.V > 0 {
			h.UsableShare = detect.Some(min(1, float64(st.Usable)/float64(st.Expected.V)))
		}
		rows = append(rows, h)
	}
	slices.SortStableFunc(rows, func(a, b previous.Past) int {
		return cmp.Or(cmp.Compare(a.Window.End, b.Window.End), cmp.Compare(a.Window.Start, b.Window.Start), cmp.Compare(a.Probe, b.Probe))
	})
	for _, h := range rows {
		var share any
		if h.UsableShare.OK {
			share = round(h.UsableShare.V)
		}
		s.add(h.Window.Start, h.Window.End, h.Probe, text(h.Zone), string(h.Verdict), text(h.MainFault), share)
	}
	return s
}
