package read_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"probeward/pipeline/read"
	"probeward/pipeline/store/storetest"
	"probeward/schemas"
)

// A pattern finds the same objects in a store as files in a folder, and asks for no
// more of the bucket than it must.
func TestFindingInAStore(t *testing.T) {
	reg := openFarm(t)
	server := storetest.Serve(t)
	text := []byte("time,s1\n2026-05-02 10:00,20\n")
	for _, name := range []string{"b/L2.csv", "a/x/y/L2.csv", "L2.csv", "a/readme.md", "a/L1.TXT", "d[1].csv", "ab/L2.csv"} {
		server.Put("in/"+name, text)
	}
	server.Put("in/a/", nil)
	for pattern, want := range map[string]string{
		"*.csv":       "L2.csv d[1].csv",
		"**/*.csv":    "L2.csv a/x/y/L2.csv ab/L2.csv b/L2.csv d[1].csv",
		"a/**":        "a/L1.TXT a/x/y/L2.csv",
		"[ab]/*":      "a/L1.TXT b/L2.csv",
		"a*/L*":       "a/L1.TXT ab/L2.csv",
		"b/L2.csv":    "b/L2.csv",
		"b/L":         "",
		"c/*.csv":     "",
		`d\[1\].csv`:  "d[1].csv",
		"d[[]1].csv":  "d[1].csv",
		"./b/../b/L*": "b/L2.csv",
	} {
		res := files(t, resolved(t, t.TempDir(), "UTC", schemas.Source{Path: "s3://vineyard/in/" + pattern}), reg)
		var got []string
		for _, f := range res.Files {
			got = append(got, strings.TrimPrefix(f.Path, "s3://vineyard/in/"))
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %v, want %s", pattern, got, want)
		}
	}
}

// Text, packed text, an archive and Parquet read from a store as from a folder, byte
// for byte and digest for digest.
func TestFormsInAStore(t *testing.T) {
	type row struct {
		Time  int64   `parquet:"time,timestamp(microsecond)"`
		Probe string  `parquet:"probe,dict"`
		Value float64 `parquet:"value"`
	}
	var rows []row
	var text strings.Builder
	text.WriteString("time,probe,value\n")
	for i := range 20_000 {
		rows = append(rows, row{ten.UnixMicro() + int64(i)*6e8, []string{"a", "c", "d"}[i%3], float64(i % 100)})
		fmt.Fprintf(&text, "%s,%s,%d\n", ten.AddDate(0, 0, i/144).Format("2006-01-02")+fmt.Sprintf(" %02d:%02d", i%144/6, i%6*10), rows[i].Probe, i%100)
	}
	server := storetest.Serve(t)
	dir := t.TempDir()
	for name, body := range map[string][]byte{
		"long.csv": []byte(text.String()), "long.csv.gz": zipped(t, text.String()), "x.parquet": pack(t, rows), "cut.parquet": pack(t, rows)[:4000],
		"logger=L2/part-0.csv": []byte("time,s1\n2026-05-02 10:00,20\n"), "empty.csv": nil,
	} {
		write(t, dir, name, body)
		server.Put("in/"+name, body)
	}
	reg := openFarm(t)
	near := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "**/*"}), reg)
	far := files(t, resolved(t, t.TempDir(), "UTC", schemas.Source{Path: "s3://vineyard/in/**/*"}), reg)
	if len(near.Files) != 6 || near.Files[0].SHA256 == "" {
		t.Fatalf("%+v", near.Files)
	}
	for i := range far.Files {
		far.Files[i].Path = strings.TrimPrefix(far.Files[i].Path, "s3://vineyard/in/")
	}
	if d := cmp.Diff(near.Files, far.Files); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(dump(reg, near), strings.ReplaceAll(dump(reg, far), "s3://vineyard/in/", "")); d != "" {
		t.Error(d)
	}
}

func zipped(t *testing.T, text string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	_, err := w.Write([]byte(text))
	if err := errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A store that fails to list is an error; one that fails in the midst of a file is
// that file's.
func TestAStoreThatFails(t *testing.T) {
	reg := openFarm(t)
	server := storetest.Serve(t)
	server.Put("in/L2.csv", []byte("time,s1\n2026-05-02 10:00,20\n"))
	server.Put("in/L1.csv", []byte("time,s1\n2026-05-02 10:00,1500\n"))
	conf := resolved(t, t.TempDir(), "UTC", schemas.Source{Path: "s3://vineyard/in/*"})
	server.Mishap(func(w http.ResponseWriter, r *http.Request) bool {
		if !strings.HasSuffix(r.URL.Path, "L1.csv") {
			return false
		}
		storetest.Refuse(w, http.StatusInternalServerError, "InternalError")
		return true
	})
	res := files(t, conf, reg)
	if !strings.Contains(res.Files[0].Err, "500 InternalError") || res.Files[1].Used != 1 || res.Files[1].Err != "" {
		t.Errorf("%+v", res.Files)
	}
	server.Mishap(func(w http.ResponseWriter, _ *http.Request) bool {
		storetest.Refuse(w, http.StatusForbidden, "AccessDenied")
		return true
	})
	if _, err := read.Files(t.Context(), read.Input{Config: conf, Register: reg}); err == nil || !strings.Contains(err.Error(), "does not let these credentials list it") {
		t.Error(err)
	}
	conf.Readings[0].Path = "gs://vineyard/in/*"
	if _, err := read.Files(t.Context(), read.Input{Config: conf, Register: reg}); err == nil || !strings.Contains(err.Error(), "those with s3:// are read") {
		t.Error(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	conf.Readings[0].Path = "s3://vineyard/in/*"
	if _, err := read.Files(ctx, read.Input{Config: conf, Register: reg}); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}
