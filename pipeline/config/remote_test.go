package config

import (
	"strings"
	"testing"
	"testing/fstest"
)

// A folder that is not on disk is searched as one that is, and paths go on from it.
func TestAFolderElsewhere(t *testing.T) {
	tree := fstest.MapFS{}
	for _, name := range []string{"probes.csv", "weather.csv", "readings/logger=L1/part-0.parquet", "old/manifest.json", "old/health.csv"} {
		tree[name] = &fstest.MapFile{}
	}
	r, err := OpenIn(tree, "s3://vineyard/hill/", "", nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Readings) != 1 || r.Readings[0].Path != "readings/logger=L1/part-0.parquet" {
		t.Errorf("readings: %+v", r.Readings)
	}
	for p, want := range map[string]string{
		r.Probes: "s3://vineyard/hill/probes.csv", "../dale/probes.csv": "s3://vineyard/dale/probes.csv",
		"s3://other/x": "s3://other/x", "": "",
	} {
		if got := r.Path(p); got != want {
			t.Errorf("%q: %s, want %s", p, got, want)
		}
	}
	tree[FileName] = &fstest.MapFile{Data: []byte("timezone: UTC\nprobes: reg/list.csv\nreadings: [{path: '*.csv', shape: round}]\n")}
	if _, err = OpenIn(tree, "s3://vineyard/hill", "", nil); err == nil || !strings.Contains(err.Error(), "s3://vineyard/hill/scan.yaml:3:") {
		t.Errorf("%v", err)
	}
	tree[FileName].Data = []byte("timezone: UTC\nprobes: reg/list.csv\nreadings: [{path: '*.csv'}]\n")
	if r, err = OpenIn(tree, "s3://vineyard/hill", "", nil); err != nil || r.Probes != "reg/list.csv" {
		t.Errorf("%v", err)
	}
}
