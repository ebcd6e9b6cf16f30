package proposal

import (
	"cmp"
	"fmt"
	"path"
	"slices"
	"strings"

	"probeward/pipeline/config"
	"probeward/pipeline/read"
)

// group is the files that one entry of readings describes.
type group struct {
	sights  []read.Sight // sorted by path
	mixed   bool         // an archive whose tables are laid out in several ways
	plain   int          // how much is left to the reader; see below
	paths_  []string     // patterns that match these files and no others
	choices []string     // lines of which one is to be chosen
}

// What is left to the reader to find in each file, one more at each step.
const (
	nothing = iota
	theStamps
	theLogger
	barest // all but the path
)

// first is the group's example.
func (g *group) first() *read.Sight { return &g.sights[0] }

// paths lists the files as a path of the configuration matches them.
func (g *group) paths() []string {
	var all []string
	for _, s := range g.sights {
		if len(all) == 0 || all[len(all)-1] != s.Source {
			all = append(all, s.Source)
		}
	}
	return all
}

// gather puts the files into groups, and those aside that hold no readings.
func (d *draft) gather() {
	keys := map[string]map[string]bool{} // by file on disk
	for _, s := range d.sights {
		if keys[s.Source] == nil {
			keys[s.Source] = map[string]bool{}
		}
		keys[s.Source][key(&s)] = true
	}
	byKey := map[string]*group{}
	for _, s := range d.sights {
		k, mixed := key(&s), len(keys[s.Source]) > 1
		if mixed {
			k = "archive\x00" + s.Source
		} else if !s.Laid || s.RegisterStrange {
			d.left = append(d.left, s)
			continue
		}
		g := byKey[k]
		if g == nil {
			g = &group{mixed: mixed}
			byKey[k] = g
			d.groups = append(d.groups, g)
		}
		g.sights = append(g.sights, s)
		for _, c := range s.Choices {
			if !slices.Contains(g.choices, c) {
				g.choices = append(g.choices, c)
			}
		}
	}
	for _, g := range d.groups {
		g.paths_ = d.patterns(g.paths())
		if g.mixed {
			g.plain = barest
		}
	}
}

// key tells the files apart that one entry cannot describe.
func key(s *read.Sight) string {
	state := "laid"
	if !s.Laid || s.RegisterStrange {
		state = "left"
	}
	return strings.Join([]string{state, s.Form, fmt.Sprint(s.Long), s.Time, s.Date, s.Probe, s.Value, s.Unit, s.Temperature, s.Battery, s.LoggerColumn, s.LoggerKey, s.ProbeKey, fmt.Sprint(s.Day != "")}, "\x00")
}

// patterns gives one pattern that matches these files and no others that lie in the
// folder; where none does, the files themselves.
func (d *draft) patterns(files []string) []string {
	literal := make([]string, len(files))
	for i, f := range files {
		literal[i] = config.Literal(f)
	}
	if len(files) == 1 && !dated.MatchString(read.Stem(files[0])) {
		return literal
	}
	for _, p := range candidates(files) {
		got, ok := d.matches[p]
		if !ok {
			got, _ = read.Matches(d.Folder, p)
			slices.Sort(got)
			d.matches[p] = got
		}
		if slices.Equal(got, files) {
			return []string{p}
		}
	}
	return literal
}

// candidates are patterns that match all the files, from the most open to the closest.
func candidates(files []string) []string {
	segments := make([][]string, len(files))
	depth := -1
	for i, f := range files {
		segments[i] = strings.Split(f, "/")
		if depth >= 0 && len(segments[i]) != depth {
			depth = 0
		}
		if i == 0 {
			depth = len(segments[i])
		}
	}
	ending := common(files, true)
	if len(files) == 1 { // there will be others when its date is past
		stem := read.Stem(files[0])
		ending = files[0][strings.LastIndexByte(files[0], '/')+1+len(stem):]
		return []string{path.Join(literally(path.Dir(files[0])), "*"+ending), path.Join(literally(path.Dir(files[0])), config.Literal(dated.ReplaceAllString(stem, ""))+"*"+ending)}
	}
	if at := strings.IndexByte(ending, '.'); at >= 0 {
		ending = ending[at:]
	} else {
		return nil
	}
	if depth <= 0 {
		folder := path.Dir(common(files, false) + "x")
		return []string{path.Join(folder, "**", "*"+ending), path.Join("**", "*"+ending)}
	}
	var open, close, digits []string
	for k := range depth {
		var here []string
		for i := range segments {
			here = append(here, segments[i][k])
		}
		slices.Sort(here)
		here = slices.Compact(here)
		if len(here) == 1 {
			s := config.Literal(here[0])
			open, close, digits = append(open, s), append(close, s), append(digits, s)
			continue
		}
		tail := ""
		if k == depth-1 {
			tail = ending
		}
		start := strings.TrimRight(common(here, false), "0123456789")
		shape := classes(here[0])
		for _, h := range here {
			if classes(h) != shape {
				shape = config.Literal(start) + "*" + tail
				break
			}
		}
		if k == depth-1 {
			open = append(open, "*"+tail)
		} else {
			open = append(open, config.Literal(start)+"*")
		}
		close, digits = append(close, config.Literal(start)+"*"+tail), append(digits, shape)
	}
	return []string{strings.Join(open, "/"), strings.Join(close, "/"), strings.Join(digits, "/")}
}

func literally(folder string) string {
	parts := strings.Split(folder, "/")
	for i, p := range parts {
		parts[i] = config.Literal(p)
	}
	return strings.Join(parts, "/")
}

// classes writes a name with [0-9] for each of its digits.
func classes(name string) string {
	var b strings.Builder
	for _, r := range name {
		if r >= '0' && r <= '9' {
			b.WriteString("[0-9]")
		} else {
			b.WriteString(config.Literal(string(r)))
		}
	}
	return b.String()
}

// common is the start, or the end, that all names share.
func common(names []string, end bool) string {
	shared := names[0]
	for _, n := range names[1:] {
		k := 0
		for k < len(shared) && k < len(n) {
			a, b := shared[k], n[k]
			if end {
				a, b = shared[len(shared)-1-k], n[len(n)-1-k]
			}
			if a != b {
				break
			}
			k++
		}
		if end {
			shared = shared[len(shared)-k:]
		} else {
			shared = shared[:k]
		}
	}
	return shared
}

// loggerRules are the ways to find a logger in a file's name that are tried.
var loggerRules = []string{"filename", `filename:^([^_]+)`, `filename:^([^.]+)`, `filename:^([^-]+)`, `filename:^([^ ]+)`,
	`filename:^([^_]+_[^_]+)`, `filename:^([^-]+-[^-]+)`, `filename:^(.+)_[^_]+$`, `filename:^(.+)-[^-]+$`, `filename:^(.+)_\d{8}`, `filename:^(.+)_\d{4}-`}

// rule is the one that gives every file of the group the logger that the reader
// found; empty when none does. found counts the loggers.
func (g *group) rule() (rule string, loggers []string) {
	for _, s := range g.sights {
		if s.Logger != "" && !slices.Contains(loggers, s.Logger) {
			loggers = append(loggers, s.Logger)
		}
	}
	if len(loggers) == 0 {
		return "", nil
	}
	slices.Sort(loggers)
	rules := loggerRules
	if len(g.sights) == 1 {
		rules = []string{"filename", "name:" + loggers[0]}
	}
	for _, r := range rules {
		if !slices.ContainsFunc(g.sights, func(s read.Sight) bool { return s.Logger == "" || read.LoggerOf(r, s.Path) != s.Logger }) {
			return r, loggers
		}
	}
	return "", loggers
}

// most gives the names in the order of how many files have them, with that count.
func most(g *group, names func(s *read.Sight) []string) (all []string, files map[string]int) {
	files = map[string]int{}
	for i := range g.sights {
		for _, n := range names(&g.sights[i]) {
			if files[n]++; files[n] == 1 {
				all = append(all, n)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b string) int { return cmp.Compare(files[b], files[a]) })
	return all, files
}
