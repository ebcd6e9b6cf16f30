package main

import (
	"io"
	"os"
	"sync"
	"time"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"
)

// bars shows how far a stage is, on a terminal only.
type bars struct {
	mu   sync.Mutex
	pool *mpb.Progress
	bar  *mpb.Bar
}

// newBars gives nil when w is no terminal, or one that cannot move its cursor: piped
// runs are quiet. The bars have no colours, so NO_COLOR changes nothing.
func newBars(w io.Writer) *bars {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) || os.Getenv("TERM") == "dumb" {
		return nil
	}
	return &bars{pool: mpb.New(mpb.WithOutput(f), mpb.WithWidth(20), mpb.WithRefreshRate(120*time.Millisecond))}
}

// Stage ends the bar before it and begins the next; a stage of unknown length has none.
func (b *bars) Stage(name, unit string, total int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.end()
	if total <= 0 {
		return
	}
	counters := decor.CountersNoUnit("%d of %d " + unit)
	rate := decor.AverageSpeed(0, "  %.0f "+unit+"/s")
	if unit == "B" {
		counters = decor.CountersKibiByte("% .1f of % .1f")
		rate = decor.AverageSpeed(decor.SizeB1024(0), "  % .1f")
	}
	b.bar = b.pool.New(total, mpb.BarStyle().Lbound(" ").Filler("=").Tip(">").Padding("-").Rbound(" "),
		mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(name, decor.WC{W: 12, C: decor.DindentRight})),
		mpb.AppendDecorators(counters, rate, decor.Name("  "), decor.OnComplete(decor.AverageETA(decor.ET_STYLE_GO), ""), decor.Name(" left")))
}

// Add moves the bar on.
func (b *bars) Add(n int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.bar != nil {
		b.bar.IncrInt64(n)
	}
}

func (b *bars) end() {
	if b.bar != nil {
		b.bar.Abort(true)
		b.bar = nil
	}
}

// Wait takes the bars off the screen before the words come.
func (b *bars) Wait() {
	b.mu.Lock()
	b.end()
	b.mu.Unlock()
	b.pool.Wait()
}
