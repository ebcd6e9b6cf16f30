package read_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/klauspost/compress/zstd"

	"probeward/pipeline/read"
	"probeward/schemas"
)

// A file packed or plain gives the same readings; its hash is of the bytes on disk.
func TestPacked(t *testing.T) {
	reg := openFarm(t)
	text := []byte("time,s1,s2\n" + strings.Repeat("2026-05-02 10:00,1500,0.25\n", 3000))
	var gz, zst bytes.Buffer
	g := gzip.NewWriter(&gz)
	_, _ = g.Write(text)
	_ = g.Close()
	z, err := zstd.NewWriter(&zst)
	if err != nil {
		t.Fatal(err)
	}
	_, _ = z.Write(text)
	_ = z.Close()
	zipped := func(names ...string) []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for _, n := range names {
			w, err := z.Create(n)
			if err != nil {
				t.Fatal(err)
			}
			_, _ = w.Write(text)
		}
		_ = z.Close()
		return b.Bytes()
	}
	dumps := map[string]string{}
	for name, packed := range map[string][]byte{"L1.csv": text, "L1.csv.gz": gz.Bytes(), "L1.csv.zst": zst.Bytes(), "L1.zip": zipped("readme.md", "export.csv")} {
		dir := t.TempDir()
		write(t, dir, name, packed)
		res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "L1.*"}), reg)
		dumps[name] = strings.ReplaceAll(dump(reg, res), "note L1.zip: \"readme.md\" in it left: not .csv or .txt, packed or not\n", "")
		if f := res.Files[0]; f.Bytes != int64(len(packed)) || len(f.SHA256) != 64 || f.Used != 6000 {
			t.Errorf("%s: %+v", name, f)
		}
	}
	if dumps["L1.csv"] != dumps["L1.csv.gz"] || dumps["L1.csv"] != dumps["L1.csv.zst"] || dumps["L1.csv"] != dumps["L1.zip"] {
		t.Error("packed files give other readings")
	}
	// A download that broke off: what came is used, and the file says so.
	dir := t.TempDir()
	write(t, dir, "L1.csv.gz", gz.Bytes()[:gz.Len()/2])
	write(t, dir, "L2.csv", []byte("time,s1\n2026-05-02 10:00,20\n"))
	write(t, dir, "L3.zip", zipped("sub/L2_b.csv", "._L2_a.csv", "L2_a.csv"))
	res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), reg)
	if f := res.Files[0]; !strings.Contains(f.Err, "unexpected EOF") {
		t.Errorf("broken file: %+v", f)
	}
	if n := len(res.Files); n != 4 || res.Files[2].Path != "L3.zip/L2_a.csv" || res.Files[3].Path != "L3.zip/sub/L2_b.csv" {
		t.Fatalf("%d files", n)
	}
	sum := fmt.Sprintf("%x", sha256.Sum256(text))
	for _, f := range res.Files[2:] {
		if f.Used != 3000 || f.SHA256 != sum || f.Bytes != int64(len(text)) || !strings.Contains(f.Layout, "logger L2") {
			t.Errorf("one table of several: %+v", f)
		}
	}
	if res.Files[1].Used != 1 {
		t.Error("the file after the broken one was not read")
	}
}

func TestFinding(t *testing.T) {
	reg := openFarm(t)
	dir := t.TempDir()
	text := []byte("time,s1\n2026-05-02 10:00,20\n")
	for _, name := range []string{"b/L2.csv", "a/x/y/L2.csv", "L2.csv", "a/readme.md", "a/L1.TXT", "d[1].csv"} {
		write(t, dir, name, text)
	}
	paths := func(sources ...schemas.Source) (string, []string) {
		res := files(t, resolved(t, dir, "UTC", sources...), reg)
		var all []string
		for _, f := range res.Files {
			all = append(all, f.Path)
		}
		return strings.Join(all, " "), res.Notes
	}
	for pattern, want := range map[string]string{
		"*.csv":          "L2.csv d[1].csv",
		"**/*.csv":       "L2.csv a/x/y/L2.csv b/L2.csv d[1].csv",
		"a/**":           "a/L1.TXT a/x/y/L2.csv",
		"[ab]/*":         "a/L1.TXT b/L2.csv",
		"./b/../b/*.csv": "b/L2.csv",
		"b/L2.csv":       "b/L2.csv",
		"c/*.csv":        "",
		"b/none.csv":     "",
		`d\[1\].csv`:     "d[1].csv",
		"d[[]1].csv":     "d[1].csv",
	} {
		if got, _ := paths(schemas.Source{Path: pattern}); got != want {
			t.Errorf("%s: %s, want %s", pattern, got, want)
		}
	}
	got, notes := paths(schemas.Source{Path: "b/*"}, schemas.Source{Path: "**/L2.csv"}, schemas.Source{Path: "nothing/*"}, schemas.Source{Path: "a/*.md"})
	want := []string{
		"b/L2.csv is matched by b/* and by **/L2.csv; the first of them reads it",
		"nothing/* matches no file",
		"a/readme.md is left: not .csv, .txt, .csv.gz, .csv.zst, .zip or .parquet",
		"3 of 4 probes of the register have no reading in any file: a, b, c",
	}
	if d := cmp.Diff(want, notes); d != "" || got != "L2.csv a/x/y/L2.csv b/L2.csv" {
		t.Errorf("%s\n%s", got, d)
	}
}

// The order and the content of a result do not depend on the number of workers.
func TestWorkers(t *testing.T) {
	reg := openFarm(t)
	dir := t.TempDir()
	for i := range 20 {
		write(t, dir, fmt.Sprintf("L%d_%02d.csv", 1+i%3, i), []byte("time,s1\n"+strings.Repeat(fmt.Sprintf("2026-05-02 10:%02d,%d\n", i, i), 100*(20-i))))
	}
	conf := resolved(t, dir, "UTC", schemas.Source{Path: "*"})
	var first string
	for _, workers := range []int{1, 2, 7} {
		var done, total int64
		res, err := read.Files(context.Background(), read.Input{Config: conf, Register: reg, Workers: workers, Progress: func(d, n int64) { done, total = d, n }})
		if err != nil {
			t.Fatal(err)
		}
		text := dump(reg, res) + fmt.Sprint(res.Files, res.Stamps)
		if first == "" {
			first = text
		}
		if text != first {
			t.Errorf("%d workers give another result", workers)
		}
		if done != total || total == 0 {
			t.Errorf("progress ended at %d of %d bytes", done, total)
		}
		res.Release()
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := read.Files(ctx, read.Input{Config: conf, Register: reg}); err == nil {
		t.Error("a canceled context is no error")
	}
}
