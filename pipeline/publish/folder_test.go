package publish

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func digest(b []byte) string { s := sha256.Sum256(b); return hex.EncodeToString(s[:]) }

// nothingLeft says what a failed run left beside its place.
func nothingLeft(t *testing.T, parent string, but ...string) {
	t.Helper()
	entries, err := os.ReadDir(parent)
	if err != nil {
		t.Fatal(err)
	}
	got := []string{}
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if diff := cmp.Diff(append([]string{}, but...), got); diff != "" {
		t.Errorf("beside the run's place: %s", diff)
	}
}

// content is the bytes of a folder's files, by name.
func content(t *testing.T, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, e := range entries {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[e.Name()] = digest(b)
	}
	return out
}

func TestARunReplacesARun(t *testing.T) {
	parent := t.TempDir()
	dir := filepath.Join(parent, "out")
	if _, err := Folder(run(t, dir)); err != nil {
		t.Fatal(err)
	}
	before := content(t, dir)
	second := run(t, dir)
	second.Judged.Exclusions = nil
	if _, err := Folder(second); err != nil {
		t.Fatal(err)
	}
	after := content(t, dir)
	if before["exclusions.csv"] == after["exclusions.csv"] || before["queue.csv"] != after["queue.csv"] {
		t.Error("the second run is not what lies there")
	}
	nothingLeft(t, parent, "out")
}

// A run that fails half way, in a table, in the flags or by an interrupt, leaves
// the run before it byte for byte, and nothing beside it.
func TestAFailureLeavesTheRunBefore(t *testing.T) {
	for name, spoil := range map[string]func(*Input){
		"a table":                   func(in *Input) { in.Visits[0].Cause = "" },
		"the flags":                 func(in *Input) { in.Arranged.Partitions[0].Offsets[3]-- },
		"the ledger":                func(in *Input) { in.Arranged.Files[0].Used++ },
		"an interrupt":              func(in *Input) { in.Ctx = interruptAfter(in.Ctx, 5) },
		"an interrupt in the flags": func(in *Input) { in.Ctx = interruptAfter(in.Ctx, 11) },
	} {
		t.Run(name, func(t *testing.T) {
			parent := t.TempDir()
			dir := filepath.Join(parent, "out")
			if _, err := Folder(run(t, dir)); err != nil {
				t.Fatal(err)
			}
			before := content(t, dir)
			in := run(t, dir)
			spoil(&in)
			_, err := Folder(in)
			if err == nil {
				t.Fatal("it did not fail")
			}
			if strings.HasPrefix(name, "an interrupt") && !errors.Is(err, context.Canceled) {
				t.Errorf("an interrupt came back as %v", err)
			}
			if diff := cmp.Diff(before, content(t, dir)); diff != "" {
				t.Error(diff)
			}
			nothingLeft(t, parent, "out")
		})
	}
}

// interrupted is a context that ends once it was asked n times.
type interrupted struct {
	context.Context
	left atomic.Int64
}

func interruptAfter(ctx context.Context, n int) context.Context {
	i := &interrupted{Context: ctx}
	i.left.Store(int64(n))
	return i
}

func (i *interrupted) Err() error {
	if i.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

func TestFoldersThatAreNotReplaced(t *testing.T) {
	foreign := map[string]func(dir string) error{
		"somebody's folder": func(dir string) error { return os.WriteFile(filepath.Join(dir, "thesis.docx"), []byte("x"), 0o644) },
		"another program's manifest": func(dir string) error {
			return os.WriteFile(filepath.Join(dir, manifestName), []byte(`{"program":"else"}`), 0o644)
		},
		"a broken manifest": func(dir string) error { return os.WriteFile(filepath.Join(dir, manifestName), []byte(`{"prog`), 0o644) },
		"a run with notes in it": func(dir string) error {
			if _, err := Folder(run(t, dir)); err != nil {
				return err
			}
			return os.WriteFile(filepath.Join(dir, "notes.txt"), []byte("mine"), 0o644)
		},
	}
	for name, fill := range foreign {
		t.Run(name, func(t *testing.T) {
			parent := t.TempDir()
			dir := filepath.Join(parent, "out")
			if err := os.Mkdir(dir, 0o755); err != nil {
				t.Fatal(err)
			}
			if err := fill(dir); err != nil {
				t.Fatal(err)
			}
			before := content(t, dir)
			if _, err := Folder(run(t, dir)); !errors.Is(err, ErrFolder) {
				t.Errorf("got %v, want ErrFolder", err)
			}
			if diff := cmp.Diff(before, content(t, dir)); diff != "" {
				t.Error(diff)
			}
			nothingLeft(t, parent, "out")
		})
	}
	t.Run("a file", func(t *testing.T) {
		file := filepath.Join(t.TempDir(), "out")
		if err := os.WriteFile(file, []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := CheckOut(file); !errors.Is(err, ErrFolder) {
			t.Errorf("got %v, want ErrFolder", err)
		}
	})
	t.Run("no name", func(t *testing.T) {
		if err := CheckOut(""); !errors.Is(err, ErrFolder) {
			t.Errorf("got %v, want ErrFolder", err)
		}
	})
}

func TestFoldersThatAreTaken(t *testing.T) {
	parent := t.TempDir()
	empty := filepath.Join(parent, "empty")
	if err := os.Mkdir(empty, 0o755); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(parent, "link")
	if err := os.Symlink(empty, link); err != nil {
		t.Skipf("no links here, so none is tested: %v", err)
	}
	for _, dir := range []string{filepath.Join(parent, "a", "b", "new"), empty, link} {
		if _, err := Folder(run(t, dir)); err != nil {
			t.Errorf("%s: %v", dir, err)
		}
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is gone: %v, %v", info, err)
	}
	if info, err := os.Stat(empty); err != nil || info.Mode().Perm()&0o055 != 0o055 {
		t.Errorf("others cannot read the run: %v, %v", info.Mode(), err)
	}
}
