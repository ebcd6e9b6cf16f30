package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// An irrigated park with 13 healthy dielectric sensors (repository
// OliverObst/simpact-demo-data; Kocyigit, Javadi, Thomson, Pfautsch & Obst 2025, CC BY
// 4.0): week by week, nothing may be said against any of them.
func TestHealthyParkByWeeks(t *testing.T) {
	folder := opened(t, "park", "park_vwc_13_sensors")
	weeks := 0
	for until := time.Date(2022, 11, 22, 0, 0, 0, 0, time.UTC); until.Before(time.Date(2023, 1, 18, 0, 0, 0, 0, time.UTC)); until = until.AddDate(0, 0, 7) {
		o := ran(t, folder, "--until", until.Format("2006-01-02"))
		if o.total("read") != 1528*13 {
			t.Fatalf("%d readings of 1,528 hours and 13 sensors", o.total("read"))
		}
		weeks++
		for _, f := range o.findings {
			if f["name"] == "SENS0017" && f["flag"] != "4" {
				continue // its daily swing is the least: at most a check
			}
			t.Errorf("week to %s: %s of %s: %s", until.Format("2006-01-02"), f["fault"], f["name"], f["evidence"])
		}
		for _, h := range o.health {
			if h["verdict"] != "fit" && !(h["probe"] == "SENS0017" && h["verdict"] == "doubtful") {
				t.Errorf("week to %s: %s is %s: %s", until.Format("2006-01-02"), h["probe"], h["verdict"], h["not_evaluated_why"])
			}
		}
	}
	if weeks != 9 {
		t.Errorf("%d weeks of nine were looked at", weeks)
	}
}

// A climate station's daily record (NOAA US Climate Reference Network, daily01, public
// domain): soil moisture at 50 and 100 cm was never reported, that of 20 cm is missing
// from 30 November 2015 to 14 June 2017.
func TestDailyStation(t *testing.T) {
	folder := opened(t, "uscrn", "uscrn_daily_manhattan_ks")
	o := ran(t, folder)
	check(t, o.findings, []wanted{
		{"VWC-50", "gap", "", "open", []string{"never a value", "the logger kept speaking"}},
		{"VWC-100", "gap", "", "open", []string{"never a value", "the logger kept speaking"}},
		{"VWC-20", "gap", "2015-11-30", "", []string{"longest 563.0 d", "blanks"}},
	})
	for _, name := range []string{"VWC-50", "VWC-100"} {
		if h := o.probe(t, name); h["verdict"] != "silent" || h["readings_received"] != "0" || h["usable_now"] != "false" {
			t.Errorf("%s never reported: it is %s with %s readings", name, h["verdict"], h["readings_received"])
		}
	}
	// What needs more than a reading a day says so.
	why := o.probe(t, "VWC-10")["not_evaluated_why"]
	for _, detector := range []string{"dry_out_spike", "cable_damage", "noise", "wrong_kind"} {
		if !strings.Contains(why, detector) {
			t.Errorf("%s was judged on a reading a day: %s", detector, why)
		}
	}
	if f := o.of("", "logger_silent"); len(f) > 0 {
		t.Errorf("the station never fell silent: %v", f)
	}
	// Whenever one looks, a healthy depth shows no fault but what the values are: 20 cm
	// passes 0.6 m3/m3 on four days of 2010.
	for year := 2012; year <= 2016; year += 2 {
		o := ran(t, folder, "--until", time.Date(year, 7, 1, 0, 0, 0, 0, time.UTC).Format("2006-01-02"))
		for _, f := range o.findings {
			if f["fault"] != "gap" && (f["fault"] != "out_of_range" || f["name"] != "VWC-20") {
				t.Errorf("to July %d: %s of %s: %s", year, f["fault"], f["name"], f["evidence"])
			}
		}
	}
}

// Labelled series that are no soil (repository numenta/NAB, MIT). As kind other they
// are read whole, and what needs soil's physics keeps silent: the labelled windows are
// changes of level and shape, for which no detector that can run on a bare count
// exists. A false word about them would be worse than none.
func TestSeriesOfNoSoil(t *testing.T) {
	o := ran(t, opened(t, "nab", "labelled_series_nab"))
	if len(o.health) != 14 || o.total("files_failed") != 0 || o.total("read") != o.total("used")+o.total("repeated")+o.total("rejected") {
		t.Errorf("14 series: %v", o.manifest["totals"])
	}
	for _, f := range o.findings {
		if f["fault"] != "gap" && f["fault"] != "logger_silent" {
			t.Errorf("%s of %s: %s", f["fault"], f["name"], f["evidence"])
		}
	}
	for _, h := range o.health {
		if h["verdict"] != "unknown" && h["verdict"] != "silent" {
			t.Errorf("%s, of which nothing can be judged, is %s", h["probe"], h["verdict"])
		}
	}
}

// The rangeland file whose rows were sorted as text holds what its mended copy holds.
func TestRangelandFileSortedAsText(t *testing.T) {
	o := ran(t, opened(t, "usses_all", "usses_logger_exports"))
	seen := false
	for _, in := range o.manifest["inputs"].([]any) {
		f := in.(map[string]any)
		if path := f["path"].(string); strings.Contains(path, "original_15_15Sep14") {
			seen = true
			if f["read"] != f["repeated"].(float64)+f["rejected"].(float64) || f["repeated"].(float64) != 4525 {
				t.Errorf("%s: %v read, %v repeated, %v used", path, f["read"], f["repeated"], f["used"])
			}
		}
	}
	if !seen {
		t.Error("the file is not read")
	}
	// On 12 March 2014 all loggers were visited. Four skip one record of two hours, as
	// loggers do that are being read out; no other file contradicts them, so that no
	// clock is blamed. Those that step back write their hours twice.
	for _, name := range []string{"1", "2", "1_2_C"} {
		if f := o.of(name, "clock_error"); len(f) > 0 {
			t.Errorf("logger %s lost a record, no more: %s", name, f[0]["evidence"])
		}
	}
	check(t, o.findings, []wanted{
		{"12", "clock_error", "", "2014-03-13", []string{"set back by 6.0 h"}},
		{"8", "clock_error", "", "2014-03-13", []string{"set back by 6.0 h"}},
		{"7_8_C", "clock_error", "2013-11", "2014-03-13", []string{"set back by 6.0 h"}},
		// Not the stamps but the warmth of the soil says since when these ran ahead; the
		// data's author has the same loggers six hours ahead until that visit.
		{"11_12_C", "clock_error", "2013-11", "2014-03-13", []string{"set back by 6.0 h", "temperature +6"}},
		{"EM6843", "clock_error", "2013-11", "2014-03-13", []string{"set back by 6.0 h", "temperature +6"}},
	})
}

// A folder of exports with a register of names alone and nothing else: it is read, or
// the refusal says what is missing.
func TestBareFolders(t *testing.T) {
	for _, c := range []struct {
		record, file, register string
		says                   []string // of the refusal; none: it is read
	}{
		{"alfalfa_tensiometers", "logger_table1_15min.csv", "probe,kind,unit\nDiffV_Avg(1),tensiometer,mV\n", nil},
		{"iot_soil_humidity_irrigation", "plots_5min_with_irrigation.csv.gz", "probe,kind,unit\nPlot 1 humidity,dielectric,%\n", nil},
		{"iot_soil_humidity_irrigation", "nodes/UGB-PILOTS_Sensor80-SH.csv", "probe,kind,unit\nUGB-PILOTS_Sensor80-SH,dielectric,%\n", nil},
		{"iot_soil_humidity_irrigation", "nodes/UGB-PILOTS_Sensor81-SH.csv", "probe,kind,unit\nSensor81,dielectric,%\n", []string{"logger: filename", "logger UGB-PILOTS_Sensor81-SH and port value"}},
		{"park_vwc_13_sensors", "vwc_hourly.csv", "probe,kind,unit\nSENS0008,dielectric,%\n", []string{"day", "columns: {date: ..., time: ...}"}},
		{"uscrn_daily_manhattan_ks", "KS_Manhattan_6_SSW_daily.csv", "probe,kind,unit\nSOIL_MOISTURE_5_DAILY,dielectric,m3/m3\n", []string{"LST_DATE", "columns: {time: ...}"}},
		{"iot_soil_humidity_irrigation", "rain_gauge.csv.gz", "probe,kind,unit\nUGB-PILOTS_Sensor200,other,count\n", []string{`"RA"`, "register"}},
	} {
		data := filepath.Join(records, c.record, c.file)
		if _, err := os.Stat(data); err != nil {
			t.Skipf("skipped: the open records are not beside this checkout (%s); no bare folder is tried; put it there", data)
		}
		b, err := os.ReadFile(data)
		if err != nil {
			t.Fatal(err)
		}
		folder := t.TempDir()
		for name, text := range map[string][]byte{filepath.Base(c.file): b, "probes.csv": []byte(c.register)} {
			if err := os.WriteFile(filepath.Join(folder, name), text, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		var words bytes.Buffer
		code := run(context.Background(), []string{"scan", folder, "--out", filepath.Join(t.TempDir(), "run")}, &words, &words)
		if read := len(c.says) == 0; read != (code == exitRan) {
			t.Errorf("%s: exit %d: %s", c.file, code, words.String())
			continue
		}
		missing := slices.ContainsFunc(c.says, func(s string) bool { return !strings.Contains(words.String(), s) })
		if missing {
			t.Errorf("%s: the refusal must say %q: %s", c.file, c.says, words.String())
		}
	}
}
