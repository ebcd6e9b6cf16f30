package stamp

import "fmt"

// Guess finds the format of a file by trying the usual ones on its stamps.
type Guess struct {
	families []*family
	seen     int
	example  string
}

// family is one way to write the day, with every usual way to write the hour.
type family struct {
	format *Format
	day    string
	hits   int
	twin   *family // the same text with day and month the other way round
	alone  int     // stamps that this reading takes and its twin does not
}

var hours = []string{"15:04:05", "15:04", "3:04:05 PM", "3:04 PM", "15:04:05Z07:00", "15:04Z07:00"}

// NewGuess starts with all the usual formats.
func NewGuess() *Guess {
	g := &Guess{}
	add := func(days ...string) {
		var pair []*family
		for _, d := range days {
			f := &family{format: &Format{}, day: d}
			for _, h := range hours {
				f.join(d + " " + h)
				if d == "2006-01-02" {
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
	add("2006-01-02")
	add("2006/1/2")
	add("1/2/2006", "2/1/2006")
	add("1-2-2006", "2-1-2006")
	add("2.1.2006")
	add("1/2/06", "2/1/06")
	add("2.1.06")
	for _, tick := range []int64{second, 1000, 1} {
		g.families = append(g.families, &family{format: &Format{epoch: tick}})
	}
	return g
}

func (f *family) join(text string) {
	l, err := compile(text)
	if err != nil {
		panic(err) // the lists above are fixed, and the tests compile them all
	}
	f.format.layouts = append(f.format.layouts, l)
}

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
		_, _, ok := f.format.Parse(b)
		if ok {
			f.hits++
			took = true
		}
		if f.twin == nil {
			continue
		}
		_, _, other := f.twin.format.Parse(b)
		switch {
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
	if f == nil || 2*f.hits < g.seen {
		return nil, fmt.Errorf("no usual time format reads stamps like %q; write time_format as the reference time 2006-01-02 15:04:05 would stand there", g.example)
	}
	if t := f.twin; t != nil && (f.alone == 0) == (t.alone == 0) {
		what := "every stamp can be read as month first and as day first"
		if f.alone > 0 {
			what = "some stamps can only be read as month first and some only as day first"
		}
		return nil, fmt.Errorf("%s, as in %q; write time_format: %q or time_format: %q", what, g.example,
			f.written(), t.written())
	} else if t != nil && t.alone > 0 {
		f = t
	}
	return f.format.Clone(), nil
}

// written is the layout that fitted last.
func (f *family) written() string {
	if f.format.epoch > 0 {
		return f.format.Layouts()
	}
	return f.format.layouts[f.format.last].text
}

// Used names the layout that fitted last.
func (f *Format) Used() string { return (&family{format: f}).written() }
