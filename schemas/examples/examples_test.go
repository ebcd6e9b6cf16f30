package examples

import (
	"strings"
	"testing"

	"probeward/schemas"
)

func TestEveryQuerySaysWhatItAnswers(t *testing.T) {
	written := map[string]bool{"manifest.json": true}
	for _, table := range schemas.Tables() {
		for _, f := range table.Files {
			written[f] = true
		}
	}
	seen := map[string]bool{}
	for _, q := range All() {
		if seen[q.Name] || q.Name == "" {
			t.Errorf("two queries, or one without a name: %q", q.Name)
		}
		seen[q.Name] = true
		if len(q.Sentence) < 30 || !strings.HasSuffix(q.Sentence, ".") {
			t.Errorf("%s: its sentence is %q", q.Name, q.Sentence)
		}
		if !strings.HasSuffix(strings.TrimSpace(q.SQL), ";") {
			t.Errorf("%s: no semicolon ends it", q.Name)
		}
		for _, line := range strings.Split(q.SQL, "\n") {
			if len(line) > 80 {
				t.Errorf("%s: a line of %d letters: %s", q.Name, len(line), line)
			}
		}
		// Every file that it reads is one that a run writes.
		files := 0
		for _, word := range strings.Split(q.SQL, "'") {
			if strings.HasSuffix(word, ".parquet") || strings.HasSuffix(word, ".csv") || strings.HasSuffix(word, ".json") {
				if files++; !written[word] {
					t.Errorf("%s reads %s, which no run writes", q.Name, word)
				}
			}
		}
		if files == 0 {
			t.Errorf("%s reads no file of a run", q.Name)
		}
		if got, err := Named(q.Name); err != nil || got != q {
			t.Errorf("%s is not found again: %v", q.Name, err)
		}
	}
	if len(seen) < 10 {
		t.Errorf("%d queries", len(seen))
	}
	if _, err := Named("none"); err == nil || !strings.Contains(err.Error(), "usable_readings") {
		t.Errorf("%v", err)
	}
}
