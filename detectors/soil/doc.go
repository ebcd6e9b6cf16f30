// Package soil is the physics that the detectors stand on: what a granular
// matrix sensor's ohms mean as tension, what a dielectric probe's permittivity
// means as water content, how a texture holds water, how fast the sky can take
// it away, and what a cable adds to the circuit.
//
// Units are fixed and stand in every name that needs one: resistance in ohms,
// tension in kPa and positive (the papers print matric potential, its
// negative), water content in m3/m3, temperature in degrees Celsius of the
// soil unless said otherwise.
//
// A conversion that can fail says so with a second result. A short, an open
// lead or the far side of a formula's pole never comes back as a plausible
// number: the value is then 0 and ok is false.
//
// Products that feed a sum are written float64(a*b)+c on the conversions that
// readings go through, so that a processor with a fused multiply-add writes
// the same bytes as one without.
package soil
