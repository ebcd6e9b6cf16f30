package previous

import (
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"time"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// visited reads what the feedback of visits needs of an earlier run: how sure its
// findings were, and which of them had left the queue.
func (r *Run) visited(tree fs.FS, dir string) error {
	err := rows(tree, dir, schemas.Findings, func(get func(string) string) error {
		f := Finding{Subject: get("subject"), Name: get("name"), Fault: get("fault")}
		confidence, err := strconv.ParseFloat(get("confidence"), 64)
		if err != nil {
			return fmt.Errorf("confidence: %w", err)
		}
		f.Confidence = confidence
		measured, threshold, err := maybe(get, "measured", "threshold")
		if err != nil {
			return err
		}
		if measured.OK && threshold.OK {
			f.Distance = detect.Some(math.Abs(measured.V - threshold.V))
		}
		r.Findings = append(r.Findings, f)
		return nil
	})
	if err != nil {
		return err
	}
	return rows(tree, dir, schemas.Quiet, func(get func(string) string) (err error) {
		q := Quiet{Subject: get("subject"), Name: get("name"), Fault: get("fault")}
		if q.Visits, err = strconv.Atoi(get("visits")); err != nil {
			return fmt.Errorf("visits: %w", err)
		}
		t, err := time.Parse(time.RFC3339Nano, get("last_visit"))
		if err != nil {
			return fmt.Errorf("last_visit: %w", err)
		}
		q.LastVisit = t.UnixMicro()
		q.Confidence, q.Distance, err = maybe(get, "confidence", "distance")
		r.Quiet = append(r.Quiet, q)
		return err
	})
}

// maybe reads two numbers that may be missing.
func maybe(get func(string) string, a, b string) (x, y detect.Maybe[float64], err error) {
	for _, c := range []struct {
		name string
		to   *detect.Maybe[float64]
	}{{a, &x}, {b, &y}} {
		text := get(c.name)
		if text == "" {
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return x, y, fmt.Errorf("%s: %w", c.name, err)
		}
		*c.to = detect.Some(v)
	}
	return x, y, nil
}
