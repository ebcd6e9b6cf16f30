// Package shift lays out one shift: which stops of the queue each crew makes, in
// which order, and when it is where.
//
// # What is asked
//
// Every stop has a value, the minutes of work there, and a place. Each crew leaves
// the start at minute 0, drives from stop to stop, works at each, and is back at the
// start before the shift ends. A stop is made once, by one crew, or not at all. The
// plan takes the greatest sum of values; of two plans of one value, the one with
// less time on the way. Of a queue, a stop's value is its priority times its
// minutes, since the priority is a value for each minute of work: Stops does that.
//
// # Time on the way
//
//	minutes = haversine distance × detour / speed + parking
//
// The detour is what rows, gates and roads add to the straight line: 1.3 by
// default. The speed is 25 km/h by default, that of a truck on farm tracks. Parking,
// 3 minutes by default, is to stop, unload and find the post. Two places within
// SharedParkingM of each other are one parking, and no drive. The way back to the
// start has no parking. These defaults are common practice without a source; the
// haversine's sphere has the mean radius of 6371.0088 km (IUGG; from memory).
//
// # Method
//
// Exact plans of this kind are out of reach beyond some twenty stops (it is the
// team orienteering problem), so the plan is built and then bettered, without
// chance: the same stops give the same plan.
//
//  1. Insertion: again and again, the stop and place with the greatest value for
//     each minute that it adds (work and drive), with three weights of value against
//     minutes, until no stop fits. It begins with nothing, with each of the 24 most
//     valuable stops, and of up to 12 stops with every two; the best plan goes on.
//  2. Shortening: within a crew, stretches are reversed (2-opt) and stretches of up
//     to three stops moved, forwards or turned round (or-opt); between crews, stops
//     are moved and exchanged.
//  3. Swap: a stop in the plan gives way to one outside that is worth more, or as
//     much in less time; after every gain, insertion fills the room.
//  4. Tearing up: in turn, each stretch of one to three neighbours is taken out, and
//     each two stops of a small plan; they may not come back before the room has been
//     filled with others; then 1 to 3 again. A better plan is kept, until none is
//     found or Rounds are over.
//
// At last each crew's way is turned so that the more valuable stops come early, in
// case the shift is cut short.
//
// A test holds plans of up to eight stops and two crews to every possible plan: none
// may fall more than 5 % below the best.
package shift
