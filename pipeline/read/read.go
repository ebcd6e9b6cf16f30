package read

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/memory"
	"golang.org/x/sync/errgroup"

	"probeward/detectors/detect"
	"probeward/pipeline/config"
	"probeward/pipeline/read/stamp"
	"probeward/pipeline/register"
)

// Input is what the reader needs.
type Input struct {
	Config    *config.Resolved
	Register  *register.Register
	Workers   int                               // files read at once; 0: as many as there are processors
	Allocator memory.Allocator                  // of the batches; nil: Go's
	Progress  func(bytesDone, bytesTotal int64) // called now and then, by one goroutine at a time; may be nil
}

// Result is what all files held. Its order and content do not depend on the
// number of workers.
type Result struct {
	// Batches of schemas.Readings, of at most 65,536 rows of one file each, in the
	// order of Files, then of lines, then of columns. Values are as exported, in
	// the register's unit.
	Batches []arrow.Record
	Files   []File          // sorted by path; the place is what the batches call file
	Rejects []Reject        // by file, then line, then column
	Stamps  []detect.Stamps // a digest for each file and logger, by file, then logger
	Notes   []string        // what was guessed, left or could not be opened
	Strays  []Stray         // names that files hold and the register does not
	Unheard []string        // probes of the register without a reading in any file, sorted
}

// Release frees the batches.
func (r *Result) Release() {
	for _, b := range r.Batches {
		b.Release()
	}
	r.Batches = nil
}

// one is what came out of one file.
type one struct {
	batches []arrow.Record
	rejects []Reject
	stamps  []detect.Stamps
	notes   []string
	clocks  []clockOf
	strays  []stray
	joined  bool // Err says no more than strays does
}

// Files reads every file that the configuration's sources match. A file that cannot
// be read, or only in part, says so in its Err and does not end the run: the error
// is for a canceled context, an object store that cannot be listed, and a ledger that
// does not balance.
//
// Files of a source whose stamps prove that its clocks keep standard time are read
// a second time; see standard.go.
func Files(ctx context.Context, in Input) (*Result, error) {
	if in.Allocator == nil {
		in.Allocator = memory.DefaultAllocator
	}
	if in.Workers <= 0 {
		in.Workers = runtime.GOMAXPROCS(0)
	}
	list, notes, err := find(ctx, in.Config.Dir, in.Config.Tree, in.Config.Readings)
	if err != nil {
		return nil, fmt.Errorf("read: %w", err)
	}
	res := &Result{Files: make([]File, len(list)), Notes: notes}
	r := &reader{in: in, list: list, files: res.Files, parts: make([]one, len(list)), spare: newSpare(in.Allocator)}
	defer r.spare.release()
	r.meter.tell = in.Progress

	err = r.pass(ctx, bySize(list))
	if err == nil {
		r.kept = decide(r.list, r.parts, in.Config.Zone)
		err = r.pass(ctx, r.again())
	}
	for i := range r.parts {
		p := &r.parts[i]
		res.Batches = append(res.Batches, p.batches...)
		slices.SortStableFunc(p.rejects, func(a, b Reject) int { return cmp.Compare(a.Line, b.Line) })
		res.Rejects = append(res.Rejects, p.rejects...)
		res.Stamps = append(res.Stamps, p.stamps...)
		if e := res.Files[i].Err; e != "" && !p.joined {
			res.Notes = append(res.Notes, res.Files[i].Path+": "+e)
		}
		res.Notes = append(res.Notes, p.notes...)
	}
	if err != nil {
		res.Release()
		return nil, fmt.Errorf("read: %w", err)
	}
	tallies := survey(res.Batches, in.Register)
	for i, t := range tallies {
		if t.heard == 0 {
			res.Unheard = append(res.Unheard, in.Register.Probes[i].Name)
		}
	}
	var others int64
	res.Strays, others = gatherStrays(r.parts, res.Files, in.Register)
	res.Notes = append(res.Notes, noteStrays(res.Strays, others)...)
	if note, ok := noteUnheard(res.Unheard, len(in.Register.Probes)); ok {
		res.Notes = append(res.Notes, note)
	}
	res.Notes = append(res.Notes, noteMagnitudes(tallies, in.Register)...)
	res.Notes = append(res.Notes, keptNotes(r.kept, in.Config.Readings, in.Config.Zone)...)
	if note, ok := leftOut(r.parts, res.Files, in.Config.Zone); ok {
		res.Notes = append(res.Notes, note)
	}
	return res, nil
}

// reader holds what the passes over the files share. Each place in files and parts
// is written by one worker at a time.
type reader struct {
	in    Input
	list  []found
	files []File
	parts []one
	kept  map[int]*kept // by group: how sources of standard time are read; nil on the first pass
	spare *spare
	meter meter
}

// pass reads the files at these places.
func (r *reader) pass(ctx context.Context, places []int) error {
	queue := make(chan int, len(places))
	for _, i := range places {
		queue <- i
		r.meter.total += r.list[i].size
	}
	close(queue)
	group, ctx := errgroup.WithContext(ctx)
	for range min(r.in.Workers, len(places)) {
		group.Go(func() error {
			block := newBlock(r.spare)
			clock := stamp.NewClock(r.in.Config.Zone)
			for i := range queue {
				if err := ctx.Err(); err != nil {
					return err
				}
				if err := r.one(ctx, i, block, clock); err != nil {
					return err
				}
			}
			return nil
		})
	}
	return group.Wait()
}

// one reads one file; what it gave before is dropped.
func (r *reader) one(ctx context.Context, i int, block *block, clock *stamp.Clock) error {
	for _, b := range r.parts[i].batches {
		b.Release()
	}
	f := &r.list[i]
	r.files[i] = File{Path: f.path, Bytes: f.size}
	s := &sheet{
		ctx: ctx, reg: r.in.Register, source: f.source, disk: f.disk, object: f.object, entry: f.entry,
		file: &r.files[i], block: block, clock: clock, words: newCellWords(f.source, r.in.Config.DecimalMark(f.place)),
		kept: r.kept[f.group], proof: r.parts[i].inside(),
	}
	r.parts[i] = one{}
	s.ledger = ledger{place: i, file: s.file}
	block.start(uint32(i))
	if s.file.Err = f.why; f.why == "" {
		s.read(r.meter.add)
	}
	r.parts[i] = one{stamps: s.finish(), batches: block.take(), rejects: s.ledger.rejects, notes: s.notes, clocks: s.clocks(), strays: s.strays(), joined: s.joinless}
	if err := ctx.Err(); err != nil {
		return err
	}
	return s.file.check()
}

// bySize gives the files' places, the largest first, so that no worker ends with it.
func bySize(list []found) []int {
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(list[b].size, list[a].size) })
	return order
}

// read reads the file into the block and the ledger; what goes wrong stands in Err.
func (s *sheet) read(tell func(int64)) {
	src, f, err := s.open(tell)
	if err != nil {
		s.file.Err = cannot(err)
		return
	}
	defer src.file.Close()
	err = s.content(src, f)
	sum, n, hashErr := src.finish()
	if s.changed(src.was) {
		s.note("the file changed while it was read; scan again when nothing writes to it")
	}
	if hashErr == nil {
		s.file.SHA256, s.file.Bytes = sum, n
	} else {
		err = hashErr // whatever it made of the bytes that came
	}
	if err != nil {
		s.file.Err = strings.TrimPrefix(err.Error(), s.disk+": ")
		if s.used > 0 {
			s.file.Err += "; what was read before it is used"
		}
	}
	if s.file.Err == "" && s.layout != nil && s.file.Rows == 0 {
		s.note("no row below the header")
	}
}

// content reads what is in the file.
func (s *sheet) content(src *raw, f fileForm) error {
	if f == formParquet {
		return s.readParquet(src.file)
	}
	text, done, err := unpacked(src, f)
	if err != nil {
		return err
	}
	defer done()
	fore := readAhead(text)
	defer fore.close()
	return s.readText(io.Reader(fore))
}

// meter adds up progress.
type meter struct {
	sync.Mutex
	tell        func(int64, int64)
	done, total int64
}

func (m *meter) add(n int64) {
	if m.tell == nil {
		return
	}
	m.Lock()
	defer m.Unlock()
	m.done += n
	m.tell(m.done, max(m.total, m.done))
}
