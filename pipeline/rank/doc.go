// Package rank turns a judgement into visits, the most useful first: where to go,
// what to look at, what to bring, and why it stands where it stands.
//
// # What a visit is
//
// One place and one thing to mend. The place is the post; without a post the
// logger, without either the probe. All faults of a logger at one place are one
// visit, however many ports they silence; all other faults of the probes of one
// place are one visit together, since one stop serves them; a zone that got no
// water is a visit to its valve. No visit comes of a masked finding, of a probe
// that is fit, settling or unknown, of a fault that ended and is not expected back,
// or of unlogged_water, which is asked at the desk. A probe under an emitter, or
// one that drifts, joins a visit that is made anyway and makes none: the readings of
// the one are true, and of the other too many sound probes show the same. A visit is named after its place
// and the family of its main fault, and keeps its name while it stays open.
//
// A fault that ended is not expected back when it has not shown for as long as
// feedback.CleanFor asks of a mended one: three mean clean stretches between its
// shows, ten of the probe's own steps at least; one that comes and goes by nature and
// showed once, as long as it stood. A zone's failure is over with the next watering
// that came. What a logger's failing supply may explain (judge.Masks) on one of its
// ports, and began a day before it at the earliest, is looked at on the logger's visit:
// one cause.
//
// # What earlier visits found
//
// Hit rates move p, a visit that found nothing wrong lowers it, and some findings wait
// for more evidence (Quieted, quiet.csv): see package feedback. What was left, could
// not be reached, or came back after it was mended is said in why, and so is a
// person's word about one of the visit's probes.
//
// # Priority
//
//	priority = age × Σ p × area × left / minutes
//
// summed over the visit's probes:
//   - p is the highest confidence of the visit's findings on that probe, as visits
//     have moved it;
//   - area is the probe's area_ha; where the register gives none, the median of
//     those that it gives, or 1; a probe that measures no moisture counts a fifth;
//   - left is 1/(1 + n): n counts the fit probes of the same zone and depth (to the
//     nearest 10 cm), and the visit's own probes there that are already in the sum,
//     surest first. The first probe that a visit brings back to a blind depth
//     counts 1, the second 1/2.
//
// A zone without water counts 1 for each of its depths, as if it were blind: its
// vines have nothing. age is 1 − exp(−days/7), at least 0.25, days being counted
// from when the oldest fault began to the window's end: waiting costs more each
// week, and after three weeks about as much as it ever will. minutes follow from
// the trade table: the longest stop that its faults ask for, and for each probe the
// longest work.
//
// So a higher confidence, an older fault or a blinder zone never lowers the priority of
// a visit to the same things,
// and more minutes never raise it. The numbers (7 days, 0.25, 10 cm, minutes) are
// common practice without a source.
//
// # Round
//
// route_order is a round on foot or by car as the crow flies: it starts at the
// first-ranked visit that has coordinates, goes on to the nearest that is left, and
// is then shortened by reversing stretches while that helps (2-opt, its start
// fixed, its end free). It knows no roads, rows or gates.
package rank
