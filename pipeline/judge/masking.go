package judge

import (
	"fmt"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// half is the least share of a fault that its explanation must cover.
const half = 0.5

// mask names for every finding the first row of the table that explains it.
func (w *work) mask() {
	m := masker{work: w}
	for i := range w.out.Findings {
		if f := &w.out.Findings[i]; f.Probe < 0 {
			m.groups = append(m.groups, i)
		}
	}
	for i := range w.out.Findings {
		f := &w.out.Findings[i]
		if f.MaskedBy != "" {
			continue
		}
		for r := range masks {
			row := &masks[r]
			if !slices.Contains(row.Faults, f.Fault) {
				continue
			}
			if by, ok := m.explains(row, i); ok {
				b := &w.out.Findings[by]
				f.MaskedBy = fmt.Sprintf("%s of %s", b.Fault, b.Name)
				f.MaskedWhy = row.Why
				w.sparing[i] = row.Spares
				break
			}
		}
	}
	w.together()
}

// together masks the other half of a comparison: what holds two probes against each
// other says nothing of one of them once the other is explained.
func (w *work) together() {
	for i := range w.out.Findings {
		f := &w.out.Findings[i]
		if f.MaskedBy != "" || f.Fault != comparing {
			continue
		}
		for j := range w.out.Findings {
			g := &w.out.Findings[j]
			if j != i && g.Fault == f.Fault && g.Start == f.Start && slices.Equal(g.Probes, f.Probes) && g.MaskedBy != "" && !strings.HasPrefix(g.MaskedWhy, withOther) {
				f.MaskedBy, f.MaskedWhy = g.MaskedBy, withOther+g.Name
				w.sparing[i] = true
				break
			}
		}
	}
}

// comparing is the fault that two probes have only together.
const comparing = "depth_order"

const withOther = "it was held against one that is explained: "

// masker holds what masking reuses from one finding to the next.
type masker struct {
	*work
	groups               []int // places of the findings of loggers and zones
	extent, cover, share []detect.Span
}

// explains says whether a row holds for finding i, and by which finding: the one
// that covers most of it.
func (m *masker) explains(row *Mask, i int) (by int, ok bool) {
	f := &m.out.Findings[i]
	m.extent = extents(m.extent[:0], f, true)
	if m.faults[i].Lasting && m.stillOpen(f.Open, f.End) {
		// Only what stands makes the verdict, so only that must be explained.
		m.extent = m.extent[len(m.extent)-1:]
	}
	by = -1
	m.cover = m.cover[:0]
	stands, near, most := false, false, int64(-1)
	each := func(j int, spans []detect.Span, open bool) {
		g := &m.out.Findings[j]
		if untouched(&g.Finding) {
			return // what left the readings true explains none that are not
		}
		from := len(m.cover)
		m.cover = extents(m.cover, g, g.Probe < 0)
		m.share = common(m.share[:0], m.cover[from:], spans)
		m.cover = append(m.cover[:from], m.share...)
		mine := m.cover[from:]
		if len(mine) == 0 {
			return
		}
		m.share = common(m.share[:0], m.extent, mine)
		covered := length(m.share)
		isNear := row.Near > 0 && m.mostNear(mine, row.Near)
		if covered == 0 && !isNear {
			m.cover = m.cover[:from]
			return
		}
		near = near || isNear
		stands = stands || open
		if covered > most {
			by, most = j, covered
		}
	}
	if f.Probe >= 0 {
		for k := range m.touches[f.Probe] {
			t := &m.touches[f.Probe][k]
			if t.finding != i && !t.ignored && m.out.Findings[t.finding].Fault == row.By {
				each(t.finding, t.spans, m.stillOpen(t.open, t.end()))
			}
		}
	} else {
		for _, j := range m.groups {
			g := &m.out.Findings[j]
			if j == i || g.Fault != row.By || !shares(f.Probes, g.Probes) {
				continue
			}
			each(j, []detect.Span{{Start: g.Start, End: g.End}}, m.stillOpen(g.Open, g.End))
		}
	}
	if by < 0 || (m.stillOpen(f.Open, f.End) && !stands && !row.Outlasts) {
		return by, false
	}
	cover := union(m.cover)
	if row.Waterings {
		if held, all := m.waterings(f, cover); all > 0 {
			return by, float64(held) >= half*float64(all)
		}
	}
	m.share = common(m.share[:0], m.extent, cover)
	return by, near || float64(length(m.share)) >= half*float64(length(m.extent))
}

// mostNear says whether at least half of the stretches in which the fault shows begin
// or end near what would explain them: one spike beside a watering does not explain
// the dozen that came without.
func (m *masker) mostNear(spans []detect.Span, slack int64) bool {
	near := 0
	for _, e := range m.extent {
		if within(e.Start, spans, slack) || within(e.End-1, spans, slack) {
			near++
		}
	}
	return near > 0 && float64(near) >= half*float64(len(m.extent))
}

// stillOpen says whether what ends there stands at the window's end.
func (w *work) stillOpen(open bool, end int64) bool {
	return open || end >= w.in.Period.Window.End
}

// extents appends where a finding lies, joined: its parts where it has any and
// they are asked for, and of these the worst: what is merely suspect between the
// flips of a contact needs no explanation once the flips have one. Between the parts
// a probe's own fault still holds sway (a loose contact between its flips); of a
// logger's only the shared minutes count.
func extents(into []detect.Span, f *Finding, parts bool) []detect.Span {
	from := len(into)
	if parts {
		worst := schemas.FlagNone
		for _, p := range f.Parts {
			if p.Flag.Severity() > worst.Severity() {
				worst = p.Flag
			}
		}
		for _, p := range f.Parts {
			if p.Flag.Severity() == worst.Severity() {
				into = append(into, p.Span)
			}
		}
		into = into[:from+len(union(into[from:]))]
	}
	if len(into) == from {
		into = append(into, detect.Span{Start: f.Start, End: f.End})
	}
	return into
}

// shares says whether at least half of the probes in a are in b, both sorted.
func shares(a, b []int) bool {
	n := 0
	for _, p := range a {
		if _, ok := slices.BinarySearch(b, p); ok {
			n++
		}
	}
	return len(a) > 0 && float64(n) >= half*float64(len(a))
}

func within(t int64, spans []detect.Span, slack int64) bool {
	for _, s := range spans {
		if s.Start-slack <= t && t < s.End+slack {
			return true
		}
	}
	return false
}

// waterings counts the zone's waterings that began during a probe's finding, and
// those of them that the cover touches.
func (w *work) waterings(f *Finding, cover []detect.Span) (held, all int) {
	if f.Probe < 0 {
		return 0, 0
	}
	zone := w.in.Probes[f.Probe].Zone
	for i := range w.in.Groups {
		g := &w.in.Groups[i].Group
		if g.Scope != detect.PerZone || g.Name != zone {
			continue
		}
		for _, water := range g.Irrigation {
			if water.Start < f.Start-waterNear || water.Start >= f.End {
				continue
			}
			all++
			if slices.ContainsFunc(cover, func(s detect.Span) bool { return s.Overlap(water.Span).Length() > 0 }) {
				held++
			}
		}
		return held, all
	}
	return 0, 0
}

// misplaced silences what a probe shows while it is not in the ground: the holes
// before it was put in and after it was taken out are no fault of anything.
func (w *work) misplaced() {
	var share []detect.Span
	for i := range w.in.Probes {
		p := &w.in.Probes[i]
		ground := []detect.Span{inGround(p)}
		there := groundedAt(p, w.in.Period.Window.End-1)
		for k := range w.touches[i] {
			f := &w.out.Findings[w.touches[i][k].finding]
			if f.Probe != i || f.MaskedBy != "" {
				continue
			}
			extent := extents(nil, f, true)
			share = common(share[:0], extent, ground)
			if there != "" {
				f.MaskedBy, f.MaskedWhy = "register: "+there, "nobody has to go there for it"
			} else if float64(length(share)) < half*float64(length(extent)) && !f.Open {
				f.MaskedBy = "register: not in the ground then"
				f.MaskedWhy = "it was not there to be judged"
			}
		}
	}
}
