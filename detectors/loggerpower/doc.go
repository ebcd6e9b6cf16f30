// Package loggerpower finds loggers of which a set of ports fails together.
//
// # Looks like
//
// Three ports or more leap to a value that no soil gives, in the same minutes, and
// come back in the same minutes; again the next night, or when the sun is gone, or
// when it rains on the box. Each port alone looks like a cable fault. Together they
// are one fault before the cables: the battery, a fuse, a shared supply or ground, a
// multiplexer. A set may be all ports or a few that share a terminal block; the
// others go on as if nothing were.
//
// # Often mistaken for
//
// A storm or an irrigation that wets all ports: they wet one after the other, and
// drain one after the other, at values that soil can have. Dry soil at the end of
// the scale, where several ports cross a limit in the heat of the same afternoons:
// they stand just beyond it. Two loose contacts with many openings, of which some
// coincide by chance. A visit at which somebody unplugged the ports for an hour.
//
// # Needs
//
// Two probes with readings or more at the logger, and their excursions: stretches at
// an impossible value, or at one dead value entered and left by a leap. What falls
// to a plausible value and stays there leaves no excursion, and cannot be seen here.
// It uses battery levels as a witness.
//
// # Thresholds
//
// together (2 steps of the logger): beginnings and ends this near are the same
// minutes; ports are read one after the other, and the first reading of a failure
// may be half of one. set_size (3 ports, or all where the logger has fewer): two
// ports share a cable as easily as a supply. pair_episodes (4): two ports of a
// larger logger must fail together so often, and the finding claims less. margin
// (0.25 of a limit): how far beyond a limit a value must stand; soil that crosses it
// with the day's heat stays nearer; margin_kpa (1 kPa) below zero tension, where no
// heat moves the limit. chance (0.001 a period): so many coincidences
// must come by chance more rarely than this, by a binomial tail over the logger's
// records and over all sets of so many ports. link_share (0.5): a port belongs to a
// set when it shares half of the excursions of the rarer of two. most_unshared (0.5,
// and half of that for two ports): of the excursions of the set's middle port, the
// share that it has alone. visit_hours (6 h): a episode that is shorter may be
// a visit, and counts only where there are three or more, less than visit_days (7 d)
// apart. still_hours (24 h), or still_intervals (2) times the usual time between
// episodes: as long as it keeps away no longer than that, it is still so.
//
// Confidence: 0.95 for three ports or more with three episodes or more, 0.85 with
// fewer, 0.8 for all ports of a logger that has two, 0.75 for two of more; less a
// quarter of the unshared share. Judged, not measured.
//
// # What to check at the post
//
// Battery voltage while the ports are read, at the hour at which they fail; fuse,
// charge and panel. Then what the named ports share: terminal block, ground,
// multiplexer, excitation. Water or ants in the box. Do not dig for the probes: they
// are most likely sound.
//
// # Where the idea comes from
//
// Coinciding excursions with few unshared ones told a logger's power from cable
// faults in every trial of the authors on simulated faults. The pattern is that of a
// published set of twenty tensiometers under alfalfa, four of which fall together
// to no signal in 36 joint episodes. The count is held against independent ports:
// each onset of one meets one of another by chance with the probability that the
// other's onsets, widened by the tolerance, cover the records.
package loggerpower
