package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The open logger records that these tests read stand beside the checkout and are
// not part of it: rangeland plots with 5-port loggers (USDA-ARS sheep station,
// CC0 1.0, repository akleinhesselink/sheepweather) and tensiometers under alfalfa
// (repository brown-ag/alfalfa_gb, GPL-2). What must be found in them was read
// from the files by hand, and for the rangeland set also by the data's author.
const records = "../../../shared/data"

// scanned runs a scan of one of the records and gives its tables.
func scanned(t *testing.T, name string) (findings, health []map[string]string, manifest map[string]any) {
	t.Helper()
	folder := filepath.Join(records, name)
	if _, err := os.Stat(filepath.Join(folder, "scan.yaml")); err != nil {
		t.Skipf("skipped: the open record %s is not beside this checkout; put it at %s", name, folder)
	}
	out := filepath.Join(t.TempDir(), "run")
	var words bytes.Buffer
	if code := run(context.Background(), []string{"scan", folder, "--out", out}, &words, &words); code != exitRan {
		t.Fatalf("exit %d: %s", code, words.String())
	}
	b, err := os.ReadFile(filepath.Join(out, "manifest.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &manifest); err != nil {
		t.Fatal(err)
	}
	return readTable(t, filepath.Join(out, "findings.csv")), readTable(t, filepath.Join(out, "health.csv")), manifest
}

func readTable(t *testing.T, path string) (rows []map[string]string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = r[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// wanted is a finding that must be there.
type wanted struct {
	name, fault string
	start       string   // how its start must begin; empty: any
	end         string   // how its end must begin; "open": it still stands; empty: any
	says        []string // what its evidence must hold
}

func (w wanted) in(findings []map[string]string) bool {
	for _, f := range findings {
		ok := f["name"] == w.name && f["fault"] == w.fault && strings.HasPrefix(f["start"], w.start)
		switch w.end {
		case "":
		case "open":
			ok = ok && f["end"] == ""
		default:
			ok = ok && strings.HasPrefix(f["end"], w.end)
		}
		for _, s := range w.says {
			ok = ok && strings.Contains(f["evidence"], s)
		}
		if ok {
			return true
		}
	}
	return false
}

func check(t *testing.T, findings []map[string]string, all []wanted) {
	t.Helper()
	for _, w := range all {
		if !w.in(findings) {
			t.Errorf("not said: %+v", w)
		}
	}
}

// balanced holds the manifest to the ledger's law.
func balanced(t *testing.T, manifest map[string]any) {
	t.Helper()
	totals := manifest["totals"].(map[string]any)
	n := func(name string) float64 { return totals[name].(float64) }
	if n("read") == 0 || n("read") != n("used")+n("repeated")+n("rejected") {
		t.Errorf("the ledger does not balance: %v", totals)
	}
}

func TestRangelandLoggers(t *testing.T) {
	findings, health, manifest := scanned(t, "usses_logger_exports")
	balanced(t, manifest)
	check(t, findings, []wanted{
		// A clock that jumped from 2013 to 2057 at line 76 of a file, by 388,452 h.
		{"EM6843", "clock_error", "2013-05-20", "2013-11-", []string{"2013_2/EM6843", "line 76", "388452 h"}},
		// A whole file of 2002, 103,042 h off.
		{"11", "clock_error", "2014-04-13", "", []string{"2014_2/11_15Sep14", "2002-07-12", "103042 h"}},
		// The intermittent probe of plot 1, which the author discards for all dates:
		// blanks from April 2012 on, scattered values among them.
		{"1-5W", "cable_damage", "2012-05", "", nil},
		{"1-5W", "cable_damage", "2013-01", "", nil},
		{"1-5W", "gap", "2012-0", "", []string{"blanks"}},
		// Ports that never gave a value though a probe is registered there.
		{"8-25E", "gap", "2012-10-12", "open", []string{"blanks"}},
		{"11-25E", "gap", "2012-10-12", "open", []string{"blanks"}},
		{"11_12_C-25E", "gap", "2012-10-12", "open", []string{"blanks"}},
		{"7-25W", "gap", "2012-10-12", "open", []string{"blanks"}},
		{"12-25W", "gap", "2012-10-12", "open", []string{"blanks"}},
		{"7_8_C-25W", "gap", "2012-10-12", "open", []string{"blanks"}},
		{"7_8_C-5W", "gap", "2013-01-16", "2013-05-", nil},
		// Weeks of negative water content, down to -0.137.
		{"16-5E", "out_of_range", "2014-03-12", "", nil},
		{"16-5E", "out_of_range", "2014-04-03", "", []string{"-0.137"}},
		// The rails of plot 12, at 1.011 and below air, and its blanks.
		{"12-25E", "short_circuit", "2013-08-30", "", []string{"1.01"}},
		{"12-25E", "cable_damage", "2013-08-29", "", nil},
		{"12-25E", "cable_damage", "2014-04-30", "2014-05-", nil},
		// Values out of range for some days of April 2014, then normal again.
		{"2-25E", "out_of_range", "2014-04-1", "2014-04-2", nil},
		// The silent logger of plot 12, after three growing gaps.
		{"EM20086", "logger_silent", "2013-09-0", "2013-11-0", []string{"6.0, 10.0, 14.0 h"}},
		// The hole of plot 15's logger.
		{"15", "logger_silent", "2014-04-26", "2014-05-13", nil},
	})
	for _, h := range health {
		switch h["probe"] {
		case "8-25E", "11-25E", "11_12_C-25E", "7-25W", "12-25W", "7_8_C-25W":
			if h["readings_received"] != "0" || h["usable_now"] != "false" || h["verdict"] != "silent" && h["main_fault"] != "clock_error" {
				t.Errorf("%s never gave a value: it has %s readings and is %s", h["probe"], h["readings_received"], h["verdict"])
			}
		case "1-5W":
			if h["verdict"] == "fit" || h["verdict"] == "unknown" {
				t.Errorf("the intermittent probe 1-5W is %s", h["verdict"])
			}
		}
	}
	// The exports of 2057 and 2002 are in the rejects by file, not lost.
	if !strings.Contains(strings.Join(warnings(manifest), "\n"), "original_15_15Sep14") {
		t.Error("the file that matches no logger is not named")
	}
}

func warnings(manifest map[string]any) (out []string) {
	for _, w := range manifest["warnings"].([]any) {
		out = append(out, w.(string))
	}
	return out
}

func TestTensiometersUnderAlfalfa(t *testing.T) {
	findings, health, manifest := scanned(t, "alfalfa_tensiometers")
	balanced(t, manifest)
	check(t, findings, []wanted{
		// T12, T17, T18 and T20 fall to 0 mV together, 0 mV being -20.8 kPa: first on
		// 19 March, longest from 27 April 10:15 to 28 April 07:15: one cause.
		{"field", "logger_power", "2015-03-19", "", []string{"T12", "T17", "T18", "T20", "4 of 20 ports", "-20.8", "longest 2015-04-27"}},
		// T18 stood at 80 to 82 kPa until 9 April and then at 1.0 to 1.2 kPa, when it
		// had power, while its twin T17 went from 54 to 72; T6 stands near 1 kPa from
		// 2 April on while its twin T5 goes from 26 to 70.
		{"T18", "lost_suction", "2015-04-", "open", []string{"T17"}},
		{"T06", "lost_suction", "2015-0", "open", []string{"1.5 kPa", "T05"}},
	})
	for _, f := range findings {
		shared := f["name"] == "field" && f["fault"] == "logger_power"
		broken := f["fault"] == "lost_suction" && (f["name"] == "T06" || f["name"] == "T18")
		if !shared && !broken && f["masked_by"] == "" {
			t.Errorf("%s of %s stands beside the shared cause: %s", f["fault"], f["name"], f["evidence"])
		}
	}
	for _, h := range health {
		joint := h["probe"] == "T12" || h["probe"] == "T17" || h["probe"] == "T18" || h["probe"] == "T20"
		if joint != (h["main_fault"] == "logger_power") {
			t.Errorf("%s: main fault %q", h["probe"], h["main_fault"])
		}
	}
}
