package register

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
)

const (
	openStart = math.MinInt64
	openEnd   = math.MaxInt64
)

// wirings makes the spans of the rows into one sequence: an open end runs to the
// probe's next row, and rows of one logger and port that touch become one.
func (m *merger) wirings() []detect.Wiring {
	type wired struct {
		detect.Wiring
		line int
	}
	var ws []wired
	for _, r := range m.rows {
		span := detect.Span{Start: openStart, End: openEnd}
		if r.ValidFrom.OK {
			span.Start = r.ValidFrom.V
		}
		if r.ValidTo.OK {
			span.End = r.ValidTo.V
		}
		if (r.Logger != "" || r.Port != "") && !r.Adrift && span.Start < span.End {
			ws = append(ws, wired{detect.Wiring{Logger: r.Logger, Port: r.Port, Span: span}, r.Line})
		}
	}
	order := func(a, b wired) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End),
			cmp.Compare(a.Logger, b.Logger), cmp.Compare(a.Port, b.Port))
	}
	slices.SortStableFunc(ws, order)
	written := slices.Clone(ws)
	for i := range ws {
		w := &ws[i]
		for _, o := range written {
			if written[i].Start == openStart && o.Start == openStart && o.End < w.End {
				w.Start = max(w.Start, o.End)
			}
		}
		for _, o := range written {
			if w.End == openEnd && o.Start > w.Start {
				w.End = o.Start
			}
		}
	}
	slices.SortStableFunc(ws, order)
	var out []detect.Wiring
	var lines []int
	for _, w := range ws {
		joined := false
		for j := range out {
			o := &out[j]
			if o.Logger == w.Logger && o.Port == w.Port && o.Start <= w.End && w.Start <= o.End {
				o.Start, o.End, joined = min(o.Start, w.Start), max(o.End, w.End), true
				break
			}
			if both := o.Overlap(w.Span); both.Start < both.End {
				m.say(w.line, "valid_from", table.Warning, fmt.Sprintf("line %d has it at another logger or port (%s) at the same time, %s: set valid_from and valid_to so that they do not overlap",
					lines[j], socketName(o.Logger, o.Port), spanWords(both)), socketName(w.Logger, w.Port))
			}
		}
		if !joined {
			out, lines = append(out, w.Wiring), append(lines, w.line)
		}
	}
	return out
}

func socketName(logger, port string) string { return strings.TrimSpace(logger + " " + port) }

// spanWords writes a span whose ends may be open.
func spanWords(s detect.Span) string {
	switch {
	case s.Start == openStart && s.End == openEnd:
		return "always"
	case s.Start == openStart:
		return "until " + detect.Stamp(s.End)
	case s.End == openEnd:
		return "from " + detect.Stamp(s.Start) + " on"
	}
	return detect.Stamp(s.Start) + " to " + detect.Stamp(s.End)
}

// index makes what Named, At and the like look in, and notes sockets that two
// probes claim at once.
func (r *Register) index(file string) {
	r.names, r.folded = map[string]int{}, map[string][]string{}
	r.claims, r.ports, r.known = map[socket][]Claim{}, map[string][]string{}, map[string]bool{}
	users := map[socket][]user{}
	for i := range r.Probes {
		p := &r.Probes[i]
		r.names[p.Name] = i
		r.folded[table.Fold(p.Name)] = append(r.folded[table.Fold(p.Name)], p.Name)
		for j := range p.Wirings {
			if w := &p.Wirings[j]; w.Port != "" {
				users[socket{w.Logger, w.Port}] = append(users[socket{w.Logger, w.Port}], user{i, w})
			}
		}
	}
	for _, s := range sortedSockets(users) {
		r.disentangle(file, s, users[s])
		for _, u := range users[s] {
			r.claims[s] = append(r.claims[s], Claim{Probe: u.probe, Span: u.wiring.Span})
		}
		slices.SortFunc(r.claims[s], func(a, b Claim) int {
			return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End), cmp.Compare(a.Probe, b.Probe))
		})
		r.known[s.port] = true
		if s.logger != "" {
			r.ports[s.logger] = append(r.ports[s.logger], s.port)
		}
	}
}

type user struct {
	probe  int
	wiring *detect.Wiring
}

func sortedSockets(users map[socket][]user) []socket {
	all := make([]socket, 0, len(users))
	for s := range users {
		all = append(all, s)
	}
	slices.SortFunc(all, func(a, b socket) int {
		return cmp.Or(strings.Compare(a.logger, b.logger), strings.Compare(a.port, b.port))
	})
	return all
}

// disentangle settles overlapping claims of two probes where installed_on and
// removed_on do, and notes the rest. Open ends are left open otherwise: readings
// from before a probe was in the ground are still its own.
func (r *Register) disentangle(file string, s socket, users []user) {
	for i, a := range users {
		for _, b := range users[i+1:] {
			both := a.wiring.Overlap(b.wiring.Span)
			if a.probe == b.probe || both.Start >= both.End {
				continue
			}
			sa, sb := r.narrowed(a), r.narrowed(b)
			if left := sa.Overlap(sb); left.Start >= left.End {
				a.wiring.Span, b.wiring.Span = sa, sb
				continue
			}
			name, other := r.Probes[b.probe].Name, r.Probes[a.probe].Name
			n := Note{File: file, Line: r.lineOf(b), Column: "port", Severity: table.Warning, Subject: "probe", Name: name,
				Problem: fmt.Sprintf("one port has one probe, and probe %s (line %d) claims it too, %s: set valid_from and valid_to, or mend the port",
					other, r.lineOf(a), spanWords(both)), Text: socketName(s.logger, s.port)}
			r.Notes = append(r.Notes, n)
		}
	}
}

// narrowed closes the open ends of a wiring by when its probe was in the ground.
func (r *Register) narrowed(u user) detect.Span {
	p, s := &r.Probes[u.probe], u.wiring.Span
	if in := p.InstalledOn; in.OK && s.Start == openStart && in.V < s.End {
		s.Start = in.V
	}
	if out := p.RemovedOn; out.OK && s.End == openEnd && out.V > s.Start {
		s.End = out.V
	}
	return s
}

// lineOf is the first row from which a wiring was made.
func (r *Register) lineOf(u user) int {
	for _, row := range r.Details[u.probe].Rows {
		if row.Logger == u.wiring.Logger && row.Port == u.wiring.Port {
			return row.Line
		}
	}
	return 0
}
