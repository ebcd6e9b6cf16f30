package config

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"

	"probeward/schemas"
)

// FileName of the configuration in a folder.
const FileName = "scan.yaml"

// What a scan looks at when nothing else is said.
const (
	DefaultWindow   = 7 * 24 * time.Hour
	DefaultLookback = 8 * 7 * 24 * time.Hour
)

// Resolved is a configuration with all that it leaves out filled in. Paths and globs
// are as written; Path resolves them.
type Resolved struct {
	schemas.Config
	File     string // path of the configuration file; empty when there is none
	Dir      string // the folder that paths and globs are relative to
	Zone     *time.Location
	ZoneName string   // IANA name
	Guessed  []string // what was guessed, in words, in a fixed order
	Tree     fs.FS    // the folder, where it is on an object store; nil: on disk

	doc      *document // nil when there is no file
	lookback bool      // the file gives it: 0 is then meant
}

// Window is how long before until the scan judges.
func (r *Resolved) Window() time.Duration {
	if r.Config.Window == 0 {
		return DefaultWindow
	}
	return time.Duration(r.Config.Window)
}

// Lookback is how long before the window the scan may look. A configured 0 is 0.
func (r *Resolved) Lookback() time.Duration {
	if r.Config.Lookback == 0 && !r.lookback {
		return DefaultLookback
	}
	return time.Duration(r.Config.Lookback)
}

// Path resolves a path or glob of the configuration against Dir. Empty stays empty,
// and so do absolute paths and object stores (s3://…).
func (r *Resolved) Path(p string) string {
	if p == "" || strings.Contains(p, "://") || filepath.IsAbs(p) {
		return p
	}
	if at := strings.Index(r.Dir, "://"); at > 0 {
		return r.Dir[:at+3] + path.Join(r.Dir[at+3:], p)
	}
	return filepath.Join(r.Dir, filepath.FromSlash(p))
}

// Open finds the configuration: configFile when it is given, else scan.yaml in the
// folder, else none. What it leaves out is guessed from the folder. Dir is the folder;
// without a folder, that of configFile. Every error is ErrConfiguration; what is
// wrong within the file comes all at once, as Problems.
func Open(folder, configFile string, known map[string][]string) (*Resolved, error) {
	if strings.Contains(folder, "://") && configFile == "" {
		return nil, refuse("%s is on an object store, which is not searched: name its paths in a file and give that with --config", folder)
	}
	return OpenIn(nil, folder, configFile, known)
}

// OpenIn is Open for a folder that is not on disk: tree is what lies in it.
func OpenIn(tree fs.FS, folder, configFile string, known map[string][]string) (*Resolved, error) {
	r := &Resolved{File: configFile, Dir: folder, Tree: tree}
	if folder == "" {
		r.Dir = "."
		if configFile != "" {
			r.Dir = filepath.Dir(configFile)
		}
	}
	if tree == nil {
		switch info, err := os.Stat(r.Dir); {
		case err != nil:
			return nil, refuse("there is no folder %s: give the folder that holds the exports and probes.csv", r.Dir)
		case !info.IsDir():
			return nil, refuse("%s is a file: give the folder that holds the exports and probes.csv", r.Dir)
		}
	}
	if r.File == "" {
		if _, err := fs.Stat(r.tree(), FileName); err == nil {
			r.File = r.Path(FileName)
		} else if !errors.Is(err, fs.ErrNotExist) {
			return nil, refuse("cannot read %s: %v", r.Path(FileName), err)
		}
	}
	if r.File != "" {
		var data []byte
		var err error
		if configFile == "" {
			data, err = fs.ReadFile(r.tree(), FileName)
		} else {
			data, err = os.ReadFile(r.File)
		}
		if err != nil {
			return nil, refuse("cannot read the configuration: %v", err)
		}
		if err := r.read(data, known); err != nil {
			return nil, err
		}
	}
	if err := r.fill(); err != nil {
		return nil, err
	}
	return r, nil
}

// tree is what lies in the folder.
func (r *Resolved) tree() fs.FS {
	if r.Tree != nil {
		return r.Tree
	}
	return os.DirFS(r.Dir)
}

// read checks the file and takes it over.
func (r *Resolved) read(data []byte, known map[string][]string) error {
	r.doc = parse(r.File, data)
	if len(r.doc.problems) == 0 {
		if err := r.doc.conform(); err != nil {
			return refuse("%v", err)
		}
		r.doc.check(r.Path)
		if known != nil {
			r.doc.detectors(known)
		}
	}
	if err := r.doc.problems.err(); err != nil {
		return err
	}
	_, r.lookback = r.doc.root["lookback"]
	plain, err := json.Marshal(r.doc.root)
	if err == nil {
		err = json.Unmarshal(plain, &r.Config)
	}
	if err != nil {
		return refuse("%s: %v", r.File, err)
	}
	return nil
}

// fill puts defaults and guesses where nothing is written.
func (r *Resolved) fill() error {
	r.ZoneName = r.Timezone
	if r.ZoneName == "" {
		r.ZoneName = "UTC"
		r.Guessed = append(r.Guessed, "timezone: stamps without an offset are taken as UTC; if the loggers keep local time, write in scan.yaml: timezone: America/Los_Angeles")
	}
	zone, err := zoneNamed(r.ZoneName)
	if err != nil {
		return refuse("%v", err)
	}
	r.Zone = zone
	if r.Units.Depth == "" {
		r.Units.Depth = "cm"
	}
	if r.Units.Area == "" {
		r.Units.Area = "ha"
	}
	if r.File == "" {
		return r.guess(func(string) bool { return true })
	}
	whole := len(r.Readings) == 0
	// visits.csv comes back from the field after the configuration was written.
	return r.guess(func(key string) bool { return whole || key == "probes" || key == "visits" })
}
