package runfolder

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"probeward/schemas"
)

func folder(files map[string]string) fstest.MapFS {
	tree := fstest.MapFS{}
	for name, text := range files {
		tree[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return tree
}

const manifest = `{"program":"probeward","tables_version":1,"period":{"lookback_start":"2026-04-06T07:00:00Z","window_start":"2026-06-01T07:00:00Z","window_end":"2026-06-08T07:00:00Z","timezone":"America/Los_Angeles"}}`

func TestRows(t *testing.T) {
	r, err := OpenIn(folder(map[string]string{
		"manifest.json": manifest,
		"health.csv":    "verdict,probe,usable_share,rank,usable_now,since,later\nunfit,\"a, old\",0.5,3,true,2026-06-01T07:00:00Z,new\nfit,b,,,false,,\n",
	}), "w23")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := r.Rows(schemas.Health)
	if err != nil || len(rows) != 2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	a, b := rows[0], rows[1]
	if v, ok := a.Number("usable_share"); a.Text("probe") != "a, old" || !ok || v != 0.5 || a.Integer("rank") != 3 || !a.Yes("usable_now") || a.Text("later") != "new" {
		t.Errorf("%+v", a)
	}
	if at, ok := a.Time("since"); !ok || r.Local(at) != "Mon 2026-06-01 00:00" {
		t.Errorf("since %v, %v", at, ok)
	}
	if _, ok := b.Number("usable_share"); ok || b.Integer("rank") != 0 || b.Yes("usable_now") || b.Has("zone") || b.Text("zone") != "" {
		t.Errorf("%+v", b)
	}
	if rows, err := r.Rows(schemas.Queue); err != nil || rows != nil {
		t.Errorf("a table that is not there gave %d rows, %v", len(rows), err)
	}
}

func TestWhatIsNoRun(t *testing.T) {
	for name, files := range map[string]map[string]string{
		"an empty folder":     {},
		"another's manifest":  {"manifest.json": `{"program":"else"}`},
		"a broken manifest":   {"manifest.json": `{`},
		"tables of a later":   {"manifest.json": `{"program":"probeward","tables_version":99}`},
		"a later one's words": {"manifest.json": strings.Replace(manifest, `"tables_version":1`, `"tables_version":2`, 1)},
	} {
		if _, err := OpenIn(folder(files), "w23"); !errors.Is(err, ErrNoRun) || !strings.Contains(err.Error(), "w23") {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, name := range []string{t.TempDir() + "/none", t.TempDir()} {
		if _, err := Open(t.Context(), name); !errors.Is(err, ErrNoRun) || !strings.Contains(err.Error(), "probeward scan --out wrote") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestAChangedTable(t *testing.T) {
	r, err := OpenIn(folder(map[string]string{"manifest.json": manifest, "coverage.csv": "zone,block\nA1,a\nA2\n"}), "w23")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Rows(schemas.Coverage); err == nil || !strings.Contains(err.Error(), "w23/coverage.csv: row 2 has 1 cells, the header 2") {
		t.Errorf("%v", err)
	}
}
