package score

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"time"

	"probeward/detectors/detect"
)

// rows calls f for each row of a CSV, with its cells by column name. A column that
// the header lacks is an error, or a score would count absent cells as empty ones.
func rows(path string, f func(get func(string) string) error) error {
	file, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("cannot score: %w", err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.ReuseRecord = true
	header, err := r.Read()
	if err != nil {
		return fmt.Errorf("%s: no header: %w", path, err)
	}
	place := map[string]int{}
	for i, name := range header {
		place[name] = i
	}
	var record []string
	var missing error
	get := func(name string) string {
		i, ok := place[name]
		if !ok {
			missing = fmt.Errorf("no column %q", name)
			return ""
		}
		return record[i]
	}
	for {
		if record, err = r.Read(); errors.Is(err, io.EOF) {
			return nil
		}
		if err == nil {
			err = errors.Join(f(get), missing)
		}
		if err != nil {
			line, _ := r.FieldPos(0)
			return fmt.Errorf("%s:%d: %w", path, line, err)
		}
	}
}

func instant(text string) (int64, error) {
	t, err := time.Parse(time.RFC3339Nano, text)
	return t.UnixMicro(), err
}

// span reads two stamps; without an end it has none.
func span(start, end string) (s detect.Span, err error) {
	if s.Start, err = instant(start); err != nil {
		return s, err
	}
	if end == "" {
		s.End = math.MaxInt64
		return s, nil
	}
	s.End, err = instant(end)
	return s, err
}
