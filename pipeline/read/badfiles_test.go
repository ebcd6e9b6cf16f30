package read_test

import (
	"context"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"probeward/pipeline"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// Two hundred files, some of them bad in every way that a folder of exports knows: the
// run ends, reads all the good ones, and names each bad one with why in the manifest.
func TestBadFilesAmongMany(t *testing.T) {
	dir := t.TempDir()
	var probes strings.Builder
	probes.WriteString("probe,logger,port,kind,unit\n")
	for i := range 200 {
		fmt.Fprintf(&probes, "p%03d,L%03d,s1,dielectric,m3/m3\n", i, i)
	}
	write(t, dir, "probes.csv", []byte(probes.String()))
	write(t, dir, "scan.yaml", []byte("timezone: UTC\nprobes: probes.csv\nreadings: [{path: exports/*}]\n"))
	name := func(i int, end string) string { return fmt.Sprintf("exports/L%03d%s", i, end) }
	good := func(i int) string {
		var b strings.Builder
		b.WriteString("time,s1\n")
		for k := range 48 {
			fmt.Fprintf(&b, "%s,0.%d\n", ten.Add(time.Duration(k)*time.Hour).Format(time.DateTime), 200+(i+k)%50)
		}
		return b.String()
	}
	type long struct {
		Time  int64   `parquet:"time,timestamp(microsecond)"`
		Probe string  `parquet:"probe"`
		Value float64 `parquet:"value"`
	}
	sound := pack(t, []long{{ten.UnixMicro(), "p011", 0.25}})
	locked := []byte(packed("zip", []string{"L012.csv"}, good(12)))
	for _, mark := range []string{"PK\x03\x04", "PK\x01\x02"} { // the flags of both headers
		at := strings.Index(string(locked), mark)
		locked[at+map[string]int{"PK\x03\x04": 6, "PK\x01\x02": 8}[mark]] |= 1
	}
	bad := map[string]string{} // by path: a part of the reason
	put := func(path, text, why string) { write(t, dir, path, []byte(text)); bad[path] = why }
	put(name(0, ".csv"), "", "the file is empty")
	put(name(1, ".csv"), "Dear Sir,\nplease find enclosed\n", "no header")
	put(name(2, ".csv"), "\x7fELF\x02\x01\x01\x00\x00\x00\x90\x90", "no header")
	put(name(3, ".csv.gz"), packed("gz", nil, good(3))[:60], "unexpected EOF")
	put(name(4, ".csv.gz"), good(4), "gzip: invalid header")
	put(name(5, ".csv.zst"), good(5), "invalid input")
	put(name(6, ".zip"), good(6), "zip: not a valid zip file")
	put(name(7, ".zip"), packed("zip", []string{"a.pdf"}, "x"), `0 tables of .csv or .txt, but "a.pdf"`)
	put(name(8, ".parquet"), good(8), "not a Parquet file")
	put(name(9, ".csv"), "time,s1\n01/02/2026 10:00,1\n", "every stamp can be read as month first and as day first")
	put(name(10, ".csv"), "time,temperature\n2026-05-02 10:00,20\n", "no column is a port that the register knows")
	put(name(11, ".parquet"), string(sound[:len(sound)/2]), "not a Parquet file")
	put(name(12, ".zip"), string(locked), "L012.csv is encrypted")
	mustDo := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	mustDo(os.Mkdir(filepath.Join(dir, name(13, ".csv")), 0o755))
	bad[name(13, ".csv")] = "a folder, though named as a file; to read what is in it, write path: exports/L013.csv/*"
	mustDo(os.Symlink("nowhere.csv", filepath.Join(dir, name(14, ".csv"))))
	bad[name(14, ".csv")] = "a link to a file that is not there"
	t.Chdir(dir) // the names of sockets may not be long
	socket, err := net.Listen("unix", name(15, ".csv"))
	mustDo(err)
	defer socket.Close()
	bad[name(15, ".csv")] = "no plain file"
	first := 16
	if os.Geteuid() != 0 {
		put(name(16, ".csv"), good(16), "cannot be opened: permission denied")
		mustDo(os.Chmod(filepath.Join(dir, name(16, ".csv")), 0))
		first = 17
	} else {
		t.Log("the superuser may open any file: one that may not be opened is not tested")
	}
	for i := first; i < 200; i++ {
		write(t, dir, name(i, ".csv"), []byte(good(i)))
	}
	sum, err := pipeline.Run(context.Background(), pipeline.Options{Folder: dir, Out: filepath.Join(t.TempDir(), "out")})
	if err != nil {
		t.Fatal(err)
	}
	m := sum.Manifest
	if len(m.Inputs) < 200 {
		t.Errorf("%d files in the manifest, want 200 or more", len(m.Inputs))
	}
	used := 0
	for _, f := range m.Inputs {
		why, isBad := bad[f.Path]
		if isBad != (f.Error != "") || !strings.Contains(f.Error, why) {
			t.Errorf("%s: error %q, want %q", f.Path, f.Error, why)
		}
		delete(bad, f.Path)
		if !isBad && strings.HasPrefix(f.Path, "exports/") {
			if used++; f.Used != 48 {
				t.Errorf("%s: %d readings used, want 48", f.Path, f.Used)
			}
			continue
		}
		if isBad && !slices.ContainsFunc(m.Warnings, func(w string) bool { return strings.Contains(w, f.Path) && strings.Contains(w, why) }) {
			t.Errorf("no warning of the run names %s", f.Path)
		}
	}
	for path := range bad {
		t.Errorf("%s is not in the manifest", path)
	}
	if used != 200-first {
		t.Errorf("%d good files, want %d", used, 200-first)
	}
}

// Folders are entered through links, once; what cannot be entered or read is named.
func TestLinks(t *testing.T) {
	reg := openFarm(t)
	dir, share := t.TempDir(), t.TempDir()
	text := []byte("time,s1\n2026-05-02 10:00,20\n")
	write(t, share, "L2.csv", text)
	write(t, share, "deep/L2.csv", text)
	link := func(to, from string) {
		if err := os.Symlink(to, filepath.Join(dir, from)); err != nil {
			t.Fatal(err)
		}
	}
	link(share, "exports")
	write(t, dir, "more/L2.csv", text)
	link("..", "more/up")
	link(filepath.Join(share, "deep"), "more/deep")
	link(filepath.Join(share, "L2.csv"), "L2_linked.csv")
	link(filepath.Join(share, "gone"), "more/gone")
	for _, c := range []struct{ pattern, want, notes string }{
		{"exports/*.csv", "exports/L2.csv", ""},
		{"exports/**/*.csv", "exports/L2.csv exports/deep/L2.csv", ""},
		{"more/**", "more/L2.csv more/deep/L2.csv", "more/gone: a link to a file that is not there"},
		{"**/L2*.csv", "L2_linked.csv exports/L2.csv exports/deep/L2.csv more/L2.csv more/deep/L2.csv", ""},
		{"*.csv", "L2_linked.csv", ""},
		{"exports", "", "exports: a folder, though named as a file; to read what is in it, write path: exports/*"},
	} {
		res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: c.pattern}), reg)
		var paths []string
		for _, f := range res.Files {
			paths = append(paths, f.Path)
		}
		if got := strings.Join(paths, " "); got != c.want {
			t.Errorf("%s: %s, want %s", c.pattern, got, c.want)
		}
		if !strings.Contains(strings.Join(res.Notes, "\n"), c.notes) {
			t.Errorf("%s: notes %q, want %q", c.pattern, res.Notes, c.notes)
		}
	}
}

// A file that is written to, cut or replaced while it is read gives what was read, and
// says so.
func TestFileChangesWhileRead(t *testing.T) {
	text := "time,s1\n" + strings.Repeat("2026-05-02 10:00,20\n", 200_000)
	for _, c := range []struct {
		name string
		do   func(path string) error
		note bool
	}{
		{"written to", func(path string) error {
			f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
			if err == nil {
				_, err = f.WriteString("2026-05-02 10:10,2")
				f.Close()
			}
			return err
		}, true},
		{"cut", func(path string) error { return os.Truncate(path, 100) }, true},
		{"replaced", func(path string) error {
			if err := os.WriteFile(path+".new", []byte(text), 0o644); err != nil {
				return err
			}
			return os.Rename(path+".new", path)
		}, true},
		{"gone", os.Remove, true},
		{"left alone", func(string) error { return nil }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			path := write(t, dir, "L2.csv", []byte(text))
			reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte(farm)), "", time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			once := false
			res, err := read.Files(context.Background(), read.Input{Config: resolved(t, dir, "UTC", schemas.Source{Path: "*.csv"}), Register: reg, Workers: 1, Progress: func(int64, int64) {
				if !once {
					once = true
					if err := c.do(path); err != nil {
						t.Error(err)
					}
				}
			}})
			if err != nil {
				t.Fatal(err)
			}
			defer res.Release()
			lawful(t, res)
			if said := strings.Contains(strings.Join(res.Notes, "\n"), "L2.csv: the file changed while it was read"); said != c.note {
				t.Errorf("notes %q", res.Notes)
			}
			if res.Files[0].Used == 0 {
				t.Errorf("nothing of what was read is used: %+v", res.Files[0])
			}
		})
	}
}
