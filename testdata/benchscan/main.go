// Command benchscan measures one scan of ten million readings of 2,000 probes:
// seconds, readings a second, and the peak memory of the process, beside peers
// that only go through the same bytes in the same run (counting newlines, and
// encoding/csv). Absolute times hold for the machine; the ratios are the point.
package main

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

func main() {
	bin := flag.String("bin", "bin/probeward", "the program")
	dir := flag.String("dir", "out/bench", "where to work")
	probes := flag.Int("probes", 2000, "how many")
	days := flag.Int("days", 35, "how long, at ten minutes")
	runs := flag.Int("runs", 3, "counted scans; the median is shown")
	flag.Parse()
	if err := run(*bin, *dir, *probes, *days, *runs); err != nil {
		fmt.Fprintln(os.Stderr, "benchscan:", err)
		os.Exit(1)
	}
}

func run(bin, dir string, probes, days, runs int) error {
	feed := filepath.Join(dir, fmt.Sprintf("feed-%d-%d", probes, days))
	readings, err := write(feed, probes, days)
	if err != nil {
		return err
	}
	file := filepath.Join(feed, "readings.csv")
	newlines, err := timed(file, countLines)
	if err != nil {
		return err
	}
	records, err := timed(file, countRecords)
	if err != nil {
		return err
	}
	var walls, peaks []float64
	for range runs {
		out := filepath.Join(dir, "run")
		if err := os.RemoveAll(out); err != nil {
			return err
		}
		cmd := exec.Command(bin, "scan", feed, "--out", out)
		cmd.Stderr = io.Discard
		busy := stolen()
		start := time.Now()
		if err := cmd.Run(); err != nil {
			return fmt.Errorf("the scan: %w", err)
		}
		wall := time.Since(start).Seconds()
		usage := cmd.ProcessState.SysUsage().(*syscall.Rusage)
		own := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
		walls, peaks = append(walls, wall), append(peaks, float64(usage.Maxrss)/1024)
		fmt.Printf("scan: %.2f s, cpu %.2f s, peak %.0f MiB; others took %.0f %% of the machine meanwhile\n",
			wall, own.Seconds(), float64(usage.Maxrss)/1024, 100*math.Max(0, busy()-own.Seconds())/(wall*cores()))
	}
	slices.Sort(walls)
	wall := walls[len(walls)/2]
	fmt.Printf("%d readings of %d probes: median %.2f s, %.2f M readings a second, peak %.0f MiB\n",
		readings, probes, wall, float64(readings)/wall/1e6, slices.Max(peaks))
	fmt.Printf("peers on the same file: newlines %.2f s (scan is %.1f times), encoding/csv %.2f s (scan is %.1f times)\n",
		newlines, wall/newlines, records, wall/records)
	return nil
}

// write makes the feed if it is not there: a long CSV in time order, values in
// kPa that dry, are watered every four days, and scatter a little.
func write(dir string, probes, days int) (int, error) {
	steps := days * 144
	if _, err := os.Stat(filepath.Join(dir, "readings.csv")); err == nil {
		return steps * probes, nil
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return 0, err
	}
	var reg bytes.Buffer
	reg.WriteString("probe,logger,port,post,block,zone,depth_cm,kind,unit\n")
	names := make([]string, probes)
	for i := range names {
		names[i] = fmt.Sprintf("B-%04d-%d", i/2, 30+30*(i%2))
		fmt.Fprintf(&reg, "%s,L%03d,%d,P%03d,block-%d,zone-%d,%d,granular_matrix,kPa\n", names[i], i/8, i%8+1, i/8, i/200, i/50, 30+30*(i%2))
	}
	var water strings.Builder
	water.WriteString("zone,start,end,depth_mm\n")
	first := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	for z := 0; z <= (probes-1)/50; z++ {
		for d := 0; d < days; d += 4 {
			at := first.AddDate(0, 0, d).Add(time.Duration(5+z%6) * time.Hour)
			fmt.Fprintf(&water, "zone-%d,%s,%s,9\n", z, at.Format(time.RFC3339), at.Add(5*time.Hour).Format(time.RFC3339))
		}
	}
	for name, text := range map[string]string{"probes.csv": reg.String(), "irrigation.csv": water.String()} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			return 0, err
		}
	}
	f, err := os.Create(filepath.Join(dir, "readings.tmp"))
	if err != nil {
		return 0, err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	w.WriteString("time,probe,value\n")
	seed := uint64(1)
	var line []byte
	for s := range steps {
		stamp := first.Add(time.Duration(s) * 10 * time.Minute).Format(time.RFC3339)
		for i, name := range names {
			seed += 0x9e3779b97f4a7c15
			z := (seed ^ seed>>30) * 0xbf58476d1ce4e5b9
			scatter := float64(z>>40)/(1<<24) - 0.5
			hours := math.Mod(float64(s)/6-float64(5+i/50%6)+96, 96) // since the watering
			v := (14 + float64(i%17)) * math.Exp(hours/80) * (1 + 0.01*scatter)
			line = append(append(append(line[:0], stamp...), ','), name...)
			line = strconv.AppendFloat(append(line, ','), v, 'f', 1, 64)
			w.Write(append(line, '\n'))
		}
	}
	if err := errors.Join(w.Flush(), f.Close()); err != nil {
		return 0, err
	}
	return steps * probes, os.Rename(filepath.Join(dir, "readings.tmp"), filepath.Join(dir, "readings.csv"))
}

// timed gives the seconds of going through a file, the faster of two.
func timed(path string, through func(io.Reader) error) (float64, error) {
	best := math.Inf(1)
	for range 2 {
		f, err := os.Open(path)
		if err != nil {
			return 0, err
		}
		start := time.Now()
		err = through(f)
		best = math.Min(best, time.Since(start).Seconds())
		f.Close()
		if err != nil {
			return 0, err
		}
	}
	return best, nil
}

func countLines(r io.Reader) error {
	buf, n := make([]byte, 1<<20), 0
	for {
		k, err := r.Read(buf)
		n += bytes.Count(buf[:k], []byte{'\n'})
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

func countRecords(r io.Reader) error {
	c := csv.NewReader(bufio.NewReaderSize(r, 1<<20))
	c.ReuseRecord = true
	for {
		if _, err := c.Read(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// stolen starts counting the machine's busy seconds, where the system tells them.
func stolen() func() float64 {
	first := busySeconds()
	return func() float64 { return busySeconds() - first }
}

func busySeconds() float64 {
	b, err := os.ReadFile("/proc/stat")
	if err != nil {
		return 0
	}
	fields := strings.Fields(strings.SplitN(string(b), "\n", 2)[0])
	total := 0.0
	for i, f := range fields[1:] {
		if i == 3 || i == 4 { // idle, waiting for input or output
			continue
		}
		v, _ := strconv.ParseFloat(f, 64)
		total += v
	}
	return total / 100
}

func cores() float64 {
	b, err := os.ReadFile("/proc/cpuinfo")
	if err != nil {
		return 1
	}
	return math.Max(1, float64(strings.Count(string(b), "processor\t")))
}
