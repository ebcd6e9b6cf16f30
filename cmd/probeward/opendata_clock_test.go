package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// An invented node whose clock fell 57 minutes behind at a restart: what it stamped
// itself is stamped wrongly, what its gateway stamped is not. (No open record needed.)
func TestClockThatStampsNothing(t *testing.T) {
	folder := t.TempDir()
	var rows strings.Builder
	rows.WriteString("received,sent,value\n")
	start := time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
	for i := range 40 * 48 {
		at := start.Add(time.Duration(i) * 30 * time.Minute)
		sent := at.Add(-4 * time.Second)
		if i >= 36*48 {
			sent = at.Add(-57 * time.Minute)
		}
		hour := float64(i) / 2
		value := 0.31 - 0.00008*math.Mod(hour, 240) + 0.004*math.Sin(hour*math.Pi/12) + 0.001*float64(i*7%5)
		fmt.Fprintf(&rows, "%s,%s,%.3f\n", at.Format(time.RFC3339), sent.Format(time.RFC3339), value)
	}
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("node1.csv", rows.String())
	write("probes.csv", "probe,logger,port,post,kind,unit\nrow-4,node1,value,post-4,dielectric,m3/m3\n")
	scan := func(columns string) outcome {
		write("scan.yaml", "timezone: UTC\nreadings:\n  - {path: node1.csv, shape: wide, logger: filename, columns: "+columns+"}\n")
		return ran(t, folder)
	}
	visits := func(o outcome) int { return len(readTable(t, filepath.Join(o.folder, "queue.csv"))) }

	o := scan("{time: received, device_time: sent}")
	check(t, o.findings, []wanted{{"node1", "clock_error", "2026-05-07T00:00", "open", []string{"57 min behind", "receiver's stamps, and stand"}}})
	if h := o.probe(t, "row-4"); h["verdict"] != "fit" || h["usable_share"] != "1" || visits(o) != 0 {
		t.Errorf("stamped by the gateway it is %s (%s), usable %s, with %d visits", h["verdict"], h["main_fault"], h["usable_share"], visits(o))
	}

	o = scan("{time: sent, gateway_time: received}")
	check(t, o.findings, []wanted{{"node1", "clock_error", "2026-05-06T23:03", "open", []string{"57 min behind", "the readings have its stamps"}}})
	if h := o.probe(t, "row-4"); h["verdict"] != "unfit" || h["main_fault"] != "clock_error" || visits(o) != 1 {
		t.Errorf("stamped by itself it is %s (%s), with %d visits", h["verdict"], h["main_fault"], visits(o))
	}

	o = scan("{time: sent}")
	if f := o.of("", "clock_error"); len(f) > 0 {
		t.Errorf("no second clock is configured: %s", f[0]["evidence"])
	}
}
