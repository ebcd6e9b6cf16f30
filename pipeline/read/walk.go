package read

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// walk gathers the files below a folder that a pattern matches, through links. What
// cannot be looked into is gathered too, with why.
type walk struct {
	dir     string
	pattern []string
	files   []found
}

// folder looks into a folder that stands as segments below the walk's root. links
// are the folders behind the links on the way: none is entered twice.
func (w *walk) folder(disk string, segments, links []string) {
	entries, err := os.ReadDir(disk)
	if err != nil {
		w.files = append(w.files, found{path: shown(w.dir, disk), disk: disk, why: cannot(err)})
	}
	for _, e := range entries {
		below := append(segments[:len(segments):len(segments)], e.Name())
		here := filepath.Join(disk, e.Name())
		matches := match(w.pattern, below)
		behind := links
		folder := e.IsDir()
		if e.Type()&fs.ModeSymlink != 0 {
			info, err := os.Stat(here)
			if folder = err == nil && info.IsDir(); folder {
				target, err := filepath.EvalSymlinks(here)
				if err != nil || slices.Contains(links, target) || within(disk, target) {
					continue // a link to a folder that it lies in
				}
				behind = append(links[:len(links):len(links)], target)
			}
		}
		if matches && (!folder || form(e.Name()) != formUnknown) {
			w.files = append(w.files, look(w.dir, here))
		}
		if folder && (slices.Contains(w.pattern, "**") || len(below) < len(w.pattern)) {
			w.folder(here, below, behind)
		}
	}
}

// within says whether the folder is target or lies below it.
func within(folder, target string) bool {
	real, err := filepath.EvalSymlinks(folder)
	if err != nil {
		return false
	}
	rel, err := filepath.Rel(target, real)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

// look says of a file how large it is, or why it cannot be read.
func look(dir, disk string) found {
	f := found{path: shown(dir, disk), disk: disk}
	info, err := os.Stat(disk)
	switch {
	case os.IsNotExist(err):
		f.why = "a link to a file that is not there"
	case err != nil:
		f.why = cannot(err)
	case info.IsDir():
		f.why = fmt.Sprintf("a folder, though named as a file; to read what is in it, write path: %s/*", f.path)
	case !info.Mode().IsRegular():
		f.why = "no plain file"
	default:
		f.size = info.Size()
	}
	return f
}

// cannot words an error of the file system without the path, which stands before it.
func cannot(err error) string {
	var of *fs.PathError
	if errors.As(err, &of) {
		err = of.Err
	}
	return fmt.Sprintf("cannot be opened: %v", err)
}

// changed says whether the file that was opened as was written to, or another took its
// name, since: what was read may be parts of two. An object store says so by itself.
func (s *sheet) changed(was fs.FileInfo) bool {
	if s.object != nil {
		return false
	}
	is, err := os.Stat(s.disk)
	return err != nil || !os.SameFile(was, is) || is.Size() != was.Size() || !is.ModTime().Equal(was.ModTime())
}
