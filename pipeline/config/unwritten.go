package config

import "os"

// Guess is what a scan of the folder goes by when there is no configuration, whether
// one stands there or not. zone is an IANA name; empty: as a scan guesses.
func Guess(folder, zone string) (*Resolved, error) {
	switch info, err := os.Stat(folder); {
	case err != nil:
		return nil, refuse("there is no folder %s: give the folder that holds the exports and probes.csv", folder)
	case !info.IsDir():
		return nil, refuse("%s is a file: give the folder that holds the exports and probes.csv", folder)
	}
	r := &Resolved{Dir: folder}
	r.Timezone = zone
	if err := r.fill(); err != nil {
		return nil, err
	}
	return r, nil
}

// Parse is Open for a configuration that is not in a file yet: name is what its
// complaints call it.
func Parse(folder, name string, text []byte, known map[string][]string) (*Resolved, error) {
	r := &Resolved{File: name, Dir: folder}
	if err := r.read(text, known); err != nil {
		return nil, err
	}
	if err := r.fill(); err != nil {
		return nil, err
	}
	return r, nil
}

// Literal makes a file's name a path of the configuration that matches it alone.
func Literal(name string) string { return globEscape(name) }
