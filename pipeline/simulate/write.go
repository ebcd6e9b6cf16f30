package simulate

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// marker is the file by which Write knows a folder of its own.
const marker = "simulation.json"

// Write invents a vineyard below dir: dir/feed and dir/truth. It is written
// beside and renamed in whole; a folder that was there is replaced only if Write
// made it or it is empty.
func Write(dir string, o Options) (Summary, error) {
	v, err := Plan(o)
	if err != nil {
		return Summary{}, err
	}
	dir = filepath.Clean(dir)
	if err := replaceable(dir); err != nil {
		return Summary{}, err
	}
	parent := filepath.Dir(dir)
	if err := os.MkdirAll(parent, 0o777); err != nil {
		return Summary{}, fmt.Errorf("cannot make a place for the simulation: %w", err)
	}
	beside, err := os.MkdirTemp(parent, "."+filepath.Base(dir)+"-")
	if err != nil {
		return Summary{}, fmt.Errorf("cannot write beside %s: %w", dir, err)
	}
	defer os.RemoveAll(beside) // after the rename there is nothing left of it
	if err := os.Chmod(beside, 0o755); err != nil {
		return Summary{}, err
	}
	summary, err := newWorld(&v).write(beside)
	if err != nil {
		return Summary{}, fmt.Errorf("cannot write the simulation: %w", err)
	}
	if err := swap(beside, dir); err != nil {
		return Summary{}, fmt.Errorf("cannot put the simulation in place: %w", err)
	}
	return summary, nil
}

// write runs the posts, some at a time, and writes all files. Each post fills
// its own places only, so the order in which they finish changes nothing.
func (w *world) write(root string) (Summary, error) {
	v := w.v
	feed, truth := filepath.Join(root, "feed"), filepath.Join(root, "truth")
	readings := make([]int, len(v.Posts))
	errs := make([]error, len(v.Posts))
	evidence := make([][]shown, len(v.Posts))
	lookAlikes := make([]string, len(v.Probes))

	workers := v.options.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(workers, len(v.Posts)) {
		group.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(v.Posts) {
					return
				}
				rec := w.live(i)
				for k := range rec.probes {
					lookAlikes[rec.probes[k].probe] = w.lookAlike(&rec.probes[k], &rec)
				}
				evidence[i] = w.shownBy(&rec)
				readings[i], errs[i] = w.exportRecord(feed, &rec)
				errs[i] = errors.Join(errs[i], w.writeTwins(truth, &rec))
			}
		})
	}
	group.Wait()
	if err := errors.Join(errs...); err != nil {
		return Summary{}, err
	}
	w.conclude(evidence)
	s := Summary{Probes: len(v.Probes), Loggers: len(v.Posts), Faults: len(v.Faults), Until: v.Until}
	for _, n := range readings {
		s.Readings += n
	}
	return s, errors.Join(w.writeFeed(feed), w.writeTruth(truth, lookAlikes), w.mark(root, s))
}

// conclude gathers what the posts showed of each fault. A zone's fault is
// visible when three of its probes show it at two posts or more.
func (w *world) conclude(evidence [][]shown) {
	probes, posts := make([]int, len(w.v.Faults)), make([]int, len(w.v.Faults))
	for _, list := range evidence {
		for _, s := range list {
			if s.fault < 0 {
				continue
			}
			f := &w.v.Faults[s.fault]
			if f.Fault == "under_emitter" {
				if s.depthCM > 0 {
					f.Visible, f.Why = emitterShown(s, evidence)
					f.Why = fmt.Sprintf("%g %s; %s", f.Strength, unitOf(f.Fault, f.Form), f.Why)
				}
				continue
			}
			if f.zone < 0 {
				f.Visible, f.Why = s.visible, s.why
				continue
			}
			probes[s.fault] += s.probes
			if s.probes > 0 {
				posts[s.fault]++
			}
		}
	}
	for k := range w.v.Faults {
		if f := &w.v.Faults[k]; f.zone >= 0 {
			f.Visible = probes[k] >= 3 && posts[k] >= 2
			f.Why = fmt.Sprintf("%g %s; %d probes at %d posts read otherwise than with the water as logged",
				f.Strength, unitOf(f.Fault, f.Form), probes[k], posts[k])
		}
	}
}

// mark leaves the options and the counts in the folder, and makes it Write's own.
func (w *world) mark(root string, s Summary) error {
	o := w.v.options
	o.Workers = 0
	text, err := json.MarshalIndent(struct {
		Made    string  `json:"made_by"`
		Options Options `json:"options"`
		Summary Summary `json:"summary"`
	}{"probeward simulate", o, s}, "", "  ")
	if err != nil {
		return err
	}
	return writeFile(filepath.Join(root, marker), false, func(out *bufio.Writer) { out.Write(append(text, '\n')) })
}

// replaceable refuses a folder that Write did not make.
func replaceable(dir string) error {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("cannot look into %s: %w", dir, err)
	case len(entries) == 0:
		return nil
	}
	if slices.ContainsFunc(entries, func(e fs.DirEntry) bool { return e.Name() == marker }) {
		return nil
	}
	return fmt.Errorf("%s holds files that no simulation wrote; choose another folder or empty it", dir)
}

// swap puts the new folder where the old one stands, if one does.
func swap(beside, dir string) error {
	old := beside + ".old"
	err := os.Rename(dir, old)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	moved := err == nil
	if err := os.Rename(beside, dir); err != nil {
		if moved {
			return errors.Join(err, os.Rename(old, dir))
		}
		return err
	}
	if moved {
		return os.RemoveAll(old)
	}
	return nil
}
