// Package column reads the tables of runs and of truths as an outsider would: from
// their files, by the names of their columns.
package column

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"time"
)

// Rows calls f for each row of a CSV, with its cells by column name. A column that
// the header lacks is an error, or a score would count absent cells as empty ones.
func Rows(path string, f func(get func(string) string) error) error {
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

// Instant reads a stamp of a table, in microseconds.
func Instant(text string) (int64, error) {
	t, err := time.Parse(time.RFC3339Nano, text)
	return t.UnixMicro(), err
}
