package read

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"probeward/pipeline/store"
	"probeward/schemas"
)

// found is a file to read and the source that says how.
type found struct {
	path   string // as shown: relative to the configuration's folder, with slashes
	disk   string
	object *store.Object // nil: the file is on disk
	entry  string        // the table within the archive, where that holds several
	why    string        // not empty: why it cannot be read
	size   int64
	source *schemas.Source
	place  int // of the source in the configuration
	group  int // see groups
}

// find gives the files that the sources match, sorted by path. A file that two
// sources match goes to the first of them. An archive of several tables is as many
// files, as if it were a folder. tree is the folder's, where it is on an object
// store. The error says that an object store cannot be listed.
func find(ctx context.Context, dir string, tree fs.FS, sources []schemas.Source) ([]found, []string, error) {
	var files []found
	var notes []string
	remote := distance{ctx: ctx, dir: dir}
	remote.tree, _ = tree.(*store.Tree)
	group := groups(sources)
	taken := map[string]string{} // path on disk: the pattern that took it
	for i := range sources {
		src := &sources[i]
		matches, far, err := remote.glob(src.Path)
		if far && err != nil {
			return nil, nil, err // what is not listed may not count as silent
		}
		if !far {
			matches, err = glob(dir, src.Path)
		}
		if err != nil {
			notes = append(notes, fmt.Sprintf("%s: %v", src.Path, err))
			continue
		}
		if len(matches) == 0 {
			notes = append(notes, fmt.Sprintf("%s matches no file", src.Path))
		}
		for _, m := range matches {
			if first, ok := taken[m.disk]; ok {
				if first != src.Path {
					notes = append(notes, fmt.Sprintf("%s is matched by %s and by %s; the first of them reads it", m.path, first, src.Path))
				}
				continue
			}
			taken[m.disk] = src.Path
			if form(m.path) == formUnknown && m.why != "" {
				notes = append(notes, m.path+": "+m.why)
				continue
			}
			if form(m.path) == formUnknown {
				notes = append(notes, fmt.Sprintf("%s is left: not .csv, .txt, .csv.gz, .csv.zst, .zip or .parquet", m.path))
				continue
			}
			m.source, m.place, m.group = src, i, group[i]
			if form(m.path) == formZip && m.why == "" {
				tables, note := m.tables(ctx)
				if files = append(files, tables...); note != "" {
					notes = append(notes, note)
				}
				continue
			}
			files = append(files, m)
		}
	}
	slices.SortFunc(files, func(a, b found) int { return strings.Compare(a.path, b.path) })
	return files, notes, nil
}

// The forms of a file, by its name.
type fileForm uint8

const (
	formUnknown fileForm = iota
	formText
	formGzip
	formZstd
	formZip
	formParquet
)

var suffixes = []struct {
	text string
	form fileForm
}{
	{".csv.gz", formGzip}, {".txt.gz", formGzip}, {".csv.zst", formZstd}, {".txt.zst", formZstd},
	{".csv", formText}, {".txt", formText}, {".zip", formZip}, {".parquet", formParquet},
}

func form(name string) fileForm {
	lower := strings.ToLower(name)
	for _, s := range suffixes {
		if strings.HasSuffix(lower, s.text) {
			return s.form
		}
	}
	return formUnknown
}

// stem is the file's name without folder and suffix.
func stem(name string) string {
	base := path.Base(name)
	lower := strings.ToLower(base)
	for _, s := range suffixes {
		if strings.HasSuffix(lower, s.text) {
			return base[:len(base)-len(s.text)]
		}
	}
	return strings.TrimSuffix(base, path.Ext(base))
}

// glob gives the files below dir that the pattern matches; ** stands for any number
// of folders. Sorted by path.
func glob(dir, pattern string) ([]found, error) {
	pattern = path.Clean(filepath.ToSlash(pattern))
	if name, ok := literal(pattern); ok {
		disk := filepath.FromSlash(name)
		if !path.IsAbs(name) {
			disk = filepath.Join(dir, disk)
		}
		if _, err := os.Lstat(disk); os.IsNotExist(err) {
			return nil, nil
		}
		return []found{look(dir, disk)}, nil
	}
	parts := strings.Split(pattern, "/")
	fixed := 0 // leading parts without wildcards: where the walk starts
	for fixed < len(parts)-1 && !strings.ContainsAny(parts[fixed], `*?[\`) {
		fixed++
	}
	for _, p := range parts {
		if _, err := path.Match(p, ""); err != nil {
			return nil, fmt.Errorf("not a pattern; * ? [a-z] and ** are known: %w", err)
		}
	}
	root := filepath.Join(strings.Split(strings.Join(parts[:fixed], "/"), "/")...)
	if path.IsAbs(pattern) {
		root = string(filepath.Separator) + root
	} else if !filepath.IsAbs(root) {
		root = filepath.Join(dir, root)
	}
	w := walk{dir: dir, pattern: parts[fixed:]}
	if _, err := os.Stat(root); os.IsNotExist(err) {
		return nil, nil
	}
	w.folder(root, nil, nil)
	slices.SortFunc(w.files, func(a, b found) int { return strings.Compare(a.path, b.path) })
	return w.files, nil
}

// literal gives the one name that a pattern without wildcards stands for; a
// backslash, or brackets around it alone, take a wildcard's meaning away.
func literal(pattern string) (string, bool) {
	var name strings.Builder
	for i := 0; i < len(pattern); i++ {
		switch c := pattern[i]; c {
		case '*', '?':
			return "", false
		case '[':
			if i+2 >= len(pattern) || pattern[i+2] != ']' || strings.IndexByte("^]\\", pattern[i+1]) >= 0 {
				return "", false
			}
			name.WriteByte(pattern[i+1])
			i += 2
		case '\\':
			if i++; i == len(pattern) {
				return "", false
			}
			name.WriteByte(pattern[i])
		default:
			name.WriteByte(c)
		}
	}
	return name.String(), true
}

func match(pattern, segments []string) bool {
	if len(pattern) == 0 {
		return len(segments) == 0
	}
	if pattern[0] == "**" {
		return match(pattern[1:], segments) || len(segments) > 0 && match(pattern, segments[1:])
	}
	if len(segments) == 0 {
		return false
	}
	ok, _ := path.Match(pattern[0], segments[0])
	return ok && match(pattern[1:], segments[1:])
}

func shown(dir, disk string) string {
	if dir == "" {
		dir = "."
	}
	if rel, err := filepath.Rel(dir, disk); err == nil {
		return filepath.ToSlash(rel)
	}
	return filepath.ToSlash(disk)
}
