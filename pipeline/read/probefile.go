package read

import (
	"fmt"
	"strings"

	"probeward/pipeline/register"
)

// probeFile guesses a file of one probe: the longest start of its name that the register
// knows as a probe, where one column is called value or alike.
func (l *layout) probeFile(name string, reg *register.Register) bool {
	at := anyColumn(l.names, valueNames)
	for end := len(name); at >= 0 && end > 0; end-- {
		if end < len(name) && !strings.ContainsRune("_-. ", rune(name[end])) {
			continue
		}
		if _, ok := reg.Named(name[:end]); ok {
			l.ports, l.matched = []port{{column: at, name: name[:end]}}, true
			l.say("column %q is probe %s (guessed from the file's name)", l.names[at], name[:end])
			return true
		}
	}
	return false
}

// free is the first column without another use, for a remedy's words.
func (l *layout) free() string {
	if at := anyColumn(l.names, valueNames); at >= 0 {
		return l.names[at]
	}
	for i, n := range l.names {
		if !l.taken(i) && n != "" {
			return n
		}
	}
	return "the column's name"
}

// nameless says what to write where nothing tells whose readings a file holds.
func (l *layout) nameless(filePath string) string {
	return fmt.Sprintf("nothing says whose readings these are: no column is named as a probe or port of the register, and no start of the file's name as one of its loggers or probes; "+
		"the columns are %s; write logger: filename in scan.yaml, and in probes.csv logger %s and port %s", list(l.names), stem(filePath), l.free())
}
