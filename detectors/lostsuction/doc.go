// Package lostsuction finds tensiometers whose water column broke.
//
// # Looks like
//
// A tensiometer falls from a working tension to near zero, at once or over a few
// days, often when the soil is drier than 70 kPa, and stays there. It reads wet and
// is empty: what it shows is the zero of its gauge, or a small part of the tension
// where some water is left. Or it sinks over days or weeks, as its water leaks out,
// and dries less at each turn.
//
// # Often mistaken for
//
// Water, which makes a tensiometer fall just as far. It is told apart by what else
// saw it: the log of waterings, the rain, the neighbours at its depth or above,
// which the water must have passed, and the falls that the probe itself made on
// earlier waterings. After water a tensiometer rises again within days, except
// where it is watered so often that it stays wet; then its neighbours were wetted,
// too. A port without power or with a cut lead, which reads below any water that
// could stand above the cup (open_circuit, logger_power): such readings are left
// out. A tensiometer that has stood near zero from its first reading on is not
// judged: in wet soil it would read the same.
//
// # Needs
//
// A zone in the register, and tensiometers that read kPa. A log of waterings that
// names the zone, or another moisture probe of the zone as deep or shallower which
// has answered water before. It uses rain, and depths to know which neighbours the
// water must have passed.
//
// # Thresholds
//
// A day counts by its median. near_zero (5 kPa) and left_share (0.12 of the tension
// before): the greater of the two is what near zero means. from_kpa (10 kPa): a fall
// from less is within what drained soil does. fall_days (4 d): how long the fall may
// take. stay_days (3 d): so many days it has stood near zero, its newest one among
// them.
//
// Then water must be ruled out. A neighbour that wetted by a share (shared, 0.5) of
// its fall, or by shared_water_content (0.04 m3/m3), says that water came, and
// nothing is found. Neighbours deeper by more than deeper_cm (15 cm) are not asked,
// and those shallower by more count only where they wetted novelty (1.5) times as
// much as ever before; nor does the water count that has left the neighbour again while
// the tensiometer stood near zero for sink_days (14 d). Otherwise either of two proofs is enough: no watering and no
// rain_mm (2 mm) of rain since dry_days (2 d) before the fall; or, after history_days
// (7 d) at least, a sudden fall novelty times as large as any before in as many days.
// Sudden is one within sudden_days (1 d), or a day more where the first day near zero
// is within settled (1.3) times the level that stays. Without any neighbour both are
// needed, and a record of rain. apart (1, a factor of 2.7): a neighbour at its depth
// that has become drier beside it by so much adds to either.
//
// A slower fall, or one to a level that is not near zero, is another question: whether
// the tensiometer has been wetter in each of its newest days (stay_days at least) than
// ever in the before_days (21 d) before, by sink_ratio (1.3) and 1 kPa; and either
// below sink_kpa (7.5 kPa), or by sink_far (2.5) either at once or down to from_kpa. The fall may take sink_days (14 d).
// Then sink_neighbours (3) as deep or shallower are asked for the driest day of that
// time, against the driest days of earlier stretches as long: no more than sink_share
// (0.25) of them may be wetter than ever, by sink_explains (0.3) of what it is itself,
// and none at its own post. Other tensiometers that fell to near zero are no witnesses,
// and neither are neighbours with less than history_days before.
//
// Confidence is 0.95 for a fall without water beside a neighbour that moved apart,
// 0.9 for a novel fall beside one, 0.85 and 0.8 for the same without, and 0.75 by
// the log and its own past alone. These shares are judged, not measured.
//
// # What to check at the post
//
// The water level in the tube, and air under the stopper; a hairline crack in the
// cup; the seal of the gauge. Refill with water that was boiled, pump until no more
// bubbles rise, and come back in a day: it must read as its twin does. One that
// empties again in dry soil is beyond its range: a granular matrix sensor goes
// further there.
//
// # Where the idea comes from
//
// Two of twenty tensiometers in an open record under alfalfa (Davis, California,
// 2015) lost their columns: one within a night from 77 kPa, one over three days from
// 14 kPa, and both stood between 1 and 3 kPa while their twins dried to 70 kPa.
// Twelve others fell to 10 kPa when the field was flooded and rose again. That a
// column breaks near 80 kPa, where water boils at room temperature, is physics.
package lostsuction
