package read

import (
	"bytes"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"probeward/pipeline/read/fastcsv"
	"probeward/schemas"
)

// nullKey is what the common writers of partitioned tables call a folder whose key
// has no value.
const nullKey = "__HIVE_DEFAULT_PARTITION__"

// dayOfFolder is the place of the column of days where the folder has the day.
const dayOfFolder = -2

// key is what a folder named key=value says of all readings below it: a column that
// is not in the file.
type key struct {
	name, value string // percent-decoded
	null        bool
	differs     string // what the file's own column of that name holds instead; empty: nothing seen
}

// keysOf takes the keys out of a file's path, the outermost folder's first. Where
// two folders name the same key, the inner one holds.
func keysOf(filePath string) []key {
	var keys []key
	folders := strings.Split(filePath, "/")
	for _, f := range folders[:len(folders)-1] {
		name, value, ok := strings.Cut(f, "=")
		if !ok || name == "" {
			continue
		}
		k := key{name: decoded(name), value: decoded(value)}
		k.null = value == "" || value == nullKey
		if i := slices.IndexFunc(keys, func(o key) bool { return sameName(o.name, k.name) }); i >= 0 {
			keys = slices.Delete(keys, i, i+1)
		}
		keys = append(keys, k)
	}
	return keys
}

func decoded(s string) string {
	if d, err := url.PathUnescape(s); err == nil {
		return d
	}
	return s
}

// key gives the folder's key of that name, or without a name the first of the known;
// nil when there is none. A column of the file goes before it.
func (l *layout) key(name string, known []string) *key {
	if name != "" {
		known = []string{name}
	}
	for _, n := range known {
		if i := slices.IndexFunc(l.keys, func(k key) bool { return sameName(k.name, n) }); i >= 0 {
			return &l.keys[i]
		}
	}
	return nil
}

// keyed takes what the shape lacks from the keys: the probe and the unit of the
// whole file.
func (l *layout) keyed(src *schemas.Source, probe int) (byKey bool, err error) {
	if probe >= 0 {
		return false, nil
	}
	k := l.key(src.Columns["probe"], probeNames)
	if k == nil {
		return false, nil
	}
	if k.null {
		return true, fmt.Errorf("the folder %s=%s says that the probe is not known; name it, or leave the folder out", k.name, nullKey)
	}
	l.ofProbe, l.probeKey = []byte(k.value), k.name
	l.say("probe %s from the folder's name", k.value)
	return true, nil
}

// keyedUnit takes the unit of a reading a row from the keys where no column has it.
func (l *layout) keyedUnit(src *schemas.Source) {
	if l.unit >= 0 {
		return
	}
	if k := l.key(or(src.Columns["unit"], "unit"), nil); k != nil && !k.null {
		l.ofUnit = []byte(k.value)
		l.say("unit %s from the folder's name", k.value)
	}
}

// keyedLogger takes the logger of the whole file from the keys.
func (l *layout) keyedLogger(name string, known []string) (bool, error) {
	k := l.key(name, known)
	switch {
	case k == nil:
		return false, nil
	case k.null && name != "":
		return false, fmt.Errorf("the folder %s=%s says that the logger is not known; name it, or leave the folder out", k.name, nullKey)
	case k.null:
		return false, nil
	}
	l.fixed, l.named = k.value, true
	l.say("logger %s from the folder's name", k.value)
	return true, nil
}

// parquetProbe finds the probe of row i of the stretch; -1 when the register has
// none.
func (s *sheet) parquetProbe(t *parquetTable, i int) int {
	if s.layout.probe < 0 {
		return s.probeOf(s.layout.ofProbe)
	}
	return s.rowProbe(t.cursors[s.layout.probe], i)
}

// parquetName is what names the probe of row i.
func (s *sheet) parquetName(t *parquetTable, i int) []byte {
	if s.layout.probe < 0 {
		return s.layout.ofProbe
	}
	return t.cursors[s.layout.probe].text(i)
}

// settleDay decides whether the folder's day belongs to the stamps: where all of
// them are hours alone, and no column has the day.
func (s *sheet) settleDay(head []byte, sep byte, line int) {
	l := s.layout
	k := l.key(or(s.source.Columns["date"], "date"), nil)
	if k == nil || k.null || l.date >= 0 {
		return
	}
	r := skipTo(bytes.NewReader(head), sep, line)
	seen := false
	for n := 0; n < sampleRows && r.Next(); n++ {
		if cell := at(r, l.time); starts(cell) {
			if seen = hourAlone.Match(cell); !seen {
				return
			}
		}
	}
	if seen {
		l.day, l.date = []byte(k.value), dayOfFolder
		l.say("stamps from the folder's day %s and column %q", k.value, l.names[l.time])
	}
}

// probeColumn and unitColumn are what rejects call them.
func (l *layout) probeColumn() string {
	if l.probe < 0 {
		return l.probeKey
	}
	return l.names[l.probe]
}

func (l *layout) unitColumn() string {
	if l.unit < 0 {
		return "unit"
	}
	return l.names[l.unit]
}

// compareKeys holds a row of the sample against the keys whose columns the file has
// too. Days are written in too many ways to be compared.
func (s *sheet) compareKeys(r *fastcsv.Reader) {
	l := s.layout
	for k := range l.keys {
		key := &l.keys[k]
		i := column(l.names, key.name)
		if i < 0 || i == l.time || i == l.date || i >= r.Len() || key.differs != "" {
			continue
		}
		if cell := r.Cell(i); string(cell) != key.value && readable(cell) != key.value && len(cell) > 0 {
			key.differs = excerpt(cell)
		}
	}
}

// sayKeys notes where the file's own column says another thing than its folder.
// Loggers and probes are compared over all rows, other columns in the sample.
func (s *sheet) sayKeys() {
	l := s.layout
	for k := range l.keys {
		key := &l.keys[k]
		i := column(l.names, key.name)
		if i < 0 {
			continue
		}
		var held []string
		switch {
		case i == l.logger && !l.long:
			for name := range s.wide.boxes {
				held = append(held, readable([]byte(name)))
			}
		case i == l.probe && l.long:
			for p := range s.long.probes {
				if s.long.probes[p].rows > 0 {
					held = append(held, s.reg.Probes[p].Name)
				}
			}
			for name := range s.long.unknown {
				held = append(held, readable([]byte(name)))
			}
		}
		slices.Sort(held)
		if at := slices.IndexFunc(held, func(h string) bool { return h != key.value }); at >= 0 {
			key.differs = held[at]
		}
		if key.differs != "" {
			s.note("its folder says %s=%s, and its column %q holds %s: the column holds; mend the folder's name, or the export", key.name, key.value, l.names[i], key.differs)
		}
	}
}
