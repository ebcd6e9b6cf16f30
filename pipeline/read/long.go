package read

import (
	"fmt"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/read/stamp"
)

// long is what reading a reading a row must remember.
type long struct {
	probes  []probeState // by place in the register
	next    []int32      // the probe that followed this one last: interleaved rows keep their order
	prev    int
	boxes   map[string]*longBox
	lost    run // rows whose stamp cannot be read
	unknown map[string]*stranger
	turns   map[int]*stamp.Turn
}

// probeState is one probe in one file.
type probeState struct {
	rows int64
	last int64 // stamp
	box  *longBox
	span detect.Span // in which box holds
	run  run
}

// longBox is one logger in one file.
type longBox struct {
	name   string
	digest digest
	lags   lags
	nights nights
	fixed  bool // its clock keeps standard time
	leader int  // the probe whose stamp came last
	locked bool // rows come probe after probe: the leader's stamps alone are noted
}

// stranger is a name that the register does not have.
type stranger struct {
	run
	readings int64
}

// strangers bounds how many unknown names are listed apart.
const strangers = 1000

func (s *sheet) startLong() {
	n := len(s.reg.Probes)
	s.long = long{
		probes: make([]probeState, n), next: make([]int32, n), prev: -1,
		boxes: map[string]*longBox{}, unknown: map[string]*stranger{}, turns: map[int]*stamp.Turn{},
	}
	for i := range s.long.next {
		s.long.next[i] = int32((i + 1) % n)
	}
}

// probeOf finds the probe of a name; -1 when the register has none.
func (s *sheet) probeOf(name []byte) int {
	l := &s.long
	if l.prev >= 0 {
		if guess := int(l.next[l.prev]); s.reg.Probes[guess].Name == string(name) {
			l.prev = guess
			return guess
		}
		if s.reg.Probes[l.prev].Name == string(name) {
			return l.prev
		}
	}
	i, ok := s.reg.Named(string(name))
	if !ok {
		if i, ok = s.reg.Named(readable(name)); !ok {
			return -1
		}
	}
	if l.prev >= 0 {
		l.next[l.prev] = int32(i)
	}
	l.prev = i
	return i
}

// stranger rejects a reading of a probe that the register does not have: one
// stretch a name.
func (s *sheet) stranger(name []byte, line int) {
	l := &s.long
	r, ok := l.unknown[string(name)]
	if !ok {
		key := string(name)
		if len(l.unknown) >= strangers {
			key = moreStrangers
			r = l.unknown[key]
		}
		if r == nil {
			r = &stranger{}
			l.unknown[key] = r
		}
	}
	r.readings++
	if r.at > 0 { // the stretch keeps its reason, whatever comes between
		reject := &s.ledger.rejects[r.at-1]
		reject.LastLine = line
		reject.Readings++
		s.file.Read++
		s.file.Rejected++
		return
	}
	why := whyStranger
	if near, ok := s.reg.Nearest(readable(name)); ok {
		why += fmt.Sprintf("; is it %q?", near)
	} else {
		why += "; add it, or leave the file out"
	}
	s.ledger.reject(&r.run, 0, line, s.layout.probeColumn(), why, name, 1, -1)
}

// instant gives the row's instant for the probe; not ok when no such hour exists.
func (s *sheet) instant(probe int) (int64, bool) {
	w := &s.when
	if w.zoned || w.plain && s.kept == nil {
		return w.t, true
	}
	// Which logger it is may turn on the hour, and which hour on the logger: near
	// enough is soon enough, since nobody moves a probe in the night of a change.
	st := &s.long.probes[probe]
	if near := w.wall - s.clock.Before(w.wall); st.box == nil || !st.span.Holds(near) {
		s.wire(st, probe, near)
	}
	switch {
	case st.box.fixed:
		return w.wall - s.kept.offset, true
	case w.plain:
		return w.t, true
	}
	turn := s.long.turns[probe]
	if turn == nil {
		turn = &stamp.Turn{}
		s.long.turns[probe] = turn
	}
	return s.resolve(turn, &st.box.nights)
}

// reading takes one row: what its probe said at t.
func (s *sheet) reading(probe int, t int64, line int, v float64, code uint8, what kind, text []byte) {
	st := &s.long.probes[probe]
	s.digest(st, probe, t, line)
	s.compare(&st.box.lags, t, st.box.fixed)
	st.rows++
	st.last = t
	column := s.layout.value
	if what == isBad {
		v, code, what = s.withUnit(text, probe)
	}
	switch what {
	case isValue:
		s.block.put(t, uint32(probe), v, uint32(line), uint16(column))
	case isBlank:
		s.block.blank(t, uint32(probe), code, uint32(line), uint16(column))
	default:
		s.ledger.reject(&st.run, st.rows, line, s.layout.names[column], s.badNumber(text, probe), text, 1, probe)
		return
	}
	s.reached(t)
}

// digest notes the stamp for the probe's logger. A step back that comes with
// another probe, and is none of that probe's own, is no clock's doing: the rows
// come probe after probe, and from there on one probe's stamps stand for all.
func (s *sheet) digest(st *probeState, probe int, t int64, line int) {
	if st.box == nil || !st.span.Holds(t) {
		s.wire(st, probe, t)
	}
	b := st.box
	d := &b.digest
	switch {
	case !d.started:
		d.add(t, line)
		b.leader = probe
	case b.locked && probe != b.leader:
		d.rows++
	case t == d.last && (st.rows == 0 || st.last != t):
		d.another(line)
	case t < d.last && probe != b.leader && (st.rows == 0 || t >= st.last):
		b.locked = true
		d.rows++
	default:
		d.add(t, line)
		b.leader = probe
	}
}

// wire finds the logger that the probe was at then.
func (s *sheet) wire(st *probeState, probe int, t int64) {
	name := ""
	st.span = detect.Span{Start: t, End: t + 1}
	switch wirings := s.reg.Probes[probe].Wirings; {
	case s.layout.named:
		name = s.layout.fixed
	default:
		for i, w := range wirings {
			// Between its wirings, the probe is taken to be where it was before.
			if i == 0 || t >= w.Start {
				name = w.Logger
				st.span = w.Span
			}
		}
	}
	b := s.long.boxes[name]
	if b == nil {
		b = &longBox{name: name, fixed: s.kept.standard(s.clockName(name))}
		s.long.boxes[name] = b
	}
	st.box = b
}

// wrongUnit rejects a reading for its unit.
func (s *sheet) wrongUnit(unit []byte, probe int, line int) {
	st := &s.long.probes[probe]
	st.rows++
	why := fmt.Sprintf(whyUnit, excerpt(unit), s.reg.Probes[probe].Unit)
	s.ledger.reject(&st.run, st.rows, line, s.layout.unitColumn(), why, unit, 1, probe)
}

func (s *sheet) finishLong() []detect.Stamps {
	l := s.layout
	names := make([]string, 0, len(s.long.boxes))
	for n := range s.long.boxes {
		names = append(names, n)
	}
	slices.Sort(names)
	var stamps []detect.Stamps
	for _, n := range names {
		b := s.long.boxes[n]
		stamps = append(stamps, s.compared(b.digest.stamps(s.file.Path, n), &b.lags))
		if n != "" {
			s.file.Loggers = append(s.file.Loggers, n)
		}
	}
	for i, name := range l.names {
		if l.ignored[i] || !l.taken(i) && i != l.probe && i != l.value && i != l.unit {
			s.file.IgnoredColumns = append(s.file.IgnoredColumns, name)
		}
	}
	return stamps
}
