package stamp

import (
	"fmt"
	"sync"
	"time"
)

// Guess finds the format of a file by trying the usual ones on its stamps.
type Guess struct {
	families []*family
	seen     int
	example  string
	twoWays  string // the first stamp that is another day when day and month change places
}

// family is one way to write the day, with every usual way to write the hour.
type family struct {
	format *Format
	day    string
	hits   int
	twin   *family // the same text with day and month the other way round
	alone  int     // stamps that this reading takes and its twin does not
	parts  bool    // of day numbers: some have a fraction
}

// The usual ways to write the hour, and the day. Days in one row are told apart by
// the stamps; the rows cannot be mistaken for each other, but for twelve digits,
// which are a day and an hour rather than the milliseconds of a year before 2001.
var (
	hours = []string{"15:04:05", "15:04", "3:04:05 PM", "3:04 PM", "3:04:05PM", "3:04PM", "3:04:05 pm", "3:04 pm",
		"15:04:05Z07:00", "15:04Z07:00", "15:04:05-0700", "15:04:05 -07:00", "15:04:05 -0700", "15:04:05 UTC", "15:04 UTC"}
	days = [][]string{{"2006-01-02"}, {"2006-1-2"}, {"2006/1/2"}, {"2006.1.2"},
		{"1/2/2006", "2/1/2006"}, {"1-2-2006", "2-1-2006"}, {"2.1.2006"}, {"1/2/06", "2/1/06"}, {"2.1.06"},
		{"2-Jan-2006"}, {"2-Jan-06"}, {"2 Jan 2006"}, {"Jan 2, 2006"}, {"Jan 2 2006"}}
	compact = []string{"20060102150405", "200601021504", "20060102 150405", "20060102 15:04:05", "20060102 15:04",
		"20060102T150405", "20060102T150405Z07:00", "20060102T150405-0700", "20060102"}
)

// usual are the layouts above, compiled once: a Format only reads them.
var usual = sync.OnceValue(func() map[string]*layout {
	all := map[string]*layout{}
	add := func(text string) {
		l, err := compile(text)
		if err != nil {
			panic(err) // the lists above are fixed, and the tests compile them all
		}
		all[text] = l
	}
	for _, row := range days {
		for _, d := range row {
			for _, h := range hours {
				add(d + " " + h)
				add(d + "T" + h)
			}
			add(d)
		}
	}
	for _, text := range compact {
		add(text)
	}
	return all
})

// NewGuess starts with all the usual formats.
func NewGuess() *Guess {
	g := &Guess{}
	for _, row := range days {
		var pair []*family
		for _, d := range row {
			f := &family{format: &Format{}, day: d}
			for _, h := range hours {
				f.join(d + " " + h)
				if d[0] == '2' && d[1] == '0' {
					f.join(d + "T" + h)
				}
			}
			f.join(d)
			pair = append(pair, f)
			g.families = append(g.families, f)
		}
		if len(pair) == 2 {
			pair[0].twin, pair[1].twin = pair[1], pair[0]
		}
	}
	f := &family{format: &Format{}, day: compact[0]}
	for _, text := range compact {
		f.join(text)
	}
	g.families = append(g.families, f)
	for _, tick := range []int64{second, 1000, 1} {
		g.families = append(g.families, &family{format: &Format{epoch: tick}})
	}
	g.families = append(g.families, &family{format: &Format{days: true}})
	return g
}

func (f *family) join(text string) { f.format.layouts = append(f.format.layouts, usual()[text]) }

// Add shows the guess one more stamp.
func (g *Guess) Add(b []byte) {
	if len(b) == 0 {
		return
	}
	if g.seen == 0 {
		g.example = string(b[:min(len(b), 40)])
	}
	g.seen++
	took := false
	for _, f := range g.families {
		if f.twin != nil && f.twin.day < f.day {
			continue // looked at together with its twin, below
		}
		t, _, ok := f.format.Parse(b)
		if ok {
			f.hits++
			took = true
			f.parts = f.parts || f.format.days && len(b) > len("46144")
		}
		if f.twin == nil {
			continue
		}
		u, _, other := f.twin.format.Parse(b)
		switch {
		case other && ok && t != u && g.twoWays == "":
			g.twoWays = string(b[:min(len(b), 40)])
		case other && !ok:
			f.twin.alone++
		case ok && !other:
			f.alone++
		}
		if other {
			f.twin.hits++
			took = true
		}
	}
	if took && g.seen == 1 || g.seen == 64 {
		g.prune()
	}
}

// prune drops the families that took nothing so far, in pairs.
func (g *Guess) prune() {
	kept := g.families[:0]
	for _, f := range g.families {
		if f.hits > 0 || f.twin != nil && f.twin.hits > 0 {
			kept = append(kept, f)
		}
	}
	g.families = kept
}

// Open says whether more stamps could still tell the day from the month.
func (g *Guess) Open() bool {
	f := g.best()
	return f != nil && f.twin != nil && f.alone == 0 && f.twin.alone == 0
}

// reads gives the day that the family takes the stamp for, in words.
func (f *family) reads(text string) string {
	t, _, _ := f.format.Parse([]byte(text))
	return time.UnixMicro(t).UTC().Format("2 January 2006")
}

func (g *Guess) best() *family {
	var best *family
	for _, f := range g.families {
		if f.hits > 0 && (best == nil || f.hits > best.hits) {
			best = f
		}
	}
	return best
}

// Format gives the format that took the most stamps, and at least half of them. The
// error names what to write into the configuration.
func (g *Guess) Format() (*Format, error) {
	f := g.best()
	if f != nil && f.format.days && !f.parts {
		return nil, fmt.Errorf("stamps like %q may be a spreadsheet's day numbers, or count something else; if they are, write time_format: day_number", g.example)
	}
	if f == nil || 2*f.hits < g.seen {
		return nil, fmt.Errorf("no usual time format reads stamps like %q; write time_format as the reference time 2006-01-02 15:04:05 would stand there", g.example)
	}
	switch t := f.twin; {
	case t == nil || f.alone == 0 && t.alone == 0 && g.twoWays == "": // one day, whichever way
	case f.alone > 0 && t.alone > 0:
		return nil, fmt.Errorf("some stamps can only be read as month first and some only as day first, as in %q; write time_format: %q or time_format: %q",
			g.example, f.written(), t.written())
	case f.alone == 0 && t.alone == 0:
		return nil, fmt.Errorf("every stamp can be read as month first and as day first, as in %q, which is %s or %s; write time_format: %q or time_format: %q",
			g.twoWays, f.reads(g.twoWays), t.reads(g.twoWays), f.written(), t.written())
	case t.alone > 0:
		f = t
	}
	return f.format.Clone(), nil
}

// written is the layout that fitted last.
func (f *family) written() string {
	if f.format.epoch > 0 || f.format.days {
		return f.format.Layouts()
	}
	return f.format.layouts[f.format.last].text
}

// Used names the layout that fitted last.
func (f *Format) Used() string { return (&family{format: f}).written() }
