// Package depthorder finds probes of a post that answer in another order than their
// depths.
//
// # Looks like
//
// Water comes from above, and the probe that is registered as the deeper one answers
// it first, or alone, and more; it also has the larger daily swing, which heat and
// roots make near the surface. Two leads went to each other's port, or two rows of the
// register have each other's depth. When it happened on a visit, each of the two goes
// on, from one reading to the next, at the level where the other one was.
//
// # Often mistaken for
//
// Water that runs down a crack, a hole or a cable and reaches the deep probe first: on
// days without water the shallow one then still has the daily swing. A shallow probe that lost its contact, is too wet
// to respond, stands at its dry end, or is out of the wetted bulb: it answers less, and
// swings as before. A shallow probe that stopped answering half way: both halves of the
// record must say the same.
//
// # Needs
//
// Two probes of one kind and unit at a post, a depth each, and a log of waterings that
// names the zone; it uses rain. Where a post has several holes, the names must tell which probes
// share one: alike but for the depth in them. Where no watering told a pair apart, its
// probes are not evaluated.
//
// # Thresholds
//
// Pairs are apart_cm (15 cm) apart or more. A watering votes where both were heard and
// one answered alone, or both did and one of them larger (1.5) times as far and no
// later than soon_hours (1 h) behind the other. No vote is the silence of a probe that
// stands at its dry end or is too wet to respond. Of the votes, events (4) and
// inverted_share (0.8) of all must be for the wrong order, with a majority in both
// halves of the record. The daily swing of calm days, without water of the zone or
// rain, must say the same, since water swings a probe too: the deeper one has it
// phase_hours (1.5 h) earlier in the day and no smaller; or it alone has a clear hour,
// swings on phase_days (2.5) times as many days and swing_ratio (2.5) times as far.
// Where a probe comes before two that are registered above it, the upper one of these
// changed places with it.
//
// A swap: within swap_hours (3 h) both jump, in opposite directions and as far, but for
// swap_left (0.3) of it, and the next day finds each nearer to where the other one was
// than to where it was itself. Where the visit left a hole in the record, the days'
// medians may show it: levels swap_gap (0.4 in natural logarithms of ohms or kPa) or
// swap_gap_water_content (0.03 m3/m3) apart are exchanged within two days, and the one
// that dries does so swap_novelty (1.5) times faster than ever else. The votes before
// and after say on which side the order is wrong; a difference of two is needed.
//
// Confidence is 0.9: judged, and near what simulated vineyards gave.
//
// # What to check at the post
//
// Wet the surface over the hole, or warm one of the probes' leads where they are
// marked, and see which column answers. Follow the leads from the ports to the hole;
// exchange them, or the depths in the register, and write down when.
//
// # Where the idea comes from
//
// That a front passes the shallow probe first, and that daily swings are damped with
// depth, is physics. The votes come from trials on simulated vineyards.
package depthorder
