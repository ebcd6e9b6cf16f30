package read

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"

	"probeward/pipeline/store"
)

// handle is an open file, on disk or in an object store.
type handle interface {
	fs.File
	io.ReaderAt
}

// openAt opens the object; without one the file on disk.
func openAt(ctx context.Context, disk string, object *store.Object) (handle, error) {
	if object != nil {
		return object.Open(ctx), nil
	}
	return os.Open(disk)
}

// distance finds files in object stores.
type distance struct {
	ctx  context.Context
	dir  string // the configuration's folder
	tree *store.Tree
	away *store.Store // nil until it is needed
}

// glob gives the objects that the pattern matches, as glob does files. Not far: the
// pattern is of this machine's files.
func (d *distance) glob(pattern string) (files []found, far bool, err error) {
	switch {
	case store.Is(pattern):
	case strings.Contains(pattern, "://"):
		return nil, true, fmt.Errorf("%s: of object stores, those with s3:// are read", pattern)
	case d.tree != nil:
		return d.within(pattern)
	default:
		return nil, false, nil
	}
	at, err := store.Parse(pattern)
	if err != nil {
		return nil, true, err
	}
	key := path.Clean(at.Key)
	parts, fixed, err := wild(key)
	if err != nil {
		return nil, true, fmt.Errorf("%s: %w", pattern, err)
	}
	if d.away == nil {
		if d.away, err = store.FromEnvironment(); err != nil {
			return nil, true, err
		}
	}
	name, one := literal(key)
	if one {
		at.Key = name
	} else {
		at.Key = strings.Join(parts[:fixed], "/")
		if fixed > 0 {
			at.Key += "/"
		}
		start := parts[fixed]
		at.Key += start[:strings.IndexAny(start+"*", `*?[\`)]
	}
	listed, err := d.away.List(d.ctx, at, !one && (fixed < len(parts)-1 || slices.Contains(parts, "**")))
	if err != nil {
		return nil, true, err
	}
	for i := range listed {
		o := &listed[i]
		if one && o.Key == name || !one && match(parts, strings.Split(o.Key, "/")) {
			files = append(files, d.found(o))
		}
	}
	slices.SortFunc(files, func(a, b found) int { return strings.Compare(a.path, b.path) })
	return files, true, nil
}

// wild cuts a pattern into its parts and counts the leading ones without wildcards.
func wild(pattern string) (parts []string, fixed int, err error) {
	parts = strings.Split(pattern, "/")
	for fixed < len(parts)-1 && !strings.ContainsAny(parts[fixed], `*?[\`) {
		fixed++
	}
	for _, p := range parts {
		if _, err := path.Match(p, ""); err != nil {
			return nil, 0, fmt.Errorf("not a pattern; * ? [a-z] and ** are known: %w", err)
		}
	}
	return parts, fixed, nil
}

// within gives the objects of the configuration's folder that the pattern matches.
func (d *distance) within(pattern string) (files []found, far bool, err error) {
	pattern = path.Clean(pattern)
	if strings.HasPrefix(pattern, "/") || strings.HasPrefix(pattern, "../") {
		return nil, true, fmt.Errorf("%s lies outside of the folder %s; write it as s3://bucket/prefix", pattern, d.dir)
	}
	parts, _, err := wild(pattern)
	if err != nil {
		return nil, true, fmt.Errorf("%s: %w", pattern, err)
	}
	if name, ok := literal(pattern); ok {
		if o := d.tree.Object(name); o != nil {
			files = append(files, d.found(o))
		}
		return files, true, nil
	}
	for _, name := range d.tree.Names() {
		if match(parts, strings.Split(name, "/")) {
			files = append(files, d.found(d.tree.Object(name)))
		}
	}
	return files, true, nil
}

// found is the object as a file to read. Its path is shown from the configuration's
// folder on when it lies in there, else from s3:// on.
func (d *distance) found(o *store.Object) found {
	f := found{path: o.String(), disk: o.String(), object: o, size: o.Size}
	if d.tree != nil && o.Bucket == d.tree.Root.Bucket {
		if rel, ok := strings.CutPrefix(o.Key, d.tree.Root.Key); ok {
			f.path = rel
		}
	}
	return f
}
