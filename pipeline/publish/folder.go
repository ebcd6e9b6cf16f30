package publish

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
)

// ErrFolder says that the folder to write is not one that may be written.
var ErrFolder = errors.New("folder")

// manifestName marks a folder as a run, and a run as complete.
const manifestName = "manifest.json"

// CheckOut says whether a run may be written there: nothing there, an empty
// folder, or a run that probeward wrote before.
func CheckOut(out string) error {
	if out == "" {
		return fmt.Errorf("%w: say where to write: --out DIR", ErrFolder)
	}
	entries, err := os.ReadDir(out)
	switch {
	case errors.Is(err, os.ErrNotExist) || err == nil && len(entries) == 0:
		return nil
	case err != nil:
		return fmt.Errorf("%w: %s: %w", ErrFolder, out, err)
	}
	var m struct {
		Program string `json:"program"`
	}
	b, err := os.ReadFile(filepath.Join(out, manifestName))
	if err != nil || json.Unmarshal(b, &m) != nil || m.Program != program {
		return fmt.Errorf("%w: %s was not written by probeward, so it is not replaced; name another folder", ErrFolder, out)
	}
	return nil
}

// folder is a run while it is written, beside the place where it will stand.
type folder struct {
	ctx     context.Context
	out     string
	partial string
	files   []Output
}

func newFolder(ctx context.Context, out string) (*folder, error) {
	if err := CheckOut(out); err != nil {
		return nil, err
	}
	out, err := filepath.Abs(out)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(out), 0o755); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	}
	partial, err := os.MkdirTemp(filepath.Dir(out), "."+filepath.Base(out)+".partial-")
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrFolder, err)
	}
	return &folder{ctx: ctx, out: out, partial: partial}, os.Chmod(partial, 0o755)
}

// drop removes what was written; after stand there is nothing to remove.
func (f *folder) drop() { os.RemoveAll(f.partial) }

// write makes one file of the run and books its digest.
func (f *folder) write(name string, rows int64, body func(io.Writer) error) error {
	if err := f.ctx.Err(); err != nil {
		return err
	}
	file, err := os.Create(filepath.Join(f.partial, name))
	if err != nil {
		return err
	}
	sum := sha256.New()
	buffer := bufio.NewWriterSize(io.MultiWriter(file, sum), 1<<18)
	err = body(buffer)
	if err == nil {
		err = buffer.Flush()
	}
	if err == nil {
		err = file.Sync()
	}
	if closing := file.Close(); err == nil {
		err = closing
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	f.files = append(f.files, Output{Name: name, Rows: rows, SHA256: hex.EncodeToString(sum.Sum(nil))})
	return nil
}

// sheet writes a table under each of its names.
func (f *folder) sheet(s *sheet) error {
	for _, name := range s.table.Files {
		body := s.csv
		if filepath.Ext(name) == ".parquet" {
			body = s.parquet
		}
		if err := f.write(name, int64(len(s.rows)), body); err != nil {
			return err
		}
	}
	return nil
}

// outputs lists what was written, by name.
func (f *folder) outputs() []Output {
	slices.SortFunc(f.files, func(a, b Output) int {
		if a.Name < b.Name {
			return -1
		}
		return 1
	})
	return f.files
}

// stand renames the run to its place. A run that stood there goes first aside and
// then away, so that at no moment half of one is there.
func (f *folder) stand() error {
	if err := f.ctx.Err(); err != nil {
		return err
	}
	if dir, err := os.Open(f.partial); err == nil {
		_ = dir.Sync() // some file systems cannot sync a folder; the files are synced
		dir.Close()
	}
	old := f.partial + "-old"
	err := os.Rename(f.out, old)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	had := err == nil
	if err := os.Rename(f.partial, f.out); err != nil {
		if had {
			return errors.Join(err, os.Rename(old, f.out))
		}
		return err
	}
	if had {
		return os.RemoveAll(old)
	}
	return nil
}
