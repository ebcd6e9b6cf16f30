package main

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"probeward/pipeline/publish"
	"probeward/pipeline/store/storetest"
)

// command runs probeward and gives its exit code and its words.
func command(t *testing.T, args ...string) (int, string) {
	t.Helper()
	var out, words bytes.Buffer
	code := run(t.Context(), args, &out, &words)
	return code, out.String() + words.String()
}

func must(t *testing.T, args ...string) string {
	t.Helper()
	code, words := command(t, args...)
	if code != exitRan {
		t.Fatalf("%s: exit %d: %s", strings.Join(args, " "), code, words)
	}
	return words
}

// vineyard is a small invented one and a first run of it, on disk.
func vineyard(t *testing.T) (feed, local string) {
	t.Helper()
	dir := t.TempDir()
	must(t, "simulate", "--seed", "4", "--probes", "24", "--weeks", "4", "--cadence", "1h", "--out", dir)
	feed, local = filepath.Join(dir, "feed"), filepath.Join(dir, "local")
	must(t, "scan", feed, "--out", local)
	return feed, local
}

func manifestOf(t *testing.T, b []byte) (m publish.Manifest) {
	t.Helper()
	if err := json.Unmarshal(b, &m); err != nil {
		t.Fatal(err)
	}
	return m
}

func bytesOf(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// judged are the tables that may not depend on where the exports lie.
var judged = []string{"health.csv", "findings.csv", "exclusions.csv"}

// A folder gives the same tables on disk and in an object store, and so do exports
// in the store beside a register on disk; its files have the same digests.
func TestTheSameFolderInAnObjectStore(t *testing.T) {
	feed, local := vineyard(t)
	server := storetest.Serve(t)
	server.PutFolder(feed, "farms/hill")

	out := filepath.Join(t.TempDir(), "far")
	must(t, "scan", "s3://vineyard/farms/hill", "--out", out)
	for _, name := range append([]string{"queue.csv", "coverage.csv", "rejects.csv", "flags.parquet"}, judged...) {
		if !bytes.Equal(bytesOf(t, filepath.Join(local, name)), bytesOf(t, filepath.Join(out, name))) {
			t.Errorf("%s differs between the folder on disk and the one in the store", name)
		}
	}
	near, far := manifestOf(t, bytesOf(t, filepath.Join(local, "manifest.json"))), manifestOf(t, bytesOf(t, filepath.Join(out, "manifest.json")))
	if len(near.Inputs) == 0 || len(near.Inputs) != len(far.Inputs) {
		t.Fatalf("%d inputs on disk, %d in the store", len(near.Inputs), len(far.Inputs))
	}
	for i, f := range near.Inputs {
		if g := far.Inputs[i]; f.Path != g.Path || f.SHA256 != g.SHA256 || f.Bytes != g.Bytes || f.Used != g.Used {
			t.Errorf("on disk %+v, in the store %+v", f, g)
		}
	}

	// The same configuration, but for its paths, which are written as they are anywhere.
	scan := string(bytesOf(t, filepath.Join(feed, "scan.yaml")))
	mixed := t.TempDir()
	scan = strings.ReplaceAll(scan, "path: ", "path: s3://vineyard/farms/hill/")
	for _, table := range []string{"probes", "loggers", "irrigation", "weather"} {
		scan = strings.ReplaceAll(scan, table+": "+table+".csv", table+": s3://vineyard/farms/hill/"+table+".csv")
	}
	if strings.Count(scan, "s3://") < 3 {
		t.Fatalf("the configuration has other paths than this test knows:\n%s", scan)
	}
	if err := os.WriteFile(filepath.Join(mixed, "scan.yaml"), []byte(scan), 0o644); err != nil {
		t.Fatal(err)
	}
	out = filepath.Join(t.TempDir(), "mixed")
	must(t, "scan", mixed, "--out", out)
	for _, name := range judged {
		if !bytes.Equal(bytesOf(t, filepath.Join(local, name)), bytesOf(t, filepath.Join(out, name))) {
			t.Errorf("%s differs when the configuration names the store", name)
		}
	}
}

// One object that cannot be read does not end the run: the summary and the manifest
// name it.
func TestOneBadObject(t *testing.T) {
	feed, _ := vineyard(t)
	server := storetest.Serve(t)
	server.PutFolder(feed, "hill")
	bad := ""
	for _, k := range server.Keys() {
		if strings.Contains(k, "/readings/") && bad == "" {
			bad = k
		}
	}
	if bad == "" {
		t.Fatalf("no export among %v", server.Keys())
	}
	server.Mishap(func(w http.ResponseWriter, r *http.Request) bool {
		if strings.TrimPrefix(r.URL.Path, "/vineyard/") != bad {
			return false
		}
		storetest.Refuse(w, http.StatusForbidden, "AccessDenied")
		return true
	})
	out := filepath.Join(t.TempDir(), "run")
	words := must(t, "scan", "s3://vineyard/hill", "--out", out)
	if !strings.Contains(words, "1 not, or only in part") {
		t.Errorf("the summary does not count it:\n%s", words)
	}
	m := manifestOf(t, bytesOf(t, filepath.Join(out, "manifest.json")))
	named := slices.ContainsFunc(m.Inputs, func(f publish.FileEntry) bool {
		return "hill/"+f.Path == bad && strings.Contains(f.Error, "does not let these credentials read it")
	})
	if !named || m.Totals.Failed != 1 || !slices.ContainsFunc(m.Warnings, func(w string) bool { return strings.Contains(w, "does not let these credentials") }) {
		t.Errorf("the manifest does not name %s: %v", bad, m.Warnings)
	}
}

// A store that cannot be listed is an error: its loggers are not silent.
func TestAStoreThatCannotBeListed(t *testing.T) {
	feed, _ := vineyard(t)
	storetest.Serve(t)
	out := filepath.Join(t.TempDir(), "run")
	if code, words := command(t, "scan", "s3://orchard/x", "--out", out); code != exitUsage || !strings.Contains(words, `there is no bucket "orchard"`) {
		t.Errorf("exit %d: %s", code, words)
	}
	if code, words := command(t, "scan", "s3://vineyard/nothing", "--out", out); code != exitUsage || !strings.Contains(words, "no object has a key that begins so") {
		t.Errorf("exit %d: %s", code, words)
	}
	if err := os.WriteFile(filepath.Join(feed, "scan.yaml"), []byte("timezone: UTC\nprobes: probes.csv\nreadings: [{path: 's3://orchard/*.csv'}]\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if code, words := command(t, "scan", feed, "--out", out); code != exitUsage || !strings.Contains(words, `there is no bucket "orchard"`) {
		t.Errorf("exit %d: %s", code, words)
	}
	t.Setenv("AWS_ACCESS_KEY_ID", "")
	if code, words := command(t, "scan", feed, "--out", out); code != exitUsage || !strings.Contains(words, "set AWS_ACCESS_KEY_ID") {
		t.Errorf("exit %d: %s", code, words)
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("a run was written")
	}
}

// A run is written to a store table by table, the manifest last; it replaces a run of
// ours and nothing else, and the next run reads it as the one before.
func TestARunInAnObjectStore(t *testing.T) {
	feed, local := vineyard(t)
	server := storetest.Serve(t)
	must(t, "scan", feed, "--out", "s3://vineyard/runs/a")
	puts := slices.DeleteFunc(server.Requests(), func(r string) bool { return !strings.HasPrefix(r, "PUT ") })
	if len(puts) < 5 || !strings.HasPrefix(puts[len(puts)-1], "PUT /vineyard/runs/a/manifest.json") {
		t.Errorf("sent: %v", puts)
	}
	entries, err := os.ReadDir(local)
	if err != nil {
		t.Fatal(err)
	}
	if keys := server.Keys(); len(keys) != len(entries) {
		t.Errorf("%d files on disk, in the store %v", len(entries), keys)
	}
	for _, e := range entries {
		if e.Name() != "manifest.json" && !bytes.Equal(bytesOf(t, filepath.Join(local, e.Name())), server.Get("runs/a/"+e.Name())) {
			t.Errorf("%s differs between the run on disk and the one in the store", e.Name())
		}
	}

	// The run before, from the store as from the disk.
	near, far := filepath.Join(t.TempDir(), "near"), filepath.Join(t.TempDir(), "far")
	must(t, "scan", feed, "--out", near, "--previous", local)
	must(t, "scan", feed, "--out", far, "--previous", "s3://vineyard/runs/a")
	for _, name := range append([]string{"queue.csv", "exclusions_changed.csv"}, judged...) {
		if !bytes.Equal(bytesOf(t, filepath.Join(near, name)), bytesOf(t, filepath.Join(far, name))) {
			t.Errorf("%s depends on where the run before lies", name)
		}
	}

	// Again: the manifest goes first.
	must(t, "scan", feed, "--out", "s3://vineyard/runs/a/")
	changes := slices.DeleteFunc(server.Requests(), func(r string) bool { return strings.HasPrefix(r, "GET ") })
	if !strings.HasPrefix(changes[0], "DELETE /vineyard/runs/a/manifest.json") {
		t.Errorf("the first change is %s", changes[0])
	}
	before := server.Keys()

	for name, spoil := range map[string]func(){
		"an object beside the run": func() { server.Put("runs/a/notes.txt", []byte("mine")) },
		"objects without a run":    func() { server.Put("runs/b/x.csv", []byte("mine")) },
		"another manifest":         func() { server.Put("runs/c/manifest.json", []byte(`{"program":"other"}`)) },
	} {
		spoil()
		prefix := map[string]string{"an object beside the run": "a", "objects without a run": "b", "another manifest": "c"}[name]
		server.Requests()
		code, words := command(t, "scan", feed, "--out", "s3://vineyard/runs/"+prefix)
		if code != exitUsage || !strings.Contains(words, "not replaced") {
			t.Errorf("%s: exit %d: %s", name, code, words)
		}
		for _, r := range server.Requests() {
			if !strings.HasPrefix(r, "GET ") {
				t.Errorf("%s: %s", name, r)
			}
		}
	}
	if len(server.Keys()) != len(before)+3 {
		t.Errorf("keys: %v", server.Keys())
	}
}

// A run whose sending fails, or is interrupted, leaves nothing that looks like one or
// stands in the way of the next.
func TestASendingThatFails(t *testing.T) {
	feed, _ := vineyard(t)
	for name, cut := range map[string]func(stop context.CancelFunc, w http.ResponseWriter) bool{
		"refused": func(_ context.CancelFunc, w http.ResponseWriter) bool {
			storetest.Refuse(w, http.StatusForbidden, "AccessDenied")
			return true
		},
		"interrupted": func(stop context.CancelFunc, _ http.ResponseWriter) bool { stop(); return false },
	} {
		t.Run(name, func(t *testing.T) {
			server := storetest.Serve(t)
			must(t, "scan", feed, "--out", "s3://vineyard/runs/a")
			ctx, stop := context.WithCancel(t.Context())
			defer stop()
			sent := 0
			server.Mishap(func(w http.ResponseWriter, r *http.Request) bool {
				if r.Method != http.MethodPut {
					return false
				}
				sent++
				return sent == 4 && cut(stop, w)
			})
			var out, words bytes.Buffer
			want := map[string]int{"refused": exitUsage, "interrupted": exitInterrupted}[name]
			if code := run(ctx, []string{"scan", feed, "--out", "s3://vineyard/runs/a"}, &out, &words); code != want {
				t.Errorf("exit %d: %s", code, words.String())
			}
			if keys := server.Keys(); len(keys) > 0 {
				t.Errorf("left: %v", keys)
			}
			server.Mishap(nil)
			must(t, "scan", feed, "--out", "s3://vineyard/runs/a")
		})
	}
}
