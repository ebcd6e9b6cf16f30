package previous

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/schemas"
)

const manifest = `{"program":"probeward","period":{"lookback_start":"2026-04-06T07:00:00Z","window_start":"2026-06-01T07:00:00Z","window_end":"2026-06-08T07:00:00Z"}}`

func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// 2026-06-01T07:00:00Z is 1780297200 s after 1970 (derived with another calendar).
const june = 1_780_297_200 * detect.Second

func TestLoad(t *testing.T) {
	got, err := Load(folder(t, map[string]string{
		"manifest.json":  manifest,
		"health.csv":     "verdict,probe,later\nfit,a,1\nunfit,\"b, the old one\",\n",
		"queue.csv":      "visit,runs_open,open_since\nP07-cable,3,2026-06-01T07:00:00Z\nP08-probe,1,\n",
		"exclusions.csv": "probe,start,end,flag,reasons,confidence\na,2026-06-01T07:00:00Z,2026-06-01T07:00:01.5Z,4,noise drift,0.9\n",
	}))
	if err != nil {
		t.Fatal(err)
	}
	want := &Run{
		Period:     detect.Period{Lookback: june - 56*detect.Day, Window: detect.Span{Start: june, End: june + 7*detect.Day}},
		Verdicts:   map[string]schemas.Verdict{"a": schemas.Fit, "b, the old one": schemas.Unfit},
		Visits:     map[string]Visit{"P07-cable": {OpenSince: detect.Some[int64](june), RunsOpen: 3}, "P08-probe": {RunsOpen: 1}},
		Exclusions: map[string][]Exclusion{"a": {{Span: detect.Span{Start: june, End: june + 3*detect.Second/2}, Reasons: "noise drift"}}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestATableThatIsNotThereIsEmpty(t *testing.T) {
	got, err := Load(folder(t, map[string]string{"manifest.json": manifest}))
	if err != nil || len(got.Verdicts)+len(got.Visits)+len(got.Exclusions) != 0 {
		t.Errorf("got %+v, %v", got, err)
	}
}

func TestWhatIsNoRun(t *testing.T) {
	for name, files := range map[string]map[string]string{
		"an empty folder":            {},
		"another program's manifest": {"manifest.json": `{"program":"else"}`},
		"a broken manifest":          {"manifest.json": `{`},
	} {
		if _, err := Load(folder(t, files)); err == nil || !strings.Contains(err.Error(), "no run of probeward") {
			t.Errorf("%s: got %v", name, err)
		}
	}
	if _, err := Load(filepath.Join(t.TempDir(), "nowhere")); err == nil {
		t.Error("a folder that is not there was read")
	}
}

func TestABadCellIsNamed(t *testing.T) {
	for file, text := range map[string]string{
		"queue.csv":      "visit,runs_open\nP07,1\nP08,many\n",
		"exclusions.csv": "probe,start,end\na,2026-06-01T07:00:00Z,2026-06-01T08:00:00Z\na,yesterday,2026-06-01T08:00:00Z\n",
	} {
		_, err := Load(folder(t, map[string]string{"manifest.json": manifest, file: text}))
		if err == nil || !strings.Contains(err.Error(), file+":3") {
			t.Errorf("%s: got %v, want the file and line 3", file, err)
		}
	}
}
