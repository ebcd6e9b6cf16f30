package config

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"probeward/schemas"
)

// tableKeys are the tables that a folder may hold, by the key that names them; the
// file is KEY.csv.
var tableKeys = []string{"probes", "loggers", "irrigation", "weather", "visits", "overrides"}

// field is where the configuration keeps the path of a table.
func field(c *schemas.Config, key string) *string {
	return map[string]*string{
		"probes": &c.Probes, "loggers": &c.Loggers, "irrigation": &c.Irrig,
		"weather": &c.Weather, "visits": &c.Visits, "overrides": &c.Overrides,
	}[key]
}

// exports are the endings of files that may hold readings.
var exports = []string{".csv", ".txt", ".csv.gz", ".txt.gz", ".csv.zst", ".txt.zst", ".zip", ".parquet"}

// guess fills in what the configuration leaves out: tables by the names of the
// files in the folder when byName says so for their key, and readings by every
// other file that looks like an export. A table that stands there and is not taken
// is mentioned.
func (r *Resolved) guess(byName func(key string) bool) error {
	entries, err := fs.ReadDir(r.tree(), ".")
	if err != nil {
		return refuse("cannot look into the folder %s: %v", r.Dir, err)
	}
	for _, key := range tableKeys {
		at := field(&r.Config, key)
		if *at != "" {
			continue
		}
		for _, e := range entries { // sorted: of two spellings the first, always
			if !strings.EqualFold(e.Name(), key+".csv") || e.IsDir() {
				continue
			}
			if byName(key) {
				*at = e.Name()
				r.Guessed = append(r.Guessed, fmt.Sprintf("%s: %s, by its name", key, e.Name()))
			} else {
				r.Guessed = append(r.Guessed, fmt.Sprintf("%s: none, though the folder holds %s; to use it, write in scan.yaml: %s: %s", key, e.Name(), key, e.Name()))
			}
			break
		}
	}
	if len(r.Readings) > 0 {
		return nil
	}
	files, left, err := r.exports()
	if err != nil {
		return err
	}
	if len(files) == 0 {
		return refuse("no readings: the folder %s holds no %s besides the tables; name the exports under readings in scan.yaml",
			r.Dir, strings.Join(exports, ", "))
	}
	for _, f := range files {
		r.Readings = append(r.Readings, schemas.Source{Path: globEscape(f)})
	}
	r.Guessed = append(r.Guessed, fmt.Sprintf("readings: %d files (%s), the layout of each from its content", len(files), some(files)))
	if len(left) > 0 {
		r.Guessed = append(r.Guessed, fmt.Sprintf("not taken as readings, by their names: %s", some(left)))
	}
	return nil
}

// exports lists the files below the folder that may hold readings, and those left
// aside though they could, both sorted and with slashes.
func (r *Resolved) exports() (files, left []string, err error) {
	taken := map[string]bool{}
	for _, key := range tableKeys {
		taken[path.Clean(strings.ReplaceAll(*field(&r.Config, key), "\\", "/"))] = true
	}
	tree := r.tree()
	err = fs.WalkDir(tree, ".", func(p string, e fs.DirEntry, err error) error {
		if err != nil {
			if p == "." {
				return err
			}
			left = append(left, p+" (cannot be read)")
			return fs.SkipDir
		}
		name := strings.ToLower(e.Name())
		if e.IsDir() {
			if p == "." {
				return nil
			}
			if strings.HasPrefix(name, ".") {
				return fs.SkipDir
			}
			if name == "truth" {
				left = append(left, p+"/")
				return fs.SkipDir
			}
			if _, err := fs.Stat(tree, path.Join(p, "manifest.json")); err == nil {
				left = append(left, p+"/ (a run)")
				return fs.SkipDir
			}
			return nil
		}
		switch {
		case strings.HasPrefix(name, "."), taken[p]:
		case looksLikeTable(name) && export(name), export(name) && prose(name):
			left = append(left, p)
		case export(name):
			files = append(files, p)
		}
		return nil
	})
	if err != nil {
		return nil, nil, refuse("cannot look into the folder %s: %v", r.Dir, err)
	}
	slices.Sort(files)
	slices.Sort(left)
	return files, left, nil
}

func export(name string) bool {
	for _, end := range exports {
		if strings.HasSuffix(name, end) {
			return true
		}
	}
	return false
}

// looksLikeTable holds for a table's file name: a second register further down, say.
func looksLikeTable(name string) bool {
	for _, key := range tableKeys {
		if strings.TrimSuffix(name, ".csv") == key {
			return true
		}
	}
	return false
}

// prose holds for text files that are there to be read by people.
func prose(name string) bool {
	for _, start := range []string{"readme", "license", "licence", "copying", "notice", "changelog"} {
		if strings.HasPrefix(name, start) && strings.HasSuffix(name, ".txt") {
			return true
		}
	}
	return false
}

// globEscape makes a file's name a glob that matches this file alone.
func globEscape(name string) string {
	if !strings.ContainsAny(name, `*?[{\`) {
		return name
	}
	var b strings.Builder
	for _, r := range name {
		switch r {
		case '*', '?', '[', '{':
			b.WriteString("[" + string(r) + "]")
		case '\\':
			b.WriteString(`\\`)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// some names the first few of a list.
func some(names []string) string {
	const most = 3
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
}
