package arrange

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"strings"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"

	"probeward/detectors/detect"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// Result is the readings by probe, and what became of the others.
type Result struct {
	Settled
	Partitions []*Partition
	Files      []read.File   // the ledger, completed
	Rejects    []read.Reject // the reader's, and this stage's behind them
	Rejected   []int         // readings rejected, by the probe's place in the register
	Peaks      []Peak        // by the probe's place in the register
	// Contradictions are the stamps, by the probe's place, at which two files or
	// lines give different values; sorted, the first few thousand of each.
	Contradictions [][]int64
}

// Peak is the highest value of a probe as exported, and its longest unbroken
// stand there: several probes with the same one show where the scale ends.
type Peak struct {
	Value float64
	Stand int // readings; 0: the probe has no value
}

// partitionRows is about how many rows a partition holds: large enough that its
// columns are worth their overhead, small enough that two workers share evenly.
const partitionRows = 1 << 18

// Probes arranges what was read. It takes the batches over: they are released.
func Probes(in *read.Result, reg *register.Register, ask Ask) (*Result, error) {
	t := newTally(ask.Zone)
	t.listen(in.Batches, reg.Probes)
	if len(t.days) == 0 {
		return nil, fmt.Errorf("%w: no reading could be joined to a probe%s", ErrNothing, obstacles(in))
	}
	settled, err := t.settle(ask)
	if err != nil {
		return nil, err
	}
	r := &Result{Settled: settled, Files: in.Files, Rejects: in.Rejects,
		Rejected: make([]int, len(reg.Probes)), Peaks: make([]Peak, len(reg.Probes)), Contradictions: make([][]int64, len(reg.Probes))}
	for _, rej := range in.Rejects {
		if rej.Probe >= 0 {
			r.Rejected[rej.Probe] += int(rej.Readings)
		}
	}
	s := &sorter{result: r, in: in, probes: reg.Probes}
	s.firstOutside = len(r.Rejects)
	s.keep()
	s.scatter()
	in.Release()
	in.Batches = nil
	if r.Kept() == 0 {
		return nil, fmt.Errorf("%w: no reading lies between %s and %s; give --until or a longer window", ErrNothing,
			detect.Stamp(r.Period.Lookback), detect.Stamp(r.Period.Window.End))
	}
	return r, r.balance()
}

// Kept counts the readings that were handed on.
func (r *Result) Kept() (n int64) {
	for _, p := range r.Partitions {
		n += p.Record.NumRows()
	}
	return n
}

// Times gives a function from a probe's place to its stamps that have a value,
// sorted. The slice is good until the next call.
func (r *Result) Times() func(probe int) []int64 {
	var buffer []int64
	return func(probe int) []int64 {
		n := sort.Search(len(r.Partitions), func(i int) bool { return r.Partitions[i].First > probe }) - 1
		v := r.Partitions[n].View(probe - r.Partitions[n].First)
		if v.value.NullN() == 0 {
			return v.Time
		}
		buffer = buffer[:0]
		for i, t := range v.Time {
			if !v.Blank(i) {
				buffer = append(buffer, t)
			}
		}
		return buffer
	}
}

// Release lets go of the partitions.
func (r *Result) Release() {
	for _, p := range r.Partitions {
		p.Record.Release()
	}
	r.Partitions = nil
}

// balance holds the ledger to its law: what was read was used, repeated or rejected.
func (r *Result) balance() error {
	used := int64(0)
	for _, f := range r.Files {
		if f.Read != f.Used+f.Repeated+f.Rejected {
			return fmt.Errorf("%s: the ledger does not balance: %d read, %d used, %d repeated, %d rejected",
				f.Path, f.Read, f.Used, f.Repeated, f.Rejected)
		}
		used += f.Used
	}
	if kept := r.Kept(); kept != used {
		return fmt.Errorf("the ledger does not balance: %d readings used by file, %d arranged", used, kept)
	}
	return nil
}

// keep books the readings outside the period and counts the others by probe.
func (s *sorter) keep() {
	whole := s.result.Period.Whole()
	s.counts = make([]int, len(s.probes))
	s.bases = make([]uint32, len(s.in.Batches))
	base := uint32(0)
	for n, b := range s.in.Batches {
		s.bases[n] = base
		base += uint32(b.NumRows())
		times := micros(b.Column(schemas.ColTime).(*array.Timestamp).TimestampValues())
		who := b.Column(schemas.ColProbe).(*array.Uint32).Uint32Values()
		for i, t := range times {
			if t >= whole.Start && t < whole.End {
				s.counts[who[i]]++
				continue
			}
			s.outside(b, i, t)
		}
		s.temperature = s.temperature || b.Column(schemas.ColTemperature).NullN() < int(b.NumRows())
		s.battery = s.battery || b.Column(schemas.ColBattery).NullN() < int(b.NumRows())
	}
}

// outside books one reading that lies outside the period: one reject for each
// stretch of a file's lines, since a season's export would list millions.
func (s *sorter) outside(b arrow.Record, i int, t int64) {
	file := int(b.Column(schemas.ColFile).(*array.Uint32).Value(i))
	line := int(b.Column(schemas.ColLine).(*array.Uint32).Value(i))
	kind := s.outsideKind(t)
	f := &s.result.Files[file]
	f.Used--
	f.Rejected++
	if n := len(s.result.Rejects); n > 0 && s.lastOutside == (outsideKey{file, kind}) && s.firstOutside < n {
		last := &s.result.Rejects[n-1]
		if line == last.LastLine || line == last.LastLine+1 {
			last.LastLine = line
			last.Readings++
			return
		}
	}
	s.lastOutside = outsideKey{file, kind}
	s.result.Rejects = append(s.result.Rejects, read.Reject{
		File: file, Line: line, LastLine: line, Why: s.outsideWhy(kind), Text: detect.Stamp(t), Readings: 1, Probe: -1,
	})
}

type outsideKey struct {
	file int
	kind outsideKind
}

type outsideKind uint8

const (
	early outsideKind = iota
	late
	never // outside the farm's own span: a clock
)

func (s *sorter) outsideKind(t int64) outsideKind {
	p := s.result.Period
	farm := s.result.Farm
	const slack = 2 * detect.Day // a logger may be read a little before or after the others
	switch {
	case s.result.Loggers >= 3 && (t < farm.Start-slack || t >= farm.End+slack):
		return never
	case t < p.Lookback:
		return early
	default:
		return late
	}
}

func (s *sorter) outsideWhy(k outsideKind) string {
	p := s.result.Period
	switch k {
	case early:
		return fmt.Sprintf("before the look-back, which starts at %s; give a longer lookback to use it", detect.Stamp(p.Lookback))
	case late:
		return fmt.Sprintf("at or after the window's end, %s; give --until to judge a later one", detect.Stamp(p.Window.End))
	default:
		return fmt.Sprintf("the stamp cannot be: most loggers report from %s to %s; see the logger's clock",
			detect.Stamp(s.result.Farm.Start), detect.Stamp(s.result.Farm.End))
	}
}

// obstacles says why nothing could be joined: what kept the most readings out, and
// what was said of the files, a line each.
func obstacles(in *read.Result) string {
	const shown = 6
	count := map[string]int64{}
	for _, r := range in.Rejects {
		count[r.Why] += max(r.Readings, 1)
	}
	lines := make([]string, 0, len(count))
	for why := range count {
		lines = append(lines, why)
	}
	slices.SortFunc(lines, func(a, b string) int { return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(a, b)) })
	lines = append(lines, in.Notes...)
	var b strings.Builder
	for _, l := range lines[:min(shown, len(lines))] {
		b.WriteString("\n  " + l)
	}
	if more := len(lines) - shown; more > 0 {
		fmt.Fprintf(&b, "\n  and %d more", more)
	}
	return b.String()
}
