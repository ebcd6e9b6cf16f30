package read_test

import (
	"context"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
	"probeward/pipeline/read"
	"probeward/schemas"
)

// entry is a reading that the reader must hand on: nil for a blank.
type entry struct {
	probe string
	at    int
	value *string
}

// mixture is a file of good, bad, repeated and contradictory rows, and what must
// become of them.
type mixture struct {
	name, text     string
	read, rejected int64
	entries        []entry
}

func drawMixture(t *rapid.T, i int) mixture {
	long := rapid.Bool().Draw(t, "long")
	m := mixture{name: fmt.Sprintf("L1_%d.csv", i), text: "time,s1,s2\n"}
	probes := []string{"a", "c"}
	if long {
		m.name, m.text, probes = fmt.Sprintf("x%d.csv", i), "time,probe,value\n", []string{"a", "c", "d"}
	}
	stamp := func(at int) string { return ten.Add(time.Duration(at) * 10 * time.Minute).Format(time.DateTime) }
	// The first row is sound: words alone below the header are taken for units.
	rows := []string{stamp(0) + ",1.5,2.25"}
	if long {
		rows[0] = stamp(0) + ",a,1.5"
	}
	for range rapid.IntRange(0, 25).Draw(t, "rows") {
		if len(rows) > 0 && rapid.IntRange(0, 6).Draw(t, "again") == 0 {
			rows = append(rows, rapid.SampledFrom(rows).Draw(t, "row"))
			continue
		}
		at := rapid.IntRange(0, 12).Draw(t, "at")
		cell := func() string {
			return rapid.SampledFrom([]string{"1.5", "2.25", "3", "", "NaN", "wet"}).Draw(t, "cell")
		}
		cells := []string{stamp(at), cell(), cell()}
		if long {
			cells[1] = rapid.SampledFrom([]string{"a", "c", "d", "d", "x", "A"}).Draw(t, "probe")
		}
		switch rapid.IntRange(0, 11).Draw(t, "bad") {
		case 0:
			cells[0] = rapid.SampledFrom([]string{"soon", "2026-02-30 10:00:00", "", "99"}).Draw(t, "stamp")
		case 1:
			cells = append(cells, "7")
		case 2:
			cells = cells[:2]
		case 3:
			rows = append(rows, rapid.SampledFrom([]string{"", "# a comment", ",,", " "}).Draw(t, "none"))
			continue
		}
		rows = append(rows, strings.Join(cells, ","))
	}
	for _, row := range rows {
		m.text += row + "\n"
		cells := strings.Split(row, ",")
		if len(cells) < 2 || strings.Trim(row, ",") == "" {
			continue
		}
		at := -1
		for k := range 13 {
			if stamp(k) == cells[0] {
				at = k
			}
		}
		take := func(probe, text string) {
			m.read++
			switch text {
			case "wet", "missing":
				m.rejected++
			case "", "NaN":
				m.entries = append(m.entries, entry{probe, at, nil})
			default:
				m.entries = append(m.entries, entry{probe, at, &text})
			}
		}
		spoiled := at < 0 || len(cells) > 3
		switch {
		case long && (spoiled || len(cells) < 3 || !slices.Contains(probes, cells[1])):
			take("", "missing")
		case long:
			take(cells[1], cells[2])
		case spoiled:
			take("", "missing")
			take("", "missing")
		case len(cells) < 3:
			take("a", cells[1])
			take("c", "missing")
		default:
			take("a", cells[1])
			take("c", cells[2])
		}
	}
	return m
}

// sum is what must become of all readings: of each probe and stamp one is used, the
// first value or, without any, the first blank; values that differ from it are
// rejected, and all else is repeated.
func sum(all []mixture) (read, used, repeated, rejected int64) {
	type place struct {
		probe string
		at    int
	}
	held := map[place]*entry{}
	for _, m := range all {
		read += m.read
		rejected += m.rejected
		for i := range m.entries {
			e := &m.entries[i]
			switch h := held[place{e.probe, e.at}]; {
			case h == nil:
				held[place{e.probe, e.at}] = e
				used++
			case e.value == nil || h.value != nil && *h.value == *e.value:
				repeated++
			case h.value == nil:
				held[place{e.probe, e.at}] = e
				repeated++ // the blank
			default:
				rejected++
			}
		}
	}
	return read, used, repeated, rejected
}

// Of any mixture, read = used + repeated + rejected in every file and every stage, all
// four are what the rows say, and neither the order of the files nor the number of
// workers changes anything.
func TestLedger(t *testing.T) {
	reg := openFarm(t)
	rapid.Check(t, func(t *rapid.T) {
		var all []mixture
		for i := range rapid.IntRange(1, 5).Draw(t, "files") {
			all = append(all, drawMixture(t, i))
		}
		slices.SortFunc(all, func(a, b mixture) int { return strings.Compare(a.name, b.name) })
		wantRead, wantUsed, wantRepeated, wantRejected := sum(all)
		first := ""
		for _, workers := range []int{1, 2, 7} {
			dir, err := os.MkdirTemp("", "ledger")
			if err != nil {
				t.Fatal(err)
			}
			defer os.RemoveAll(dir)
			conf := resolved(&testing.T{}, dir, "UTC")
			for _, m := range rapid.Permutation(all).Draw(t, "order") {
				if err := os.WriteFile(filepath.Join(dir, m.name), []byte(m.text), 0o644); err != nil {
					t.Fatal(err)
				}
				conf.Readings = append(conf.Readings, schemas.Source{Path: m.name, TimeFormat: time.DateTime})
			}
			res, err := read.Files(context.Background(), read.Input{Config: conf, Register: reg, Workers: workers})
			if err != nil {
				t.Fatal(err)
			}
			lawful(t, res)
			for i, f := range res.Files {
				if m := all[i]; f.Path != m.name || f.Read != m.read || f.Rejected != m.rejected || f.Used != int64(len(m.entries)) {
					t.Fatalf("%+v, want %d read, %d rejected of\n%s", f, m.read, m.rejected, m.text)
				}
			}
			text := dump(reg, res)
			start := ten.UnixMicro() - detect.Day
			done, err := arrange.Probes(res, reg, arrange.Ask{Since: detect.Some(start), Until: detect.Some(start + 3*detect.Day), Zone: time.UTC, Window: 3 * detect.Day})
			if wantUsed == 0 {
				res.Release()
				continue // nothing to arrange, and it says so
			}
			if err != nil {
				t.Fatal(err)
			}
			got := map[string]int64{}
			for _, f := range done.Files {
				if f.Read != f.Used+f.Repeated+f.Rejected {
					t.Fatalf("%+v does not balance", f)
				}
				got["read"] += f.Read
				got["used"] += f.Used
				got["repeated"] += f.Repeated
				got["rejected"] += f.Rejected
				text += fmt.Sprintf("%s: %d = %d + %d + %d\n", f.Path, f.Read, f.Used, f.Repeated, f.Rejected)
			}
			want := map[string]int64{"read": wantRead, "used": wantUsed, "repeated": wantRepeated, "rejected": wantRejected}
			if !maps.Equal(want, got) {
				t.Fatalf("%s\n%v", cmp.Diff(want, got), all)
			}
			if first == "" {
				first = text
			}
			if d := cmp.Diff(first, text); d != "" {
				t.Fatalf("%d workers, files in another order: %s", workers, d)
			}
		}
	})
}
