package publish

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"probeward/detectors/detect"
	"probeward/pipeline/previous"
	"probeward/schemas"
)

// sheets are all tables of a run that are not flags.
func sheets(in *Input) []*sheet {
	return []*sheet{in.health(), in.findings(), in.exclusions(), in.exclusionsChanged(), in.coverage(), in.queue(), in.rejects(),
		in.usableDaily(), in.installs(), in.registerMends(), in.history()}
}

// cells reads a CSV as a stranger would: by the header, empty for missing.
func cells(t *testing.T, b []byte) (header []string, rows [][]string) {
	t.Helper()
	all, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all[0], all[1:]
}

// back reads a CSV's cell into what the sheet held.
func back(t *testing.T, c schemas.Column, cell string) any {
	t.Helper()
	if cell == "" {
		return nil
	}
	var v any
	var err error
	switch c.Type {
	case schemas.Number:
		v, err = strconv.ParseFloat(cell, 64)
	case schemas.Integer:
		v, err = strconv.ParseInt(cell, 10, 64)
	case schemas.Boolean:
		v, err = strconv.ParseBool(cell)
	case schemas.Time:
		var at time.Time
		at, err = time.Parse(time.RFC3339Nano, cell)
		if !strings.HasSuffix(cell, "Z") {
			t.Errorf("column %s: %q is not in UTC", c.Name, cell)
		}
		v = at.UnixMicro()
	default:
		v = cell
	}
	if err != nil {
		t.Errorf("column %s: %v", c.Name, err)
	}
	return v
}

func TestCSVRoundTrip(t *testing.T) {
	in := run(t, "")
	in.Previous = &previous.Run{Period: in.Judged.Period, Exclusions: map[string][]previous.Exclusion{
		in.Register.Probes[1].Name: {{Span: detect.Span{Start: start, End: start + detect.Hour}, Reasons: "noise"}},
	}}
	for _, s := range sheets(&in) {
		if s.err != nil {
			t.Error(s.err)
		}
		var b bytes.Buffer
		if err := s.csv(&b); err != nil {
			t.Fatal(err)
		}
		header, rows := cells(t, b.Bytes())
		if diff := cmp.Diff(s.table.Header(), header); diff != "" {
			t.Errorf("%s: %s", s.table.Name, diff)
		}
		if len(rows) != len(s.rows) || len(rows) == 0 {
			t.Fatalf("%s: %d rows came back of %d", s.table.Name, len(rows), len(s.rows))
		}
		for i, r := range rows {
			for k, c := range s.table.Columns {
				if diff := cmp.Diff(s.rows[i][k], back(t, c, r[k])); diff != "" {
					t.Errorf("%s, row %d, %s: %s", s.table.Name, i, c.Name, diff)
				}
			}
		}
	}
}

// record is one row of a sheet by column name, with cells as the CSV has them.
func record(s *sheet, i int) map[string]string {
	out := map[string]string{}
	for k, c := range s.table.Columns {
		if cell := format(c, s.rows[i][k]); cell != "" {
			out[c.Name] = cell
		}
	}
	return out
}

func TestWhatStandsWhere(t *testing.T) {
	in := run(t, "")
	ended := in.Judged.Findings[0]
	ended.Open, ended.End, ended.MaskedBy, ended.Evidence = false, start+4*detect.Day, "logger_silent of L1", ""
	in.Judged.Findings = append(in.Judged.Findings, ended)
	standing := map[string]string{
		"subject": "probe", "name": "HB-0000", "probe": "HB-0000", "fault": "open_circuit", "family": "cable", "start": "2026-05-31T20:26:40Z",
		"readings": "400", "flag": "4", "confidence": "0.98", "measured": "0.333333", "threshold": "35000", "unit": "ohm",
		"evidence": `a "b", c`, "detector": "open_circuit",
	}
	if diff := cmp.Diff(standing, record(in.findings(), 0)); diff != "" {
		t.Errorf("a finding that stands has no end: %s", diff)
	}
	got := record(in.findings(), 1)
	if got["end"] != "2026-06-01T20:26:40Z" || got["masked_by"] != "logger_silent of L1" || got["evidence"] != "the lead is broken or unplugged" {
		t.Errorf("a finding that ended and is masked: %v", got)
	}
	health := record(in.health(), 0)
	want := map[string]string{
		"zone": "B2", "post": `the "old" post, north`, "probe": "HB-0000", "logger": "L1", "port": "s1", "depth_cm": "60", "kind": "granular_matrix",
		"window_start": "2026-05-29T20:26:40Z", "window_end": "2026-06-05T20:26:40Z", "readings_received": "600", "readings_rejected": "0",
		"readings_usable": "0", "usable_now": "false", "verdict": "unfit", "main_fault": "open_circuit", "family": "cable", "faults": "open_circuit",
		"confidence": "0.98", "since": "2026-05-31T20:26:40Z", "detectors_run": "0", "detectors_not_evaluated": "0", "rank": "1",
	}
	if diff := cmp.Diff(want, health); diff != "" {
		t.Error(diff)
	}
	if share := record(in.health(), 1)["usable_share"]; share != "0.892857" {
		t.Errorf("usable share of 600 in 672 is %s", share)
	}
	reject := map[string]string{"file": "b.csv", "line": "7", "column": "s1", "why": "no number; mend it", "text": "a,\"b\"\nc\uFFFD", "last_line": "8", "readings": "2"}
	if diff := cmp.Diff(reject, record(in.rejects(), 0)); diff != "" {
		t.Error(diff)
	}
}

// RFC 4180, section 2, rules 5 to 7: fields with a quote, a comma or a line break
// stand in quotes, and a quote within is doubled. Checked. Lines end in one line
// feed, which the grammar does not allow and every reader takes.
func TestCSVQuotes(t *testing.T) {
	s := &sheet{table: schemas.Table{Name: "q", Columns: []schemas.Column{{Name: "a"}, {Name: "b"}}}}
	s.add(`a "b", c`, "1")
	s.add("two\nlines", "")
	var b bytes.Buffer
	if err := s.csv(&b); err != nil {
		t.Fatal(err)
	}
	want := "a,b\n\"a \"\"b\"\", c\",1\n\"two\nlines\",\n"
	if b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
}

// rowsOf reads a Parquet file back with the library's generic reader.
func rowsOf(t *testing.T, b []byte) (*parquet.File, []map[string]any) {
	t.Helper()
	f, err := parquet.OpenFile(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]any
	for _, g := range f.RowGroups() {
		rows := g.Rows()
		buf := make([]parquet.Row, 64)
		for {
			n, err := rows.ReadRows(buf)
			for _, r := range buf[:n] {
				m := map[string]any{}
				for _, v := range r {
					name := f.Schema().Fields()[v.Column()].Name()
					switch {
					case v.IsNull():
						m[name] = nil
					case v.Kind() == parquet.ByteArray:
						m[name] = string(v.ByteArray())
					case v.Kind() == parquet.Double:
						m[name] = v.Double()
					case v.Kind() == parquet.Boolean:
						m[name] = v.Boolean()
					default:
						m[name] = v.Int64()
					}
				}
				out = append(out, m)
			}
			if err != nil {
				break
			}
		}
		rows.Close()
	}
	return f, out
}

func TestParquetHoldsWhatTheCSVHolds(t *testing.T) {
	in := run(t, "")
	for _, s := range sheets(&in) {
		if !slices.ContainsFunc(s.table.Files, func(name string) bool { return filepath.Ext(name) == ".parquet" }) {
			continue
		}
		var text, columns bytes.Buffer
		if err := s.csv(&text); err != nil {
			t.Fatal(err)
		}
		if err := s.parquet(&columns); err != nil {
			t.Fatal(err)
		}
		_, want := cells(t, text.Bytes())
		f, got := rowsOf(t, columns.Bytes())
		if len(got) != len(want) || len(got) == 0 {
			t.Fatalf("%s: %d rows in Parquet, %d in CSV", s.table.Name, len(got), len(want))
		}
		for i := range want {
			for k, c := range s.table.Columns {
				if diff := cmp.Diff(back(t, c, want[i][k]), got[i][c.Name]); diff != "" {
					t.Errorf("%s, row %d, %s: %s", s.table.Name, i, c.Name, diff)
				}
			}
		}
		checkSchema(t, f, s.table)
	}
}

// checkSchema holds a Parquet file to its table: names in order, nulls, types, the
// codec, the instant's unit and zone, and the dictionary's words.
func checkSchema(t *testing.T, f *parquet.File, table schemas.Table) {
	t.Helper()
	fields := f.Schema().Fields()
	if len(fields) != len(table.Columns) {
		t.Fatalf("%s: %d columns, want %d", table.Name, len(fields), len(table.Columns))
	}
	kinds := map[schemas.Type]parquet.Kind{schemas.Text: parquet.ByteArray, schemas.Number: parquet.Double,
		schemas.Integer: parquet.Int64, schemas.Boolean: parquet.Boolean, schemas.Time: parquet.Int64}
	for i, c := range table.Columns {
		at := fields[i]
		if at.Name() != c.Name || at.Optional() == c.Required || at.Type().Kind() != kinds[c.Type] {
			t.Errorf("%s: column %d is %s (optional %v, %s), want %s (required %v, %s)", table.Name, i, at.Name(), at.Optional(),
				at.Type().Kind(), c.Name, c.Required, kinds[c.Type])
		}
		logical := at.Type().String()
		if c.Type == schemas.Time && logical != "TIMESTAMP(isAdjustedToUTC=true,unit=MICROS)" {
			t.Errorf("%s: column %s is %s", table.Name, c.Name, logical)
		}
		if c.Type == schemas.Text && logical != "STRING" {
			t.Errorf("%s: column %s is %s", table.Name, c.Name, logical)
		}
		words, ok := f.Lookup("comment." + c.Name)
		if !ok || !strings.HasPrefix(words, c.Doc) || !strings.Contains(words, c.Unit) {
			t.Errorf("%s: column %s is described as %q", table.Name, c.Name, words)
		}
	}
	for _, g := range f.Metadata().RowGroups {
		for _, c := range g.Columns {
			if codec := c.MetaData.Codec.String(); codec != "ZSTD" {
				t.Errorf("%s: column %v is written with %s", table.Name, c.MetaData.PathInSchema, codec)
			}
		}
	}
}

func TestWhatIsPromisedIsThere(t *testing.T) {
	s := &sheet{table: schemas.Table{Name: "q", Columns: []schemas.Column{{Name: "a"}, {Name: "b", Required: true}, {Name: "n", Type: schemas.Number}}}}
	s.add("", "x", round(1.0/3))
	if s.err != nil || s.rows[0][0] != nil || s.rows[0][2] != 0.333333 {
		t.Errorf("got %v, %v", s.rows, s.err)
	}
	s.add("\xff", "", 0.5)
	if s.rows[1][0] != "\uFFFD" {
		t.Errorf("text that is no UTF-8 came through as %q", s.rows[1][0])
	}
	if s.err == nil || !strings.Contains(s.err.Error(), "row 2: b is promised") {
		t.Errorf("an empty cell that is promised gave %v", s.err)
	}
}

func TestManifest(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	in := run(t, dir)
	m, err := Folder(in)
	if err != nil {
		t.Fatal(err)
	}
	if m.Totals.Read != m.Totals.Used+m.Totals.Repeated+m.Totals.Rejected || m.Totals.Used != 2100 {
		t.Errorf("totals %+v", m.Totals)
	}
	if m.Config.(schemas.Config).Window.String() != "1w" || m.Config.(schemas.Config).Lookback.String() != "8w" {
		t.Errorf("the configuration is not resolved: %+v", m.Config)
	}
	names := map[string]bool{}
	for _, o := range m.Outputs {
		names[o.Name] = true
		b, err := os.ReadFile(filepath.Join(dir, o.Name))
		if err != nil || int64(len(b)) != o.Bytes || digest(b) != o.SHA256 {
			t.Errorf("%s: what lies there is not what the manifest says: %v", o.Name, err)
		}
	}
	for _, table := range []schemas.Table{schemas.Health, schemas.Findings, schemas.Exclusions, schemas.ExclusionsChanged,
		schemas.Flags, schemas.Coverage, schemas.Queue, schemas.Rejects} {
		for _, f := range table.Files {
			if !names[f] {
				t.Errorf("the run has no %s", f)
			}
		}
	}

	// But for the run's own entry, a second run differs in no byte.
	again := filepath.Join(t.TempDir(), "again")
	second := run(t, again)
	second.Version, second.StageSeconds = "9.9.9", []Stage{{Name: "read", Seconds: 7}}
	if _, err := Folder(second); err != nil {
		t.Fatal(err)
	}
	rest := func(dir string) map[string]json.RawMessage {
		b, err := os.ReadFile(filepath.Join(dir, manifestName))
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]json.RawMessage{}
		if err := json.Unmarshal(b, &out); err != nil {
			t.Fatal(err)
		}
		delete(out, "run")
		return out
	}
	if diff := cmp.Diff(rest(dir), rest(again)); diff != "" {
		t.Error(diff)
	}
}

func TestAnUnbalancedLedgerIsRefused(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	in := run(t, dir)
	in.Arranged.Files[0].Rejected++
	if _, err := Folder(in); err == nil || !strings.Contains(err.Error(), "does not balance") {
		t.Errorf("got %v", err)
	}
	nothingLeft(t, filepath.Dir(dir))
}
