package store

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// Tree is what lies below a folder of the store, as a file system to read.
type Tree struct {
	ctx     context.Context
	Root    Place
	objects map[string]*Object // by their path below the folder
	folders map[string][]fs.DirEntry
	sorted  []string
}

// Tree lists all that lies below a folder. Where nothing does, the error is
// fs.ErrNotExist. Keys that are no path (with two slashes, say) are left out, and so
// is an object with the name of a folder beside it.
func (s *Store) Tree(ctx context.Context, at Place) (*Tree, error) {
	at = at.Folder()
	all, err := s.List(ctx, at, true)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%s: %w: no object has a key that begins so", at, fs.ErrNotExist)
	}
	t := &Tree{ctx: ctx, Root: at, objects: map[string]*Object{}, folders: map[string][]fs.DirEntry{".": nil}}
	for i := range all {
		name := strings.TrimPrefix(all[i].Key, at.Key)
		if !fs.ValidPath(name) {
			continue
		}
		t.objects[name] = &all[i]
		for dir := path.Dir(name); t.folders[dir] == nil && dir != "."; dir = path.Dir(dir) {
			t.folders[dir] = []fs.DirEntry{}
		}
	}
	for dir := range t.folders {
		delete(t.objects, dir)
		if dir != "." {
			up := path.Dir(dir)
			t.folders[up] = append(t.folders[up], fs.FileInfoToDirEntry(info{path.Base(dir), 0, true}))
		}
	}
	for name, o := range t.objects {
		dir := path.Dir(name)
		t.folders[dir] = append(t.folders[dir], fs.FileInfoToDirEntry(info{path.Base(name), o.Size, false}))
		t.sorted = append(t.sorted, name)
	}
	for _, entries := range t.folders {
		slices.SortFunc(entries, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	}
	slices.Sort(t.sorted)
	return t, nil
}

// Names lists the objects by their paths below the folder, sorted.
func (t *Tree) Names() []string { return t.sorted }

// Object gives the object at a path below the folder; nil when there is none.
func (t *Tree) Object(name string) *Object { return t.objects[name] }

// Open opens an object, or a folder to list it.
func (t *Tree) Open(name string) (fs.File, error) {
	if o := t.objects[name]; o != nil {
		return o.Open(t.ctx), nil
	}
	if entries, ok := t.folders[name]; ok {
		return &listing{info: info{path.Base(name), 0, true}, rest: entries}, nil
	}
	return nil, &fs.PathError{Op: "open", Path: t.Root.Join(name).String(), Err: fs.ErrNotExist}
}

// listing is an open folder.
type listing struct {
	info info
	rest []fs.DirEntry
}

func (l *listing) Stat() (fs.FileInfo, error) { return l.info, nil }
func (l *listing) Close() error               { return nil }
func (l *listing) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: l.info.name, Err: fs.ErrInvalid}
}

func (l *listing) ReadDir(n int) ([]fs.DirEntry, error) {
	if n <= 0 {
		n = len(l.rest)
	} else if len(l.rest) == 0 {
		return nil, io.EOF
	}
	n = min(n, len(l.rest))
	out := slices.Clone(l.rest[:n])
	l.rest = l.rest[n:]
	return out, nil
}
