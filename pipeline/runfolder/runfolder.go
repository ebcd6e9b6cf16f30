// Package runfolder reads back the folder that a scan wrote, on disk or in an object
// store: its manifest, its tables row by row, and what previous knows of it. It reads
// and never writes.
//
// A column that the folder lacks, because an earlier version wrote it, reads as empty;
// one that was added since is there under its name.
package runfolder

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"probeward/pipeline/previous"
	"probeward/pipeline/publish"
	"probeward/pipeline/store"
	"probeward/schemas"
)

// ErrNoRun says that the folder is not one that a scan wrote.
var ErrNoRun = errors.New("no run")

// Run is one run's folder. Manifest has what the scan said of itself; Past has
// verdicts, visits, exclusions and the history of all runs up to this one.
type Run struct {
	Name     string // as it was given
	Manifest publish.Manifest
	Past     *previous.Run
	Zone     *time.Location // the farm's

	tree fs.FS
}

// Open reads a run. The error wraps ErrNoRun when the folder is none, and says what
// would be one.
func Open(ctx context.Context, folder string) (*Run, error) {
	tree, err := treeOf(ctx, folder)
	if err != nil {
		return nil, err
	}
	return OpenIn(tree, folder)
}

func treeOf(ctx context.Context, folder string) (fs.FS, error) {
	if !store.Is(folder) {
		info, err := os.Stat(folder)
		switch {
		case errors.Is(err, os.ErrNotExist):
			return nil, fmt.Errorf("%w: there is no folder %s; name one that probeward scan --out wrote", ErrNoRun, folder)
		case err != nil:
			return nil, fmt.Errorf("%w: %w", ErrNoRun, err)
		case !info.IsDir():
			return nil, fmt.Errorf("%w: %s is a file; name the folder that probeward scan --out wrote", ErrNoRun, folder)
		}
		return os.DirFS(folder), nil
	}
	at, err := store.Parse(folder)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoRun, err)
	}
	s, err := store.FromEnvironment()
	if err != nil {
		return nil, err
	}
	tree, err := s.Tree(ctx, at)
	if err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, fmt.Errorf("%w: %w", ErrNoRun, err)
	}
	return tree, nil
}

// OpenIn is Open for a folder of any file system; name is what messages call it.
func OpenIn(tree fs.FS, name string) (*Run, error) {
	r := &Run{Name: name, tree: tree, Zone: time.UTC}
	b, err := fs.ReadFile(tree, "manifest.json")
	if err == nil {
		err = json.Unmarshal(b, &r.Manifest)
	}
	if err != nil || r.Manifest.Program != "probeward" {
		return nil, fmt.Errorf("%w: %s has no manifest.json of probeward; name the folder that probeward scan --out wrote", ErrNoRun, name)
	}
	if r.Manifest.Tables > schemas.Version {
		return nil, fmt.Errorf("%w that can be read: %s has tables of version %d, and this program knows version %d; use a newer probeward",
			ErrNoRun, name, r.Manifest.Tables, schemas.Version)
	}
	if zone := r.Manifest.Period.Zone; zone != "" {
		if r.Zone, err = time.LoadLocation(zone); err != nil {
			return nil, fmt.Errorf("%s/manifest.json: timezone %q: %w", name, zone, err)
		}
	}
	if r.Past, err = previous.LoadIn(tree, name); err != nil {
		return nil, err
	}
	return r, nil
}

// Row is one row of a table, its cells by column name.
type Row struct {
	place map[string]int
	cells []string
}

// Has says whether the folder's table has the column at all.
func (r Row) Has(column string) bool { _, ok := r.place[column]; return ok }

// Text is a cell's text; empty when the cell is empty or the column is not there.
func (r Row) Text(column string) string {
	if i, ok := r.place[column]; ok && i < len(r.cells) {
		return r.cells[i]
	}
	return ""
}

// Words are a cell's words, blank between.
func (r Row) Words(column string) []string { return strings.Fields(r.Text(column)) }

// Number is a cell's number; ok is false when there is none.
func (r Row) Number(column string) (v float64, ok bool) {
	v, err := strconv.ParseFloat(r.Text(column), 64)
	return v, err == nil
}

// Integer is a cell's whole number, 0 when there is none.
func (r Row) Integer(column string) int64 {
	v, _ := strconv.ParseInt(r.Text(column), 10, 64)
	return v
}

// Yes says whether a cell says true.
func (r Row) Yes(column string) bool { return r.Text(column) == "true" }

// Time is a cell's instant in UTC; ok is false when there is none.
func (r Row) Time(column string) (t time.Time, ok bool) {
	t, err := time.Parse(time.RFC3339Nano, r.Text(column))
	return t.UTC(), err == nil
}

// Rows reads a table that is kept as CSV, in the order written. A table that the
// folder does not have is empty.
func (r *Run) Rows(t schemas.Table) ([]Row, error) {
	name := t.Files[0]
	file, err := r.tree.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer file.Close()
	in := csv.NewReader(file)
	in.FieldsPerRecord = -1
	all, err := in.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s/%s: %w; scan again, or take the folder from where it was copied", r.Name, name, err)
	}
	if len(all) == 0 {
		return nil, nil
	}
	place := map[string]int{}
	for i, column := range all[0] {
		place[column] = i
	}
	out := make([]Row, 0, len(all)-1)
	for n, cells := range all[1:] {
		if len(cells) != len(all[0]) {
			return nil, fmt.Errorf("%s/%s: row %d has %d cells, the header %d: the file was changed since the scan", r.Name, name, n+1, len(cells), len(all[0]))
		}
		for i := range cells {
			if !utf8.ValidString(cells[i]) {
				cells[i] = strings.ToValidUTF8(cells[i], "\uFFFD")
			}
		}
		out = append(out, Row{place, cells})
	}
	return out, nil
}

// Local writes an instant as the clock on the farm's wall shows it.
func (r *Run) Local(t time.Time) string { return t.In(r.Zone).Format("Mon 2006-01-02 15:04") }
