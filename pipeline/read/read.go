package read

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"runtime"
	"slices"
	"sync"
	"time"

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
	noHours int64
}

// Files reads every file that the configuration's sources match. A file that cannot
// be read, or only in part, says so in its Err and does not end the run: the error
// is for a canceled context and for a ledger that does not balance.
func Files(ctx context.Context, in Input) (*Result, error) {
	if in.Allocator == nil {
		in.Allocator = memory.DefaultAllocator
	}
	if in.Workers <= 0 {
		in.Workers = runtime.GOMAXPROCS(0)
	}
	list, notes := find(in.Config.Dir, in.Config.Readings)
	res := &Result{Files: make([]File, len(list)), Notes: notes}
	parts := make([]one, len(list))
	spare := newSpare(in.Allocator)
	defer spare.release()

	progress := newMeter(in.Progress, list)
	queue := make(chan int, len(list))
	for _, i := range bySize(list) {
		queue <- i
	}
	close(queue)
	group, ctx := errgroup.WithContext(ctx)
	for range min(in.Workers, len(list)) {
		group.Go(func() error {
			block := newBlock(spare)
			clock := stamp.NewClock(in.Config.Zone)
			for i := range queue {
				if err := ctx.Err(); err != nil {
					return err
				}
				f := &list[i]
				res.Files[i] = File{Path: f.path, Bytes: f.size}
				s := &sheet{
					ctx: ctx, reg: in.Register, source: f.source, disk: f.disk,
					file: &res.Files[i], block: block, clock: clock, words: newCellWords(f.source),
				}
				s.ledger = ledger{place: i, file: s.file}
				block.start(uint32(i))
				s.read(progress.add)
				parts[i] = one{stamps: s.finish(), batches: block.take(), rejects: s.ledger.rejects, notes: s.notes, noHours: s.noHours}
				if err := ctx.Err(); err != nil {
					return err
				}
				if err := s.file.check(); err != nil {
					return err
				}
			}
			return nil
		})
	}
	err := group.Wait()
	for i := range parts {
		p := &parts[i]
		res.Batches = append(res.Batches, p.batches...)
		slices.SortStableFunc(p.rejects, func(a, b Reject) int { return cmp.Compare(a.Line, b.Line) })
		res.Rejects = append(res.Rejects, p.rejects...)
		res.Stamps = append(res.Stamps, p.stamps...)
		if e := res.Files[i].Err; e != "" {
			res.Notes = append(res.Notes, res.Files[i].Path+": "+e)
		}
		res.Notes = append(res.Notes, p.notes...)
	}
	if note, ok := standardTime(parts, res.Files, in.Config.Zone); ok {
		res.Notes = append(res.Notes, note)
	}
	if err != nil {
		res.Release()
		return nil, fmt.Errorf("read: %w", err)
	}
	return res, nil
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
	src, err := openRaw(s.disk, tell)
	if err != nil {
		s.file.Err = fmt.Sprintf("cannot be opened: %v", err)
		return
	}
	defer src.file.Close()
	err = s.content(src)
	sum, n, hashErr := src.finish()
	s.file.SHA256, s.file.Bytes = sum, n
	if err == nil {
		err = hashErr
	}
	if err != nil {
		s.file.Err = err.Error()
		if s.used > 0 {
			s.file.Err += "; what was read before it is used"
		}
	}
	if s.file.Err == "" && s.layout != nil && s.file.Rows == 0 {
		s.note("no row below the header")
	}
}

// content reads what is in the file.
func (s *sheet) content(src *raw) error {
	f := form(s.disk)
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

// standardTime notes that some clocks seem not to change with the zone's.
func standardTime(parts []one, files []File, zone *time.Location) (string, bool) {
	first, n, rows := "", 0, int64(0)
	for i, p := range parts {
		if p.noHours > 0 {
			if n == 0 {
				first = files[i].Path
			}
			n++
			rows += p.noHours
		}
	}
	if n == 0 {
		return "", false
	}
	_, january := time.Date(2026, 1, 1, 0, 0, 0, 0, zone).Zone()
	_, july := time.Date(2026, 7, 1, 0, 0, 0, 0, zone).Zone()
	remedy := "a zone without summer time"
	if standard := min(january, july); standard%3600 == 0 {
		remedy = fmt.Sprintf("Etc/GMT%+d", -standard/3600) // these names count hours west as positive
	}
	return fmt.Sprintf("%d rows of %d files, the first %s, stand in the hour that %s leaves out in spring: a clock that shows it keeps standard time all year, and its other stamps of the summer are read an hour early; if all loggers do, set timezone: %s",
		rows, n, first, zone, remedy), true
}

// meter adds up progress.
type meter struct {
	sync.Mutex
	tell        func(int64, int64)
	done, total int64
}

func newMeter(tell func(int64, int64), list []found) *meter {
	m := &meter{tell: tell}
	for _, f := range list {
		m.total += f.size
	}
	return m
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
