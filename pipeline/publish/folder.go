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

	"probeward/pipeline/store"
)

// ErrFolder says that the folder to write is not one that may be written.
var ErrFolder = errors.New("folder")

// manifestName marks a folder as a run, and a run as complete.
const manifestName = "manifest.json"

// CheckOut says whether a run may be written there: nothing there, an empty
// folder, or a run that probeward wrote and that nobody added anything to.
func CheckOut(out string) error {
	if out == "" {
		return fmt.Errorf("%w: say where to write: --out DIR", ErrFolder)
	}
	entries, err := os.ReadDir(out)
	switch {
	case errors.Is(err, os.ErrNotExist) || err == nil && len(entries) == 0:
		return nil
	case err != nil:
		return fmt.Errorf("%w: %w", ErrFolder, err)
	}
	var m Manifest
	b, err := os.ReadFile(filepath.Join(out, manifestName))
	if err != nil || json.Unmarshal(b, &m) != nil || m.Program != program {
		return fmt.Errorf("%w: %s was not written by probeward, so it is not replaced; name another folder", ErrFolder, out)
	}
	for _, e := range entries {
		if e.Name() != manifestName && !slices.ContainsFunc(m.Outputs, func(o Output) bool { return o.Name == e.Name() }) {
			return fmt.Errorf("%w: %s holds %s, which its run did not write, so it is not replaced; move that away or name another folder",
				ErrFolder, out, e.Name())
		}
	}
	return nil
}

// folder is a run while it is written, beside the place where it will stand.
type folder struct {
	ctx     context.Context
	out     string
	partial string
	files   []Output
	remote  *remote // nil: the run stands on disk
}

func newFolder(ctx context.Context, out string) (*folder, error) {
	if store.Is(out) {
		return newRemote(ctx, out)
	}
	if err := CheckOut(out); err != nil {
		return nil, err
	}
	if real, err := filepath.EvalSymlinks(out); err == nil {
		out = real // a link stays, and what it points to is replaced
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
	f := &folder{ctx: ctx, out: out, partial: partial}
	if err := os.Chmod(partial, 0o755); err != nil {
		f.drop()
		return nil, err
	}
	return f, nil
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
	info, err := os.Stat(file.Name())
	if err != nil {
		return err
	}
	f.files = append(f.files, Output{Name: name, Rows: rows, Bytes: info.Size(), SHA256: hex.EncodeToString(sum.Sum(nil))})
	return nil
}

// sheet writes a table under each of its names.
func (f *folder) sheet(s *sheet) error {
	if s.err != nil {
		return s.err
	}
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

// stand renames the run to its place. A run that stood there goes aside first, and
// comes back when the new one cannot take its place: no reader ever sees half of
// one, and for the moment between the two renames there is none.
func (f *folder) stand() error {
	if err := f.ctx.Err(); err != nil {
		return err
	}
	if f.remote != nil {
		return f.remote.send(f)
	}
	syncFolder(f.partial)
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
	syncFolder(filepath.Dir(f.out))
	if had {
		if err := os.RemoveAll(old); err != nil {
			return fmt.Errorf("the run stands in %s; the one before it could not be removed: %w", f.out, err)
		}
	}
	return nil
}

// syncFolder brings a folder's entries to disk. Some file systems cannot; the files
// themselves are synced.
func syncFolder(path string) {
	if dir, err := os.Open(path); err == nil {
		_ = dir.Sync()
		dir.Close()
	}
}
