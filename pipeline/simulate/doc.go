// Package simulate writes an invented vineyard with known faults, so that a
// scan can be tried, demonstrated and measured against a truth that no real
// farm has.
//
// A folder holds two halves. feed/ is what a scan reads: the register of probes
// and loggers, the irrigation log, hourly weather, exports of readings in
// several layouts, and a scan.yaml. truth/ is what no scan reads: which probes
// are healthy and what they could be mistaken for, which faults were injected
// where and when, whether each of them shows at all, and the readings that the
// faulty probes would have given without their fault.
//
// A farm to look at has a fifth of its probes at fault, in what befalls a farm most,
// and strong enough to be seen. Farms to measure a scan on (Options.Measure) have
// every fault in one of its forms after the other, from hardly visible to gross, and
// healthy probes that look ill in more ways; seeds in a row cover all of them.
//
// A fault counts as visible by what its readings and their clean twin show in the
// judged week, each kind by its own rule (shown.go, shownwater.go), and faults of the
// answer to water only where water came that could have shown them.
//
// The physics is compact but honest. Each position has its own column of soil
// (layers that fill, drain by their conductivity and feed roots; no water is
// made or lost), its own place in or beside the wetted bulb, and each probe its
// own sensor (lag, offset, noise, temperature) and its logger's resolution and
// scale's end. From the detectors it shares nothing but the published
// conversions of sensors and soils; a threshold tuned here would be tuned to
// itself.
//
// The same options give the same bytes, whatever the number of workers. Random
// numbers come from streams by seed, purpose and index, so that a fault in one
// probe changes no other probe.
package simulate
