package register

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"
	_ "time/tzdata"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
)

// sharedData finds the folder of published data beside the repository, or skips.
func sharedData(t *testing.T, name string) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for ; ; dir = filepath.Dir(dir) {
		path := filepath.Join(dir, "shared", "data", name)
		if _, err := os.Stat(path); err == nil {
			return path
		}
		if dir == filepath.Dir(dir) {
			t.Skipf("the published data set %s is not beside the repository: its register is not read; put it at ../shared/data from the root", name)
		}
	}
}

func errorsOf(r *Register) []Note {
	var out []Note
	for _, n := range r.Notes {
		if n.Severity != table.Info {
			out = append(out, n)
		}
	}
	return out
}

// The register of a rangeland experiment (US Sheep Experiment Station, Dubois,
// Idaho; CC0): five seasons, loggers renamed and ports re-used between them.
func TestRealRegisterOfReusedPorts(t *testing.T) {
	zone, err := time.LoadLocation("America/Boise")
	if err != nil {
		t.Fatal(err)
	}
	r, err := Load(filepath.Join(sharedData(t, "usses_logger_exports"), "probes.csv"), "", zone)
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	for _, d := range r.Details {
		rows += len(d.Rows)
	}
	if rows != 270 || r.Rejected != 0 {
		t.Errorf("%d rows used and %d rejected, want 270 and 0", rows, r.Rejected)
	}
	for _, n := range errorsOf(r) {
		t.Logf("%s:%d %s: %s [%s]", n.Name, n.Line, n.Column, n.Problem, n.Text)
	}
	t.Logf("%d probes, %d loggers, %d notes, %d above info", len(r.Probes), len(r.Loggers), len(r.Notes), len(errorsOf(r)))
	i, ok := r.Named("15_16_C-air")
	if !ok {
		t.Fatal("15_16_C-air is not registered")
	}
	p := r.Probes[i]
	if p.Quantity != detect.Celsius || p.Kind != detect.Other {
		t.Errorf("air probe is %s of %s, want degC of other", p.Quantity.Unit(), p.Kind)
	}
	// The same socket held from April 2012 to November 2013 in three rows is one wiring.
	if len(p.Wirings) != 2 || p.Wirings[0].Logger != "EM20067" || p.Wirings[1].Logger != "15_16_C" {
		t.Errorf("wirings %+v, want EM20067 and then 15_16_C", p.Wirings)
	}
	at := time.Date(2013, 11, 9, 0, 0, 0, 0, zone).UnixMicro()
	if p.Wirings[0].End != at || p.Wirings[1].Start != at {
		t.Errorf("the loggers change at %s, want local midnight of 2013-11-09", detect.Stamp(p.Wirings[0].End))
	}
	for logger := range map[string]bool{"EM20067": true, "15_16_C": true} {
		for _, port := range r.PortsOf(logger) {
			claims := r.At(logger, port)
			for k := 1; k < len(claims); k++ {
				if claims[k].Start < claims[k-1].End {
					t.Errorf("%s %s: claims overlap: %+v", logger, port, claims)
				}
			}
		}
	}
}

// The register of tensiometers in alfalfa (GPL-2 data package): mV with the
// author's scale and offset, so 0 mV is −20.8 kPa.
func TestRealRegisterOfTensiometers(t *testing.T) {
	r, err := Load(filepath.Join(sharedData(t, "alfalfa_tensiometers"), "probes.csv"), "", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Probes) != 20 || len(errorsOf(r)) != 0 {
		t.Fatalf("%d probes with %v, want 20 and no complaint", len(r.Probes), errorsOf(r))
	}
	p := r.Probes[0]
	if got := p.Scale * (0 - p.Offset); p.Quantity != detect.Tension || math.Abs(got+20.8) > 0.05 {
		t.Errorf("0 mV is %.3f %s, want −20.8 kPa", got, p.Quantity.Unit())
	}
	claims := r.At("field", "DiffV_Avg(7)")
	if len(claims) != 1 || r.Probes[claims[0].Probe].Name != "T07" || claims[0].Start != math.MinInt64 || claims[0].End != math.MaxInt64 {
		t.Errorf("DiffV_Avg(7) is claimed by %+v, want T07 always", claims)
	}
}
