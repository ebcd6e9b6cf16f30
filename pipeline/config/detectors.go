package config

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"probeward/detectors/detect"
)

// A parameter is a number, or a block that says where it differs:
//
//	detectors:
//	  dry_out_spike:
//	    min_rise: {all: 0.2, kind: {tensiometer: 0.3}, block: {North: 0.25}, depth: {60: 0.4, 90-120: 0.5}}
const (
	forAll   = "all"
	forKind  = "kind"
	forBlock = "block"
	forDepth = "depth"
)

var scopes = []string{forAll, forKind, forBlock, forDepth}

var kindNames = []string{
	string(detect.GranularMatrix), string(detect.Tensiometer), string(detect.Dielectric),
	string(detect.SoilTemperature), string(detect.Other),
}

// detectors refuses detectors and parameters that do not exist, and values that are
// no numbers. known lists the parameters by detector.
func (d *document) detectors(known map[string][]string) {
	detectors := sortedKeys(known)
	named, _ := d.root["detectors"].(map[string]any)
	for _, name := range sortedKeys(named) {
		at := under("/detectors", name)
		params, exists := known[name]
		if !exists {
			d.sayKey(at, "%s", unknown("detector", name, detectors))
			continue
		}
		params = slices.Sorted(slices.Values(params))
		given, _ := named[name].(map[string]any)
		for _, param := range sortedKeys(given) {
			if p := under(at, param); !contains(params, param) {
				d.sayKey(p, "%s", unknown("parameter of "+name, param, params))
			} else {
				d.parameter(p, given[param])
			}
		}
	}
}

// parameter checks the value of one parameter.
func (d *document) parameter(p string, v any) {
	block, isBlock := v.(map[string]any)
	if !isBlock {
		d.number(p, v)
		return
	}
	for _, scope := range sortedKeys(block) {
		at := under(p, scope)
		if scope == forAll {
			d.number(at, block[scope])
			continue
		}
		if !contains(scopes, scope) {
			d.sayKey(at, "%s", unknown("scope of a parameter", scope, scopes))
			continue
		}
		where, ok := block[scope].(map[string]any)
		if !ok {
			d.say(at, "write which %s has which value, such as {%s: 0.2}", scope, map[string]string{forKind: kindNames[0], forBlock: "North", forDepth: "30-60"}[scope])
			continue
		}
		for _, key := range sortedKeys(where) {
			d.number(under(at, key), where[key])
			if scope == forKind && !contains(kindNames, key) {
				d.sayKey(under(at, key), "%s", unknown("kind", key, kindNames))
			}
			if _, _, ok := depths(key); scope == forDepth && !ok {
				d.sayKey(under(at, key), "%q is no depth: write 30, or 30-60, in cm", key)
			}
		}
	}
}

func (d *document) number(p string, v any) {
	if _, ok := v.(float64); !ok {
		d.say(p, "%q is no number: a parameter is a number in the unit that its detector's manual gives", fmt.Sprint(v))
	}
}

// depths reads 30 or 30-60, in cm; both ends are included.
func depths(text string) (low, high float64, ok bool) {
	a, b, isRange := strings.Cut(text, "-")
	if !isRange {
		b = a
	}
	low, err1 := strconv.ParseFloat(strings.TrimSpace(a), 64)
	high, err2 := strconv.ParseFloat(strings.TrimSpace(b), 64)
	return low, high, err1 == nil && err2 == nil && low <= high
}

// Param gives what the configuration sets a detector's parameter to for a probe, in
// the parameter's own unit: by its depth, else its block, else its kind, else for
// all. probe may be nil, as for a group of probes; then only what holds for all.
func (r *Resolved) Param(detector, param string, probe *detect.Probe) detect.Maybe[float64] {
	switch v := r.Detectors[detector][param].(type) {
	case float64:
		return detect.Some(v)
	case map[string]any:
		if probe != nil {
			if by, ok := v[forDepth].(map[string]any); ok && probe.DepthCM.OK {
				for _, key := range sortedKeys(by) {
					if low, high, ok := depths(key); ok && low <= probe.DepthCM.V && probe.DepthCM.V <= high {
						return asNumber(by[key])
					}
				}
			}
			for _, by := range []struct{ scope, name string }{{forBlock, probe.Block}, {forKind, string(probe.Kind)}} {
				if m, ok := v[by.scope].(map[string]any); ok {
					if n := asNumber(m[by.name]); n.OK {
						return n
					}
				}
			}
		}
		return asNumber(v[forAll])
	}
	return detect.Maybe[float64]{}
}

func asNumber(v any) detect.Maybe[float64] {
	n, ok := v.(float64)
	return detect.Maybe[float64]{V: n, OK: ok}
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
