// Package underemitter finds probes that sit right under an emitter.
//
// # Looks like
//
// A probe that is wet all the time, between waterings too, while its neighbours at the
// same depth dry. It reads the truth, of a place that no vine drinks from alone. Who
// waters by it waters too late.
//
// # Often mistaken for
//
// A place that is watered well: it dries a little between waterings. A wet block, a
// water table or a winter without irrigation: then its neighbours are wet, too. A
// short circuit, an empty tensiometer or a value that stands still, which do not
// answer water (short_circuit, lost_suction, flat_line explain the finding where they
// were found). A post in the register's wrong zone, which gets more water than the
// zone's own (wrong_zone explains it).
//
// # Needs
//
// A zone with a log of waterings, depth_cm, and neighbours at the depth. Ohms and kPa
// are tensions; water contents become tensions by the soil_texture of the register,
// and are not evaluated without.
//
// # Thresholds
//
// On wet_share (0.9) of its days, of days (28) at least, and on the newest, the driest reading of the day was wetter than wet_kpa (10 kPa), or
// dead_kpa (12 kPa) for a granular matrix sensor. On as many days a water content was
// higher than at wet_kpa by offset (0.02 m3/m3), what such a probe may be off; ohms and
// kPa stayed within spread (0.5 in natural logarithms). Of the neighbours that are as
// deep within near_cm (7.5 cm) none was as wet on most days, and neighbours (3) or more,
// which are more than dry_share (0.5) of all, were drier than dry_kpa (20 kPa) by their
// median of the newest recent_days (14 d); of water contents in one texture it is enough
// that the neighbour was drier by offset at its wettest than the probe at its driest.
// The zone had waterings (3) or more in that time. A tensiometer must have answered as
// many waterings.
//
// Confidence is 0.8: judged, not measured.
//
// # What to check at the post
//
// Where the drip line's emitters are, and whether one of them leaks or stands over the
// hole. Move the emitter or the line, not the probe; or move the probe to between two
// emitters and write down when.
//
// # Where the idea comes from
//
// That drained soil rests at 10 to 33 kPa is field capacity by the books. Water
// contents become tensions by mean curves of twelve textures (van Genuchten 1980;
// Carsel & Parrish 1988). The rest is common practice, no source.
package underemitter
