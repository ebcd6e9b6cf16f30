package main

import (
	"fmt"
	"io"

	"probeward/pipeline"
	"probeward/pipeline/rank"
	"probeward/pipeline/terminal"
)

// shownWords is how many overrides the summary spells out; health.csv has them all.
const shownWords = 3

// fieldWords says what people in the field and at the desk have said, and what the run
// made of it.
func fieldWords(w io.Writer, s *pipeline.Summary) {
	held := []string{}
	for k := range s.Judged.Overrides {
		if a := &s.Judged.Overrides[k]; !a.Expired && a.Start < s.Judged.Period.Window.End {
			held = append(held, s.Probes[a.Probe].Name+": "+rank.Word(a, s.Zone))
		}
	}
	if n := len(held); n > 0 {
		fmt.Fprintf(w, "words    %d overrides hold (health.csv)\n", n)
		for _, words := range held[:min(n, shownWords)] {
			terminal.Item(w, "         ", words)
		}
	}
	b := s.Feedback
	if b == nil {
		return
	}
	watched := 0
	for i := range s.Probes {
		if b.Watch(i) != "" {
			watched++
		}
	}
	terminal.Item(w, "crew     ", fmt.Sprintf("%d rows of visits used: %d mends, %d probes on watch, %d findings wait", b.Matched, len(b.Mends()), watched, len(s.Quiet)))
}
