package main

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Wireless soil-humidity nodes of pilot farms in West Africa with two clocks a row
// (repository Waziup/SoilMoistureML, Apache-2.0). Checked against the files: what each
// node stood at and when; how far its clock was from the gateway's, and since when.

const nodes = "iot_soil_humidity_irrigation"

func TestNodesOf2019(t *testing.T) {
	folder := opened(t, "nodes_2019", nodes)
	if waterings, days := plotWater(t, folder); waterings != 122 || days < 60 {
		t.Fatalf("%d waterings and %d days of demand were read from the record", waterings, days)
	}
	o := ran(t, folder)
	if o.total("read") != 22862 || o.total("rejected") != 0 || o.total("files_failed") != 0 {
		t.Errorf("22,862 rows of ten nodes are not all read: %v", o.manifest["totals"])
	}
	check(t, o.findings, []wanted{
		// 196 of an index to 100 from 22 February 19:43 on, then odd.
		{"Sensor83", "short_circuit", "2019-02-22T19:43", "", []string{"0.882"}},
		{"Sensor83", "out_of_range", "2019-05-16", "", []string{"-0.1485"}},
		{"Sensor83", "out_of_range", "2019-05-21T09:08", "", []string{"-0.4725"}}, // -105
		// Negative on most days from mid-April on, between good readings.
		{"Sensor88", "out_of_range", "2019-05-04", "", nil},
		// The hole of ten days that the interpolated plots hide.
		{"Sensor81", "gap", "2019-0", "2019-0", []string{"longest 10."}},
		// One of the two ways that messages take is an hour ahead.
		{"Sensor87", "clock_error", "2019-02-04", "2019-02-20", []string{"60 min ahead", "receiver's stamps, and stand", "one of two ways"}},
	})
	var last string
	for _, f := range o.of("Sensor83", "short_circuit") {
		last = max(last, f["end"])
	}
	if !strings.HasPrefix(last, "2019-04-24") {
		t.Errorf("Sensor83 stood at 196 until its reading of 24 April; said: until %s", last)
	}
	if v := o.probe(t, "Sensor88"); v["verdict"] != "unfit" && v["verdict"] != "doubtful" || v["main_fault"] != "out_of_range" {
		t.Errorf("Sensor88 is %s for %s", v["verdict"], v["main_fault"])
	}
	// The readings have the gateway's stamps, so a wrong clock in the node costs none.
	for _, f := range o.of("", "clock_error") {
		if f["flag"] != "0" {
			t.Errorf("the node's clock flags readings of %s that it did not stamp: %s", f["name"], f["evidence"])
		}
	}
	for _, h := range o.health {
		if h["main_fault"] == "clock_error" {
			t.Errorf("%s is %s for a clock that stamped nothing", h["probe"], h["verdict"])
		}
		if n := h["probe"]; (n == "Sensor80" || n == "Sensor81" || n == "Sensor82" || n == "Sensor84") && strings.Contains(h["not_evaluated_why"], "needs a log of waterings") {
			t.Errorf("%s has a log of waterings: %s", n, h["not_evaluated_why"])
		}
	}
	// By the nodes' own clock, the same stretches are readings stamped wrongly.
	own := ran(t, folder, "--config", filepath.Join(folder, "device_clock.yaml"))
	if own.total("read") != 22862 || own.total("rejected") != 0 {
		t.Errorf("by the nodes' clock not all is read: %v", own.manifest["totals"])
	}
	if len(own.of("Sensor87", "clock_error")) == 0 || own.of("Sensor87", "clock_error")[0]["flag"] != "4" {
		t.Errorf("readings stamped an hour ahead: %v", own.of("Sensor87", "clock_error"))
	}
}

func TestNodesOf2018(t *testing.T) {
	folder := opened(t, "nodes_2018", nodes)
	o := ran(t, folder)
	if o.total("read") != 68919 || o.total("rejected") != 0 || o.total("files_failed") != 0 {
		t.Errorf("68,919 rows of 17 files, headers aside, are not all read: %v", o.manifest["totals"])
	}
	lags := []wanted{
		// 57 min behind on 24 October, and on in steps to 13.1 h on 20 November.
		{"Sensor36-SMC", "clock_error", "2018-10-24T1", "2018-10-30", []string{"57 min behind", "in steps"}},
		{"Sensor36-SMC", "clock_error", "2018-10-31T2", "2018-11-22", []string{"13.1 h behind", "in steps"}},
		{"Sensor37-SMC", "clock_error", "2018-10-24T1", "", []string{"57 min behind", "in steps"}},
		// Two hours ahead, and one after the end of summer time; still so.
		{"Sensor41-SMC", "clock_error", "2018-07-31", "open", []string{"2.0 h ahead", "60 min ahead", "no message arrives before it is sent"}},
		{"Sensor42-SMC", "clock_error", "2018-08-", "open", []string{"2.0 h ahead"}},
		{"Sensor42-SH", "clock_error", "2018-10-17", "2018-11-06", []string{"60 min ahead"}},
		// Four days behind for one night after a restart.
		{"Sensor4-SM1", "clock_error", "2018-06-0", "", []string{"100.9 h behind"}},
	}
	check(t, o.findings, lags)
	// Exactly 0 from 14 May to 28 June, then 12 to 18: a dead input, over whose gaps
	// nothing can be said.
	zero := o.of("Sensor9-SM1", "open_circuit")
	if len(zero) == 0 || !strings.HasPrefix(zero[0]["start"], "2018-05-14T07:33") || !strings.HasPrefix(zero[len(zero)-1]["end"], "2018-06-28") {
		t.Errorf("Sensor9-SM1 stood at 0 from 14 May to 28 June: %v", zero)
	}
	// Nodes whose clock was right.
	for _, n := range []string{"Sensor35-SMC", "Sensor43-SMC", "Sensor46-SMC", "Sensor47-SMC"} {
		if f := o.of(n, "clock_error"); len(f) > 0 {
			t.Errorf("%s: single messages that waited are no clock: %s", n, f[0]["evidence"])
		}
	}
	own := ran(t, folder, "--config", filepath.Join(folder, "device_clock.yaml"))
	check(t, own.findings, lags)
	for _, n := range []string{"Sensor36-SMC", "Sensor41-SMC", "Sensor42-SMC"} {
		if h := own.probe(t, n); h["verdict"] != "unfit" || h["main_fault"] != "clock_error" {
			t.Errorf("by its own wrong clock %s is %s (%s)", n, h["verdict"], h["main_fault"])
		}
	}
}

func TestInterpolatedPlots(t *testing.T) {
	folder := opened(t, "plots", nodes)
	plotWater(t, folder)
	o := ran(t, folder)
	if o.total("used") != 4*28910 || o.total("rejected") != 0 {
		t.Errorf("28,910 rows of four plots: %v", o.manifest["totals"])
	}
	check(t, o.findings, []wanted{
		{"Plot 1", "gap", "2019-03-29T22:55", "open", []string{"blanks"}}, // its node's last message: 22:50
		{"Plot 3", "gap", "2019-04-23T20:25", "open", []string{"blanks"}}, // 20:20
	})
	for _, h := range o.health {
		if strings.Contains(h["not_evaluated_why"], "needs a log of waterings") {
			t.Errorf("%s has a log of waterings: %s", h["probe"], h["not_evaluated_why"])
		}
	}
	if f := o.of("", "clock_error"); len(f) > 0 {
		t.Errorf("a clock that never jumped: %v", f)
	}
}

func TestRainGaugeRows(t *testing.T) {
	o := ran(t, opened(t, "rain_gauge", nodes))
	if o.total("read") != 30000 || o.total("rejected") != 0 {
		t.Errorf("30,000 rows of a gauge: %v", o.manifest["totals"])
	}
	// It never rained: of the kind other, it may stand at zero for as long as it likes.
	if h := o.health[0]; h["verdict"] != "unknown" || !strings.Contains(h["not_evaluated_why"], "without a scale") {
		t.Errorf("a raw count is %s: %s", h["verdict"], h["not_evaluated_why"])
	}
	for _, f := range o.findings {
		if !slices.Contains([]string{"clock_error", "logger_silent", "gap"}, f["fault"]) {
			t.Errorf("%s of a rain gauge: %s", f["fault"], f["evidence"])
		}
	}
}
