// Command season measures a season: one invented farm, scanned every week with the
// run before as --previous, while a crew visits the first places of each queue and
// mends what it finds there (pipeline/simulate, pipeline/score/season).
//
//	go run ./testdata/season -seed 1 -weeks 26 -v
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"probeward/detectors"
	"probeward/pipeline"
	"probeward/pipeline/score/season"
	"probeward/pipeline/simulate"
)

func main() {
	o := simulate.SeasonDefaults()
	flag.Uint64Var(&o.Seed, "seed", 1, "of the farm and of all that befalls it")
	flag.IntVar(&o.Probes, "probes", o.Probes, "in the ground at the start")
	flag.IntVar(&o.Weeks, "weeks", o.Weeks, "scans, one a week")
	flag.IntVar(&o.Visits, "visits", o.Visits, "places that the crew sees in a week, at most")
	dir := flag.String("dir", "", "keep feed, truth and runs in this new folder")
	asJSON := flag.Bool("json", false, "write JSON")
	verbose := flag.Bool("v", false, "list every fault that nobody found and every false finding")
	flag.Parse()
	if flag.NArg() > 0 {
		flag.Usage()
		os.Exit(2)
	}
	if err := run(os.Stdout, os.Stderr, *dir, o, *asJSON, *verbose); err != nil {
		fmt.Fprintln(os.Stderr, "season:", err)
		os.Exit(1)
	}
}

func run(out, words io.Writer, dir string, o simulate.SeasonOptions, asJSON, verbose bool) error {
	if dir == "" {
		kept, err := os.MkdirTemp("", "season-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(kept)
		dir = kept
	}
	start := time.Now()
	farm := filepath.Join(dir, "farm")
	s, err := simulate.NewSeason(farm, o)
	if err != nil {
		return err
	}
	var runs []string
	var scanned time.Duration
	previous := ""
	for !s.Done() {
		if err := s.Advance(); err != nil {
			return err
		}
		scan := time.Now()
		to := filepath.Join(dir, "runs", fmt.Sprintf("%02d", len(runs)+1))
		if _, err := pipeline.Run(context.Background(), pipeline.Options{Folder: s.Feed(), Out: to, Previous: previous,
			UntilText: s.Until().Format(time.RFC3339), Detectors: detectors.All(), Version: "season", Workers: 1}); err != nil {
			return fmt.Errorf("week %d: %w", len(runs)+1, err)
		}
		scanned += time.Since(scan)
		runs, previous = append(runs, to), to
		if s.Done() {
			break // nobody scans what the last round changes
		}
		if err := s.Send(filepath.Join(to, "queue.csv")); err != nil {
			return fmt.Errorf("week %d: %w", len(runs), err)
		}
	}
	report, err := season.Score(farm, runs)
	if err != nil {
		return err
	}
	fmt.Fprintf(words, "%d weeks of %d probes, seed %d: %.1f s, of which the scans %.1f s\n",
		len(runs), o.Probes, o.Seed, time.Since(start).Seconds(), scanned.Seconds())
	if asJSON {
		return report.WriteJSON(out)
	}
	return report.Print(out, verbose)
}
