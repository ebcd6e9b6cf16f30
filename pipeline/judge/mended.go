package judge

import "probeward/schemas"

// Mended names a finding that a visit explains: it ended with the crew's work.
type Mended struct {
	Subject     schemas.Subject
	Name, Fault string
	Start       int64
	By          string // in words: "visit: mended on 2026-06-09"
}

// mended silences what the crew has ended: its readings keep their flag, and it makes
// no verdict.
func (w *work) mended() {
	type key struct {
		subject     schemas.Subject
		name, fault string
		start       int64
	}
	by := map[key]string{}
	for _, m := range w.in.Mended {
		by[key{m.Subject, m.Name, m.Fault, m.Start}] = m.By
	}
	for i := range w.out.Findings {
		f := &w.out.Findings[i]
		if text, ok := by[key{f.Subject, f.Name, f.Fault, f.Start}]; ok && f.MaskedBy == "" {
			f.MaskedBy, f.MaskedWhy = text, "the crew has mended it"
		}
	}
}
