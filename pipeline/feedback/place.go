package feedback

import (
	"slices"
	"strings"

	"probeward/pipeline/register"
	"probeward/schemas"
)

// place is what a visit's name can stand for.
type place struct {
	probes  []int
	loggers []string
	zones   []string
}

// places lists the names that a visit may begin with, by rank's rule: blanks become
// underscores, and a farm may stand in front.
func places(reg *register.Register) map[string]*place {
	out := map[string]*place{}
	at := func(farm, name string) []*place {
		if name == "" {
			return nil
		}
		keys := []string{strings.Join(strings.Fields(name), "_")}
		if farm != "" {
			keys = append(keys, strings.Join(strings.Fields(farm), "_")+"-"+keys[0])
		}
		var all []*place
		for _, k := range keys {
			if out[k] == nil {
				out[k] = &place{}
			}
			all = append(all, out[k])
		}
		return all
	}
	for i := range reg.Probes {
		p := &reg.Probes[i]
		names := []string{p.Post, p.Name}
		for _, w := range p.Wirings {
			if w.Logger == "" {
				continue
			}
			names = append(names, w.Logger)
			for _, name := range []string{p.Post, w.Logger} {
				for _, x := range at(p.Farm, name) {
					x.loggers = appendNew(x.loggers, w.Logger)
				}
			}
		}
		for _, name := range names {
			for _, x := range at(p.Farm, name) {
				x.probes = appendNew(x.probes, i)
			}
		}
		for _, x := range at(p.Farm, p.Zone) {
			x.zones = appendNew(x.zones, p.Zone)
		}
	}
	for _, l := range reg.Loggers {
		for _, name := range []string{l.Post, l.Name} {
			for _, x := range at("", name) {
				x.loggers = appendNew(x.loggers, l.Name)
			}
		}
	}
	return out
}

func appendNew[T comparable](list []T, v T) []T {
	if slices.Contains(list, v) {
		return list
	}
	return append(list, v)
}

// splitName takes a visit's name apart; ok is false when it ends with no family.
func splitName(visit string) (at string, family schemas.Family, ok bool) {
	cut := func(name string) (string, schemas.Family, bool) {
		i := strings.LastIndexByte(name, '-')
		if i < 0 {
			return "", "", false
		}
		for _, f := range schemas.Faults() {
			if string(f.Family) == name[i+1:] {
				return name[:i], f.Family, true
			}
		}
		return "", "", false
	}
	if at, family, ok = cut(visit); ok {
		return at, family, true
	}
	if i := strings.LastIndexByte(visit, '-'); i > 0 && strings.Trim(visit[i+1:], "0123456789") == "" {
		return cut(visit[:i]) // a second visit of one name
	}
	return "", "", false
}
