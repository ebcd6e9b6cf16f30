// Command accuracy measures a scan on simulated farms whose faults are known: what
// it catches and names, what it cries for nothing, which readings it leaves out, and
// whether its confidence holds. Beside it stand the generic tests of the open
// standard, on the same readings and by the same rules (pipeline/score).
//
//	go run ./testdata/accuracy -farms 24 -v
//
// The export, its shape, the cadence and the season follow from the seed, so that 24
// farms in a row have every export in every shape at both cadences.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"probeward/detectors"
	"probeward/pipeline"
	"probeward/pipeline/score"
	"probeward/pipeline/score/peer"
	"probeward/pipeline/simulate"
)

// workers is how many farms are measured at a time; each scans with one.
func workers(farms int) int { return min(runtime.GOMAXPROCS(0), farms) }

// farm is one farm's outcome.
type farm struct {
	Seed           uint64
	Export, Shape  string
	Cadence        string
	Seconds        float64 // all told
	Simulate, Scan float64
	tallies        []*score.Tally // by competitor
	Cases          []score.Case   `json:",omitempty"`
}

// competitors are the columns of the printed table; the first is ours.
var competitors = []string{"probeward", "generic fail", "generic all"}

func main() {
	farms := flag.Int("farms", 24, "how many, seeds in a row")
	probes := flag.Int("probes", 120, "on each")
	weeks := flag.Int("weeks", 9, "of readings; the last is judged")
	seed := flag.Uint64("seed", 1, "of the first farm")
	asJSON := flag.Bool("json", false, "write JSON")
	verbose := flag.Bool("v", false, "list every miss and every false alarm, and each farm's seconds")
	flag.Parse()
	if flag.NArg() > 0 || *farms < 1 {
		flag.Usage()
		os.Exit(2)
	}
	if err := run(os.Stdout, os.Stderr, *farms, *probes, *weeks, *seed, *asJSON, *verbose); err != nil {
		fmt.Fprintln(os.Stderr, "accuracy:", err)
		os.Exit(1)
	}
}

func run(out, words io.Writer, n, probes, weeks int, seed uint64, asJSON, verbose bool) error {
	measured := make([]farm, n)
	errs := make([]error, n)
	var next atomic.Int64
	var group sync.WaitGroup
	var lock sync.Mutex
	for range workers(n) {
		group.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f := options(seed+uint64(i), probes, weeks)
				measured[i], errs[i] = measure(f)
				if verbose {
					lock.Lock()
					fmt.Fprintf(words, "farm %d (%s, %s, %v, from %s): %.1f s\n", f.Seed, f.Export, f.Shape, f.Cadence, f.Start.Format(time.DateOnly), measured[i].Seconds)
					lock.Unlock()
				}
			}
		})
	}
	group.Wait()
	for i, err := range errs {
		if err != nil {
			return fmt.Errorf("farm %d: %w", seed+uint64(i), err)
		}
	}
	columns := make([]score.Column, len(competitors))
	for c, name := range competitors {
		var all []*score.Tally
		for _, f := range measured {
			all = append(all, f.tallies[c])
		}
		columns[c] = score.Column{Name: name, Tally: score.Sum(all...)}
	}
	for _, d := range detectors.All() {
		columns[0].Looks = append(columns[0].Looks, d.Name)
	}
	if asJSON {
		return writeJSON(out, columns, measured, verbose)
	}
	if verbose {
		for _, f := range measured {
			for _, c := range f.Cases {
				fmt.Fprintf(out, "farm %d (%s, %s, %s) %s: %s %s", f.Seed, f.Export, f.Shape, f.Cadence, c.Kind, c.Subject, c.Name)
				if c.Class != "" {
					fmt.Fprintf(out, " [%s]", c.Class)
				}
				fmt.Fprintf(out, "\n    truth: %s\n    said:  %s\n", c.Truth, c.Said)
			}
		}
		fmt.Fprintln(out)
	}
	if err := score.Print(out, columns); err != nil {
		return err
	}
	var simulated, scanned, whole float64
	for _, f := range measured {
		simulated, scanned, whole = simulated+f.Simulate, scanned+f.Scan, whole+f.Seconds
	}
	_, err := fmt.Fprintf(out, "%d farms of %d probes and %d weeks, seeds %d to %d;\nseconds per farm, %d at a time: %.1f (simulate %.1f, scan %.1f)\n",
		n, probes, weeks, seed, seed+uint64(n)-1, workers(n), whole/float64(n), simulated/float64(n), scanned/float64(n))
	return err
}

// options of a farm follow from its seed: 24 in a row combine four exports, three
// shapes and two cadences. Most start in spring; a dry summer, an autumn with the end
// of summer time in it, and a wet winter without irrigation are among them.
func options(seed uint64, probes, weeks int) simulate.Options {
	o := simulate.Defaults()
	o.Seed, o.Probes, o.Weeks, o.Workers, o.Measure = seed, probes, weeks, 1, true
	o.Export = [...]string{"mixed", "kPa", "ohm", "vwc"}[seed%4]
	o.Shape = [...]string{"mixed", "long", "wide"}[seed/4%3]
	o.Cadence = [...]time.Duration{15 * time.Minute, 30 * time.Minute}[(seed+seed/4)%2]
	switch seed % 24 { // midnights of the farm
	case 2, 8, 15, 21:
		o.Start = time.Date(2026, 6, 29, 7, 0, 0, 0, time.UTC)
	case 11, 20:
		o.Start = time.Date(2026, 9, 7, 7, 0, 0, 0, time.UTC)
	case 5, 18:
		o.Start = time.Date(2025, 11, 24, 8, 0, 0, 0, time.UTC)
	}
	return o
}

// measure simulates a farm in a folder of its own, scans it and scores the scan.
func measure(o simulate.Options) (f farm, err error) {
	start := time.Now()
	f = farm{Seed: o.Seed, Export: o.Export, Shape: o.Shape, Cadence: o.Cadence.String()}
	dir, err := os.MkdirTemp("", "accuracy-")
	if err != nil {
		return f, err
	}
	defer os.RemoveAll(dir)
	place, out := filepath.Join(dir, "farm"), filepath.Join(dir, "run")
	if _, err := simulate.Write(place, o); err != nil {
		return f, err
	}
	f.Simulate = time.Since(start).Seconds()
	scan := time.Now()
	if _, err := pipeline.Run(context.Background(), pipeline.Options{
		Folder: filepath.Join(place, "feed"), Out: out, Detectors: detectors.All(), Version: "accuracy", Workers: 1}); err != nil {
		return f, err
	}
	f.Scan = time.Since(scan).Seconds()
	truth, err := score.LoadTruth(filepath.Join(place, "truth"))
	if err != nil {
		return f, err
	}
	ours, err := score.LoadRun(out)
	if err != nil {
		return f, err
	}
	tally, cases := score.Score(truth, ours)
	f.tallies, f.Cases = []*score.Tally{tally}, cases
	for _, failOnly := range []bool{true, false} {
		tally, _ := score.Score(truth, peer.Run(ours, failOnly))
		f.tallies = append(f.tallies, tally)
	}
	f.Seconds = time.Since(start).Seconds()
	return f, nil
}

func writeJSON(out io.Writer, columns []score.Column, farms []farm, verbose bool) error {
	type column struct {
		Name   string
		Totals score.Totals
		Tally  *score.Tally
	}
	var all []column
	for _, c := range columns {
		all = append(all, column{c.Name, c.Tally.Totals(), c.Tally})
	}
	if !verbose {
		for i := range farms {
			farms[i].Cases = nil
		}
	}
	e := json.NewEncoder(out)
	e.SetIndent("", " ")
	return e.Encode(struct {
		Competitors []column
		Farms       []farm
	}{all, farms})
}
